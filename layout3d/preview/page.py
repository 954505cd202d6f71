"""The page itself. All words and tables are written here; its script only adds the picture that turns."""

from __future__ import annotations

import base64
import gzip
import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from html import escape
from importlib.resources import files
from typing import Any
from urllib.parse import quote

from layout3d.preview.changes import Change
from layout3d.preview.tables import changes_table, findings_list, parts_table, steps_list, tubes_table
from layout3d.preview.tools import stages, tools

#: What a URL in double quotes may hold as it is (RFC 3986; spaces and these are read as they stand by
#: every browser), so that a drawing grows little.
_PLAIN = " ,;:/=()'+-.!*$@?"
_NO_PICTURE = "No picture that turns: this reader runs no script or shows no 3D. All figures are below."


@dataclass(frozen=True, slots=True)
class Shown:
    """One layout for the page.

    told : what ``layout3d.preview.told`` gives
    model : the build as GLB, None where none could be made: then only the still picture shows
    still : an SVG drawing of the build, for readers without script or 3D; empty for none
    """

    told: Mapping[str, Any]
    model: bytes | None
    still: str = ""


def page(now: Shown, before: Shown | None = None, changed: Sequence[Change] = ()) -> str:
    """The HTML document: one layout, or two side by side with what ``changed`` from ``before``."""
    live = now.model is not None and (before is None or before.model is not None)
    style = _resource("page.css")
    script = _resource("page.js") if live else ""
    policy = (
        f"default-src 'none'; script-src '{_hash(script)}'; style-src '{_hash(style)}'; "
        "img-src data: blob:; connect-src blob: data:; base-uri 'none'; form-action 'none'"
    )
    told = now.told
    title = escape(told["title"])
    lists = (
        f"{changes_table(changed) if before is not None else ''}{findings_list(told)}{tubes_table(told)}"
        f"{parts_table(told)}{steps_list(told)}"
    )
    return (
        f'<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{escape(policy)}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{title}</title>\n<style>{style}</style>\n</head>\n<body>\n{_head(told)}"
        f'<main>\n<section class="picture" aria-label="Picture">{_stills(now, before)}'
        f"{stages(before is not None)}{tools(told, before.told if before is not None else None)}</section>\n"
        f'<section class="lists" aria-label="Lists">{lists}'
        '<p class="fine">Made from a model: it is as right as what was measured. Lengths are in mm.</p>'
        f"</section>\n</main>\n{_blocks(now, before) if live else ''}"
        f"{f'<script>{script}</script>' if live else ''}\n</body>\n</html>\n"
    )


def _resource(name: str) -> str:
    return (files("layout3d.preview") / name).read_text("utf-8").replace("\r\n", "\n")


def _hash(text: str) -> str:
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()


def _head(told: Mapping[str, Any]) -> str:
    tubes = [tube["cut_mm"] for tube in told["tubes"] if tube["cut_mm"] is not None]
    own = sum(part["group"] != "fittings" for part in told["parts"])
    facts = [("parts", str(own)), ("fittings", str(len(told["parts"]) - own)), ("tubes", str(len(tubes)))]
    if tubes:
        facts.append(("tube in all", f"{sum(tubes) / 1000:.2f} m"))
    cells = "".join(f"<div><dt>{name}</dt><dd>{value}</dd></div>" for name, value in facts)
    mark, words = _verdict(told)
    return (
        f"<header><h1>{escape(told['title'])}</h1>"
        f'<p class="verdict {told["verdict"].split()[0]}"><b aria-hidden="true">{mark}</b> {words}</p>'
        f'<dl class="facts">{cells}</dl>'
        '<button id="theme" class="live-only" type="button">Light or dark</button></header>\n'
    )


def _verdict(told: Mapping[str, Any]) -> tuple[str, str]:
    count = sum(finding["severity"] == "error" for finding in told["findings"])
    if told["verdict"] == "clear":
        return "\u2713", "Everything fits"
    return "\u2717", f"Does not fit: {count} error{'s' if count != 1 else ''}"


def _stills(now: Shown, before: Shown | None) -> str:
    """Still pictures; the page's script takes them away once it has its own."""
    pictures = [("Before", before), ("Now", now)] if before is not None else [("", now)]
    shown = "".join(
        f"<figure>{_image(one)}{f'<figcaption>{word}</figcaption>' if word else ''}</figure>"
        for word, one in pictures
        if one is not None and one.still
    )
    note = f'<p id="still-note" hidden>{_NO_PICTURE}</p><noscript><p>{_NO_PICTURE}</p></noscript>'
    if now.model is None:
        note = f"<p>{_NO_PICTURE}</p>"
    return f'<div id="still">{shown}</div>{note}'


def _image(shown: Shown) -> str:
    """As an image of its own: its styles and ids then cannot meet the page's."""
    told = escape(f"Drawing of {shown.told['title']}")
    return f'<img alt="{told}" src="data:image/svg+xml,{quote(shown.still, safe=_PLAIN)}">'


def _blocks(now: Shown, before: Shown | None) -> str:
    """The data the script reads: never markup, whatever the names in the scene."""
    told = {"now": now.told, "before": before.told if before is not None else None}
    data = json.dumps(told, allow_nan=False).replace("<", "\\u003c")
    models = "".join(
        f'<script type="text/plain" id="model-{word}">{_packed(one.model)}</script>\n'
        for word, one in (("now", now), ("before", before))
        if one is not None and one.model is not None
    )
    return f'<script type="application/json" id="data">{data}</script>\n{models}'


def _packed(model: bytes) -> str:
    return base64.b64encode(gzip.compress(model, 9, mtime=0)).decode()
