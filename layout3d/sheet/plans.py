"""Flat runs of tube drawn true to size as SVG, and the rulers that tell whether they printed so."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

from layout3d.sheet.blocks import Plan

Point: TypeAlias = tuple[float, float]

#: Room about a drawing [mm].
_RIM_MM = 2.0
#: How far a bend mark stands out from the tube, and the room its words take [mm].
_TICK_MM, _WORDS_MM = 4.0, (15.0, 6.5)
_FONT = 'font-family="Liberation Sans, Arial, Helvetica, sans-serif"'
#: Ways a drawing is turned until it fits its page: square to the page first [degrees].
_TURNS_DEG = (0.0, 90.0, *(float(angle) for angle in range(5, 90, 5)), *(float(a) for a in range(95, 180, 5)))
#: A chord of this angle stands for its arc where the drawing's reach is taken [degrees].
_CHORD_DEG = 2.0
RULER_MM = 100
#: Browsers set a picture to whole pixels of 1/96 in, and stretch one of any other size a little.
_PIXEL_MM = 25.4 / 96.0


@dataclass(frozen=True, slots=True)
class Flat:
    """One bend of a flat run: straight before it [mm], angle [degrees], left or right, radius [mm].

    start, end : words at its two marks
    """

    straight_mm: float
    bend_deg: float
    radius_mm: float
    left: bool
    start: str
    end: str


@dataclass(frozen=True, slots=True)
class _Place:
    """A point of the centreline, and which way it runs there [radians]."""

    at: Point
    way: float

    def beside(self, offset: float) -> Point:
        """The point ``offset`` to the left [mm]."""
        return (self.at[0] - offset * math.sin(self.way), self.at[1] + offset * math.cos(self.way))

    def along(self, distance: float) -> _Place:
        """The place ``distance`` further on a straight [mm]."""
        x, y = self.at
        return _Place((x + distance * math.cos(self.way), y + distance * math.sin(self.way)), self.way)

    def bent(self, flat: Flat, share: float = 1.0) -> _Place:
        """The place after a share of a bend."""
        side = 1.0 if flat.left else -1.0
        way = self.way + side * math.radians(flat.bend_deg) * share
        x, y = self.beside(side * flat.radius_mm)
        return _Place(
            (x + side * flat.radius_mm * math.sin(way), y - side * flat.radius_mm * math.cos(way)), way
        )


@dataclass(frozen=True, slots=True)
class FlatRun:
    """A tube in one plane: bends, the straight after the last of them, outside diameter [mm]."""

    bends: tuple[Flat, ...]
    last_mm: float
    outside_mm: float

    def places(self, turn_deg: float) -> tuple[_Place, list[tuple[_Place, _Place]], _Place]:
        """Where the run starts, where each bend starts and ends, and where the run ends."""
        start = here = _Place((0.0, 0.0), math.radians(turn_deg))
        bends = []
        for flat in self.bends:
            begin = here.along(flat.straight_mm)
            here = begin.bent(flat)
            bends.append((begin, here))
        return start, bends, here.along(self.last_mm)

    def marks(self, turn_deg: float) -> list[tuple[_Place, bool, str]]:
        """Every bend mark, whether its words stand to the left of the tube, and they.

        Starts are told outside their bend, ends on the other side than the start that follows.
        """
        _, places, _ = self.places(turn_deg)
        marks = []
        for n, (flat, (begin, after)) in enumerate(zip(self.bends, places, strict=True)):
            last = n + 1 == len(self.bends)
            marks.append((begin, not flat.left, flat.start))
            marks.append((after, not flat.left if last else self.bends[n + 1].left, flat.end))
        return marks


def fitted(run: FlatRun, room_mm: tuple[float, float]) -> tuple[str, float, float] | None:
    """The run as SVG true to size, its width and height [mm], turned to fit; None where it cannot."""
    found: list[tuple[bool, float, str, float, float]] = []
    for turn in _TURNS_DEG:
        low, high = _reach(run, turn)
        width, height = (_whole(high[k] - low[k] + 2.0 * _RIM_MM) for k in (0, 1))
        if width <= room_mm[0] and height <= room_mm[1]:
            square = turn in (0.0, 90.0)
            if not found or (square, -height) > (found[0][0], -found[0][1]):
                found = [(square, height, _svg(run, turn, low, high, (width, height)), width, height)]
    return found[0][2:] if found else None


def ruler(upright: bool) -> Plan:
    """100 mm with a line for every one, to hold a rule against."""
    lines = []
    for at in range(RULER_MM + 1):
        long = 7.0 if at % 10 == 0 else 5.0 if at % 5 == 0 else 3.0
        x = 3.0 + at
        lines.append(_line((x, 0.5), (x, 0.5 + long), 0.15))
        if at % 20 == 0:
            lines.append(_words((x, 10.5), str(at), 2.6))
    lines.append(_line((3.0, 0.5), (3.0 + RULER_MM, 0.5), 0.15))
    inner, width, height = "".join(lines), _whole(RULER_MM + 6.0), _whole(11.5)
    if upright:
        inner = f'<g transform="translate({height:.6f} 0) rotate(90)">{inner}</g>'
        width, height = height, width
    along = "up the page" if upright else "across the page"
    return Plan(
        "",
        _document(inner, width, height),
        width,
        height,
        f"Must measure {RULER_MM} mm",
        f"Ruler of {RULER_MM} mm {along}",
    )


def _reach(run: FlatRun, turn_deg: float) -> tuple[Point, Point]:
    """Low and high corner of all that is drawn, words included [mm]."""
    start, bends, end = run.places(turn_deg)
    half = run.outside_mm / 2.0
    points = [place.beside(side * half) for place in (start, end) for side in (-1.0, 1.0)]
    for flat, (begin, _) in zip(run.bends, bends, strict=True):
        chords = max(2, math.ceil(flat.bend_deg / _CHORD_DEG))
        for k in range(chords + 1):
            place = begin.bent(flat, k / chords)
            points += [place.beside(-half), place.beside(half)]
    across, up = _WORDS_MM[0] / 2.0, _WORDS_MM[1] / 2.0
    for place, left, _ in run.marks(turn_deg):
        x, y = _words_at(place, half, left)
        points += [(x - across, y - up), (x + across, y + up)]
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return (min(xs), min(ys)), (max(xs), max(ys))


def _words_at(place: _Place, half: float, left: bool) -> Point:
    """Middle of a mark's words: beyond its tick, by as much as they reach in that direction."""
    side = 1.0 if left else -1.0
    across = abs(math.sin(place.way)) * _WORDS_MM[0] / 2.0 + abs(math.cos(place.way)) * _WORDS_MM[1] / 2.0
    return place.beside(side * (half + _TICK_MM + across))


def _svg(run: FlatRun, turn_deg: float, low: Point, high: Point, size: Point) -> str:
    start, bends, end = run.places(turn_deg)
    half = run.outside_mm / 2.0

    def paper(point: Point) -> Point:
        return (point[0] - low[0] + _RIM_MM, high[1] - point[1] + _RIM_MM)

    def path(offset: float) -> str:
        x, y = paper(start.beside(offset))
        steps = [f"M{x:.4f} {y:.4f}"]
        for flat, (begin, after) in zip(run.bends, bends, strict=True):
            radius = flat.radius_mm - offset if flat.left else flat.radius_mm + offset
            sweep = 0 if flat.left else 1
            (x, y), (u, v) = paper(begin.beside(offset)), paper(after.beside(offset))
            steps.append(f"L{x:.4f} {y:.4f}A{radius:.4f} {radius:.4f} 0 0 {sweep} {u:.4f} {v:.4f}")
        x, y = paper(end.beside(offset))
        return "".join((*steps, f"L{x:.4f} {y:.4f}"))

    drawn = [
        f'<path d="{path(side * half)}" fill="none" stroke="#000" stroke-width="0.3"/>'
        for side in (1.0, -1.0)
    ]
    drawn.append(
        f'<path d="{path(0.0)}" fill="none" stroke="#000" stroke-width="0.15" stroke-dasharray="5 1 1 1"/>'
    )
    for place in (start, end):
        drawn.append(_line(paper(place.beside(half)), paper(place.beside(-half)), 0.3))
    for place, left, words in run.marks(turn_deg):
        side = 1.0 if left else -1.0
        near, far = place.beside(-side * half), place.beside(side * (half + _TICK_MM))
        drawn.append(_line(paper(near), paper(far), 0.2))
        x, y = paper(_words_at(place, half, left))
        first, _, second = words.partition("\n")
        drawn.append(_words((x, y - 0.4), first, 2.6) + _words((x, y + 2.6), second, 2.6))
    return _document("".join(drawn), *size)


def _whole(length_mm: float) -> float:
    return math.ceil(length_mm / _PIXEL_MM) * _PIXEL_MM


def _line(start: Point, end: Point, width: float) -> str:
    (x, y), (u, v) = start, end
    return f'<path d="M{x:.4f} {y:.4f}L{u:.4f} {v:.4f}" fill="none" stroke="#000" stroke-width="{width:g}"/>'


def _words(at: Point, text: str, size: float) -> str:
    place = f'x="{at[0]:.3f}" y="{at[1]:.3f}" font-size="{size:g}" text-anchor="middle"'
    return f"<text {place} {_FONT}>{text}</text>"


def _document(inner: str, width: float, height: float) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:.6f}mm" height="{height:.6f}mm" '
        f'viewBox="0 0 {width:.6f} {height:.6f}">{inner}</svg>'
    )


def planar(turns_deg: Sequence[float], within_deg: float = 0.05) -> list[bool] | None:
    """Which of a table's bends go left, the first taken so; None for a run that leaves its plane."""
    left, sides = True, []
    for at, turn in enumerate(turns_deg):
        if at and abs(abs(turn) - 180.0) <= within_deg:
            left = not left
        elif at and abs(turn) > within_deg:
            return None
        sides.append(left)
    return sides
