"""A picture as SVG text: areas by look, lines above them, names as tooltips."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby
from types import MappingProxyType
from typing import Literal, TypeAlias
from xml.sax.saxutils import escape, quoteattr

import numpy as np

from layout3d.drawing.seen import Fill, Round
from shapes.part import Look
from shapes.pose import Array

#: What an area looks like: a surface word, a tube, or the dark of a bore.
Ink: TypeAlias = Look | Literal["tube", "hose", "bore"]
#: How strong a line is: where a surface ends, an edge within it, drawn on it, seen through something clear.
Pen: TypeAlias = Literal["outline", "inner", "fine", "through"]
#: Light colours, so that lines stay readable, and how much they cover.
INKS: MappingProxyType[Ink, tuple[str, float]] = MappingProxyType(
    {
        "panel": ("#e4e7ea", 1.0),
        "glass": ("#8fb3c4", 0.1),
        "board": ("#c7dccf", 1.0),
        "black": ("#b9bec6", 1.0),
        "metal": ("#eef0f2", 1.0),
        "copper": ("#f0cfb6", 1.0),
        "plastic": ("#d3d7dc", 1.0),
        "clear": ("#cfe6ee", 0.55),
        "coolant": ("#8fd0dd", 1.0),
        "accent": ("#f7cf9b", 1.0),
        "tube": ("#9fd9e6", 1.0),
        "hose": ("#c3c8ce", 1.0),
        "bore": ("#5b6169", 1.0),
    }
)
#: Strength of a line -> colour and width, the width as a share of the picture's unit.
_PENS: MappingProxyType[Pen, tuple[str, float]] = MappingProxyType(
    {
        "outline": ("#22262b", 1.0),
        "inner": ("#454b53", 0.6),
        "fine": ("#9097a0", 0.4),
        "through": ("#8b929b", 0.5),
    }
)
#: A line one unit wide is this share of the picture's diagonal.
_LINE_SHARE = 1.0 / 1100.0
#: A line one unit wide in a picture of stated pixels.
_LINE_PIXELS = 1.25
#: The way to the light, over the left shoulder; tone of a face in shade, and what full light adds.
_LIGHT = np.array((-0.35, 0.60, 0.72)) / np.linalg.norm((-0.35, 0.60, 0.72))
_SHADE, _LIT = 0.86, 0.18
#: Where along a round surface its tone is stated.
_STOPS = (0.0, 0.12, 0.3, 0.5, 0.7, 0.88, 1.0)


@dataclass(frozen=True, slots=True)
class Area:
    """One fill of a part."""

    owner: str
    ink: Ink
    fill: Fill


@dataclass(frozen=True, slots=True)
class Stroke:
    """One visible run of a line (n, 2) of a part."""

    owner: str
    pen: Pen
    points: Array


@dataclass(frozen=True, slots=True)
class Frame:
    """The picture's window on the drawing [mm]: x right, y up."""

    left: float
    top: float
    width: float
    height: float


def svg_text(
    areas: Sequence[Area],
    strokes: Sequence[Stroke],
    frame: Frame,
    *,
    title: str,
    names: dict[str, str],
    pixels: int | None = None,
) -> str:
    """The picture; ``names`` tells each owner's tooltip. True to size, or ``pixels`` wide."""
    size = f'width="{pixels}"' if pixels else f'width="{frame.width:g}mm" height="{frame.height:g}mm"'
    across = (frame.width**2 + frame.height**2) ** 0.5
    unit = frame.width / pixels * _LINE_PIXELS if pixels else across * _LINE_SHARE
    body = [
        f'<svg xmlns="http://www.w3.org/2000/svg" {size} viewBox="0 0 {frame.width:g} {frame.height:g}" '
        f'role="img" aria-label={quoteattr(_plain(title))}>',
        f"<title>{_text(title)}</title>",
        _style(unit),
    ]
    shades = _Shades(frame)
    painted = []
    for owner, mine in groupby(areas, key=lambda area: area.owner):
        inner = "".join(_area(area, frame, shades) for area in mine)
        painted.append(f"<g><title>{_text(names[owner])}</title>{inner}</g>")
    if shades.defined:
        body.append(f"<defs>{''.join(shades.defined)}</defs>")
    body += ["<g>", *painted, "</g>"]
    for owner, drawn in groupby(strokes, key=lambda stroke: stroke.owner):
        body.append(
            f'<g id="{identifier(owner)}"><title>{_text(names[owner])}</title>{_strokes(drawn, frame)}</g>'
        )
    return "\n".join((*body, "</svg>", ""))


def identifier(name: str) -> str:
    """A name as an id of its own: letters, digits, ``_`` and ``-`` stay, the rest is spelled out."""
    return "part-" + re.sub(r"[^A-Za-z0-9_-]", lambda found: f".{ord(found.group()):x}.", name)


def _plain(text: str) -> str:
    """Text without the characters XML cannot hold."""
    return re.sub("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]", "\ufffd", text)


def _text(text: str) -> str:
    return escape(_plain(text))


def _style(unit: float) -> str:
    pens = "".join(
        f".{pen}{{stroke:{colour};stroke-width:{unit * share:.3g}}}" for pen, (colour, share) in _PENS.items()
    )
    return f"<style>.line{{fill:none;stroke-linecap:round;stroke-linejoin:round}}{pens}</style>"


class _Shades:
    """The gradients of round surfaces, each defined once."""

    def __init__(self, frame: Frame) -> None:
        self.defined: list[str] = []
        self._frame = frame
        self._known: dict[str, str] = {}

    def round(self, colour: str, normal: Array, turning: Round) -> str:
        """The paint of a round surface of this colour."""
        (x0, y0), (x1, y1) = (_at(point, self._frame) for point in turning.across)
        stops = []
        for offset in _STOPS:
            lean = 2.0 * offset - 1.0
            here = lean * turning.side + (1.0 - lean * lean) ** 0.5 * normal
            stops.append(f'<stop offset="{offset:g}" stop-color="{_toned(colour, here)}"/>')
        gradient = f'gradientUnits="userSpaceOnUse" x1="{x0}" y1="{y0}" x2="{x1}" y2="{y1}">{"".join(stops)}'
        known = self._known.get(gradient)
        if known is None:
            known = self._known[gradient] = f"s{len(self.defined)}"
            self.defined.append(f'<linearGradient id="{known}" {gradient}</linearGradient>')
        return f"url(#{known})"


def _area(area: Area, frame: Frame, shades: _Shades) -> str:
    colour, cover = INKS[area.ink]
    fill = area.fill
    if fill.round is None:
        paint = _toned(colour, fill.normal)
    else:
        paint = shades.round(colour, fill.normal, fill.round)
    path = "".join(_path(outline, frame, closed=True) for outline in fill.outlines)
    rule = ' fill-rule="evenodd"' if fill.even_odd and len(fill.outlines) > 1 else ""
    through = f' fill-opacity="{cover:g}"' if cover < 1.0 else ""
    return f'<path fill="{paint}"{rule}{through} d="{path}"/>'


def _toned(colour: str, normal: Array) -> str:
    """The colour of a face with this normal."""
    tone = _SHADE + _LIT * max(0.0, float(normal @ _LIGHT))
    levels = (int(colour[at : at + 2], 16) for at in (1, 3, 5))
    return "#" + "".join(f"{min(255, round(level * tone)):02x}" for level in levels)


def _strokes(strokes: Iterable[Stroke], frame: Frame) -> str:
    by_pen: dict[Pen, list[str]] = {}
    for stroke in strokes:
        by_pen.setdefault(stroke.pen, []).append(_path(stroke.points, frame, closed=False))
    return "".join(f'<path class="line {pen}" d="{"".join(by_pen[pen])}"/>' for pen in _PENS if pen in by_pen)


def _path(points: Array, frame: Frame, *, closed: bool) -> str:
    places = [_at(point, frame) for point in points]
    kept = [place for at, place in enumerate(places) if at == 0 or place != places[at - 1]]
    if not closed and len(kept) > 2 and kept[0] == kept[-1]:
        kept, closed = kept[:-1], True
    if len(kept) == 1:
        return ""
    return "M" + "L".join(f"{x} {y}" for x, y in kept) + ("Z" if closed else "")


def _at(point: Array, frame: Frame) -> tuple[str, str]:
    return _number(point[0] - frame.left), _number(frame.top - point[1])


def _number(value: float) -> str:
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
