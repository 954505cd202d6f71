"""The sheet as a tagged PDF, set by typst; its words go in as data, never as markup."""

from __future__ import annotations

import json
from dataclasses import asdict
from importlib.resources import files
from pathlib import Path
from typing import Any

from layout3d.errors import RequestError
from layout3d.sheet.blocks import Sheet

#: What typst says where a character is in none of the fonts it may use.
_NO_GLYPH = "could not be displayed"
OTHER_FONTS = "some characters are not in the fonts that come with layout3d: this machine's fonts were used"
NO_FONT = "some characters are in no font of this machine: they show as boxes, and the PDF is not PDF/UA"


def pdf(sheet: Sheet, paper: str) -> tuple[bytes, str]:
    """The PDF, and what the user should know of its fonts ("" for nothing).

    paper : "a4" or "letter". RequestError where typst is not installed.
    """
    try:
        import typst
    except ImportError as error:
        raise RequestError(
            f"a PDF needs typst, which is not installed or does not load ({error}); install it with: "
            "pip install '.[sheet]' in layout3d's folder; or ask for a page to print: --to FILE.html"
        ) from error
    given: dict[str, Any] = {**asdict(sheet), "paper": {"letter": "us-letter"}.get(paper, paper)}
    template = (files("layout3d.sheet") / "sheet.typ").read_bytes()
    fonts = str(Path(__file__).with_name("fonts"))

    def made(own_fonts: bool, standard: list[Any]) -> bytes:
        known = typst.Fonts(include_system_fonts=not own_fonts, font_paths=[fonts])
        compiler = typst.Compiler(template, font_paths=known)
        written = compiler.compile(
            format="pdf", sys_inputs={"sheet": json.dumps(given)}, pdf_standards=standard
        )
        assert isinstance(written, bytes)
        return written

    tries = ((True, ["ua-1"], ""), (False, ["ua-1"], OTHER_FONTS))
    for own_fonts, standard, note in tries:
        try:
            return made(own_fonts, standard), note
        except typst.TypstError as error:
            if _NO_GLYPH not in str(error):
                raise
    return made(True, []), NO_FONT
