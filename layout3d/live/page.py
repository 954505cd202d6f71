"""The live page as it comes: a place for everything; its script fills it with what it is told."""

from __future__ import annotations

import json

from layout3d.live.words import NOTHING
from layout3d.preview.document import FINE, document, policy_of
from layout3d.preview.head import head
from layout3d.preview.tools import stages, tools

#: Where the page hears of changes, and where it gets shapes: this and the key of one.
EVENTS, MODELS = "/events", "/models/"
#: Nothing but this program, and in no other page's frame.
_POLICY = policy_of(with_script=True, connect="'self' blob: data:")
HEADER_POLICY = f"{_POLICY}; frame-ancestors 'none'"


def live_page(file: str) -> str:
    """The page of a scene file."""
    data = json.dumps({"events": EVENTS, "models": MODELS})
    body = (
        f"{head(file, NOTHING)}"
        f'<main>\n<section class="picture" aria-label="Picture">{stages(False)}'
        f'<p id="follow" role="status">Reading ...</p>{tools(NOTHING, None)}</section>\n'
        '<section class="lists" aria-label="Lists"><noscript><p>The live view needs script; '
        "<code>layout3d check</code> and <code>layout3d preview</code> do without.</p></noscript>"
        f'<div id="lists"></div><p class="fine">{FINE}</p></section>\n</main>\n'
        f'<script type="application/json" id="data">{data}</script>\n'
    )
    return document(file, body, with_script=True, policy=_POLICY)
