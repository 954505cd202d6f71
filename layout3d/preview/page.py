"""The page itself. All words and tables are written here; its script only adds the picture that turns."""

from __future__ import annotations

import base64
import gzip
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from html import escape
from typing import Any
from urllib.parse import quote

from layout3d.preview.changes import Change
from layout3d.preview.document import FINE, document, policy_of
from layout3d.preview.head import head
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
    told = now.told
    lists = (
        f"{changes_table(changed) if before is not None else ''}{findings_list(told)}{tubes_table(told)}"
        f"{parts_table(told)}{steps_list(told)}"
    )
    body = (
        f"{head(told['title'], told)}"
        f'<main>\n<section class="picture" aria-label="Picture">{_stills(now, before)}'
        f"{stages(before is not None)}{tools(told, before.told if before is not None else None)}</section>\n"
        f'<section class="lists" aria-label="Lists">{lists}<p class="fine">{FINE}</p></section>\n</main>\n'
        f"{_blocks(now, before) if live else ''}"
    )
    return document(told["title"], body, with_script=live, policy=policy_of(with_script=live))


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
