"""The preview page: whole, closed to the network, and deaf to what names try to say."""

from __future__ import annotations

import base64
import gzip
import hashlib
import html
import json
import re
from html.parser import HTMLParser
from urllib.parse import unquote

import pytest

from layout3d.assembly.sequence import assembly_of
from layout3d.checks.check import check
from layout3d.exporters.contents import contents_of
from layout3d.exporters.glb import encoded
from layout3d.preview.page import Shown, page
from layout3d.preview.told import told
from layout3d.preview.write import _lighter
from tests.checks.scenes import layout_of

HOSTILE = "</script><img src=x onerror=alert(1)>"
PARTS = (
    'left: {shape: custom, label: "' + HOSTILE + '", note: "<b>&amp;", solids: [{box: [40, 40, 20]}]}\n'
    "right: {shape: custom, at: [30, 0, 0], solids: [{box: [40, 40, 20]}]}"
)


STILL = '<svg xmlns="http://www.w3.org/2000/svg" width="9"><title>100% "it\'s" &amp; #1</title></svg>'


def stills(text: str) -> list[str]:
    """Drawings in a page, decoded as RFC 2397 and RFC 3986 say."""
    found = re.findall(r'<img [^>]*src="data:image/svg\+xml,([^"]*)"', text)
    return [unquote(html.unescape(each)) for each in found]


class Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.scripts: list[tuple[dict[str, str | None], str]] = []
        self.styles: list[str] = []
        self.fetched: list[str | None] = []

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.fetched += [
            value
            for name, value in attrs
            if name in {"src", "href", "srcset", "action", "data"} and not str(value).startswith("data:")
        ]
        if tag == "script":
            self.scripts.append((dict(attrs), ""))
        if tag == "style":
            self.styles.append("")

    def handle_data(self, data):
        if self.tags and self.tags[-1] == "script" and self.scripts:
            attributes, text = self.scripts[-1]
            self.scripts[-1] = (attributes, text + data)
        if self.tags and self.tags[-1] == "style" and self.styles:
            self.styles[-1] += data

    def handle_endtag(self, tag):
        self.tags.append(f"/{tag}")


@pytest.fixture(scope="module")
def made() -> str:
    layout = layout_of(PARTS)
    return page(Shown(told(layout, check(layout), assembly_of(layout)), encoded(contents_of(layout)), STILL))


@pytest.fixture(scope="module")
def read(made: str) -> Reader:
    reader = Reader()
    reader.feed(made)
    return reader


def test_names_say_nothing_but_themselves(made: str, read: Reader):
    assert read.tags.count("img") == 1
    assert HOSTILE not in made
    data = next(text for attributes, text in read.scripts if attributes.get("id") == "data")
    (left, _) = json.loads(data)["now"]["parts"]
    assert left["label"] == HOSTILE


def test_only_its_own_script_and_style_may_run(made: str, read: Reader):
    policy = re.search(r'Content-Security-Policy" content="([^"]*)"', made)
    assert policy is not None
    (script,) = [text for attributes, text in read.scripts if "type" not in attributes]
    (style,) = read.styles
    for text in (script, style):
        digest = base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()
        assert f"sha256-{digest}" in policy[1].replace("&#x27;", "'")
    assert "default-src &#x27;none&#x27;" in policy[1]
    assert "unsafe" not in policy[1]


def test_the_model_in_it_is_the_build(read: Reader):
    text = next(text for attributes, text in read.scripts if attributes.get("id") == "model-now")
    model = gzip.decompress(base64.b64decode(text))
    assert model[:4] == b"glTF"
    assert model == encoded(contents_of(layout_of(PARTS)))


def test_every_part_finding_and_size_is_there_without_script(made: str):
    for word in ("left", "right", "40 x 40 x 20", "overlap", "Does not fit: 1 error"):
        assert word in made


def test_it_asks_for_nothing_from_anywhere(made: str, read: Reader):
    assert read.fetched == []
    assert "url(" not in "".join(read.styles)


def test_the_same_layout_gives_the_same_page(made: str):
    layout = layout_of(PARTS)
    again = Shown(told(layout, check(layout), assembly_of(layout)), encoded(contents_of(layout)), STILL)
    assert page(again) == made


def test_without_a_model_the_still_picture_and_all_tables_show():
    layout = layout_of(PARTS)
    text = page(Shown(told(layout, check(layout), assembly_of(layout)), None, STILL))
    assert stills(text) == [STILL]
    assert "<script" not in text
    assert "40 x 40 x 20" in text


def test_the_licence_of_what_is_in_the_script_stands_in_the_page(made: str):
    assert "Permission is hereby granted, free of charge" in made
    assert "three.js" in made


def test_a_lighter_drawing_keeps_its_outlines():
    # By hand: a square of 1.2 mm from (10, 20), a hole in it, and an open line.
    square = "M10 20L11.21 20L11.21 21.23L10 21.23Z"
    drawing = f'<path d="{square}M10.5 20.5L10.7 20.5L10.7 20.9Z"/><path d="M0 0L9.96 3"/>'
    lighter = '<path d="m10 20l1.2 0l0 1.2l-1.2 0zm.5 .5l.2 0l0 .4z"/><path d="m0 0l10 3"/>'
    assert _lighter(drawing) == lighter
