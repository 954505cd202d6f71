"""Writes the build sheet of a layout."""

from __future__ import annotations

from pathlib import Path

from layout3d.assembly.sequence import assembly_of
from layout3d.bench.plan import bench_plan
from layout3d.checks.check import Checked
from layout3d.errors import RequestError
from layout3d.exporters.whole import write_file
from layout3d.layout import Layout
from layout3d.scene.complaints import unknown
from layout3d.sheet.html import html
from layout3d.sheet.pdf import pdf
from layout3d.sheet.told import sheet_of

#: Width and height of paper [mm]: A4 of ISO 216, letter of ANSI/ASME Y14.1 (8.5 by 11 in).
PAPERS = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
#: What margins, rulers, headings and captions take of a page [mm].
_TAKEN_MM = (42.0, 96.0)


def write_sheet(layout: Layout, checked: Checked, path: Path, paper: str = "a4") -> str:
    """Write the sheet as ``path`` says, .pdf or .html, whole or not at all.

    Returns what the user should know of it, "" for nothing. RequestError for another kind of file, unknown
    paper, a missing library, and a file that cannot be written.
    """
    kind = path.suffix.lower()
    if kind not in (".pdf", ".html"):
        raise RequestError(f"cannot write {path}: a sheet is a file that ends in .pdf or .html")
    if paper not in PAPERS:
        raise RequestError(unknown("paper", paper, PAPERS))
    width, height = PAPERS[paper]
    room = (width - _TAKEN_MM[0], height - _TAKEN_MM[1])
    sheet = sheet_of(layout, checked, assembly_of(layout), bench_plan(layout, checked), room)
    content, note = pdf(sheet, paper) if kind == ".pdf" else (html(sheet, paper).encode(), "")
    write_file(path, content)
    return note
