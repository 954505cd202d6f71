"""A case drawn in lines from one side, with one dimension in it, as SVG."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from layout3d.measuring.ends import Drawn, ends
from layout3d.measuring.measures import Measure
from shapes.part import Solid
from shapes.pose import DIRECTIONS, Array
from shapes.primitives import Cylinder, Plate, RectOpening, RoundOpening, SlotHole

#: Paper taken by one drawing [mm], the rim kept free about it, and the room for its caption.
PAPER_MM = (84.0, 58.0)
_RIM_MM = 4.0
_CAPTION_MM = 9.0
_LEAST_MM = 2.2  # a dimension drawn shorter than this gets a detail of its own
_DETAIL_MM = 5.0
_ARROW_MM = 2.0


@dataclass(frozen=True, slots=True)
class View:
    """Which way the paper's right and up point in the case, what is taken off, and its caption."""

    right: str
    up: str
    off: tuple[str, ...]
    caption: str


#: Name in a measure -> view.
VIEWS = MappingProxyType(
    {
        "window": View("front", "roof", ("window_panel", "shroud_side"), "through the side window"),
        "tray": View("rear", "roof", ("tray_panel", "tray"), "from the tray side, that panel off"),
        "rear": View("window", "roof", (), "from behind"),
        "behind": View("window", "roof", ("rear",), "from behind, through the rear panel"),
        "front": View("tray", "roof", (), "from the front"),
        "roof": View("front", "tray", (), "from above"),
        "above": View("front", "tray", ("roof",), "from above, the roof taken away"),
        "deep": View("front", "tray", ("roof", "shroud_top"), "from above, down to the floor"),
    }
)


@dataclass(frozen=True, slots=True)
class _Paper:
    """Case to paper: ``axes`` (2, 3) right and down, scale, and the place of the case's middle."""

    axes: Array
    scale: float
    middle: Array

    def at(self, points: Array) -> Array:
        """Points (..., 3) on the paper [mm]."""
        placed: Array = (points @ self.axes.T - self.middle) * self.scale + np.array(PAPER_MM) / 2.0
        return placed


def drawing(case: Drawn, measure: Measure, label: str) -> str:
    """The measure as an SVG element ``PAPER_MM`` large; ``label`` stands at its dimension line."""
    view = VIEWS[measure.view]
    axes = np.array((DIRECTIONS[view.right], -np.array(DIRECTIONS[view.up])))
    corners = np.array(list(case.boxes.values()))
    flat = corners.reshape(-1, 3) @ axes.T
    low, high = flat.min(axis=0), flat.max(axis=0)
    scale = float(((np.array(PAPER_MM) - 2.0 * _RIM_MM) / (high - low)).min())
    start, end = _spread(ends(case, measure), axes, low, high, measure.place)
    length = float(np.abs((end - start) @ axes.T).max())
    middle = (low + high) / 2.0
    detail = length * scale < _LEAST_MM
    if detail:
        scale, middle = _DETAIL_MM / length, (start + end) @ axes.T / 2.0
    paper = _Paper(axes, scale, middle)
    body = [*_solids(case, view, paper), *_guests(case, paper), *_rows(case, measure, paper)]
    body += _dimension(paper.at(start), paper.at(end), label)
    (width, height), total = PAPER_MM, PAPER_MM[1] + _CAPTION_MM
    caption, between = f"{view.caption}{', enlarged' if detail else ''}", _between(measure)
    return (
        f'<svg viewBox="0 0 {width:g} {total:g}" role="img" aria-label="{between}, {caption}">'
        f'<svg width="{width:g}" height="{height:g}">{"".join(body)}</svg>'
        f'<text class="view" x="{width / 2:g}" y="{height + 3:g}">{between}</text>'
        f'<text class="view" x="{width / 2:g}" y="{height + 7:g}">seen {caption}</text></svg>'
    )


def _between(measure: Measure) -> str:
    """Both ends in words."""
    if measure.start[-1] == "<":
        row = measure.start[1:-1].replace("_", " ")
        return f"from end to end of the {row} slots" if row[:4] != "pass" else "across the opening"
    if measure.key in ("width", "depth", "height"):
        return "outside"
    first, second = (end.partition(".")[0] for end in (measure.start, measure.end))
    if first == second:
        return f"across the {first.replace('_', ' ')}"
    return f"from the {_word(first)} to the {_word(second)}"


def _word(end: str) -> str:
    if end[0] == "@":
        return {
            "@riser": "middle of the riser",
            "@psu": "middle of the supply",
            "@rear": "middle of the rear fan",
        }.get(end, f"middle of the {end[1:]} row")
    return {"%board": "board", "%psu": "supply", "foot_front_window": "ground"}.get(
        end, end.replace("_", " ")
    )


def _spread(
    both: tuple[Array, Array], axes: Array, low: Array, high: Array, place: float
) -> tuple[Array, Array]:
    """Both ends moved across the measure to where its line is drawn."""
    start, end = both
    flat = (end - start) @ axes.T
    across = 1 if abs(flat[0]) > abs(flat[1]) else 0
    share = place if across == 0 else 1.0 - place
    wanted = low[across] + share * (high[across] - low[across])
    shift = (wanted - float(start @ axes[across])) * axes[across]
    return start + shift, end + shift


def _solids(case: Drawn, view: View, paper: _Paper) -> Iterator[str]:
    toward = np.cross(np.array(DIRECTIONS[view.right]), np.array(DIRECTIONS[view.up]))
    seen = [solid for solid in case.part.solids if solid.name not in view.off]
    for solid in sorted(seen, key=lambda one: float(np.max(np.array(case.boxes[one.name]) @ toward))):
        yield _solid(solid, case, paper, toward)


def _solid(solid: Solid, case: Drawn, paper: _Paper, toward: Array) -> str:
    primitive, here = solid.primitive, solid.solid2part
    faces = abs(float(here.z_axis @ toward)) > 0.5
    if isinstance(primitive, Cylinder) and faces:
        (x, y), radius = paper.at(here.origin), primitive.diameter / 2.0 * paper.scale
        return f'<circle class="part" cx="{x:.2f}" cy="{y:.2f}" r="{radius:.2f}"/>'
    path = _rect(*paper.at(np.array(case.boxes[solid.name])))
    if not (isinstance(primitive, Plate) and faces):
        return f'<path class="edge" d="{path}"/>'
    low, high = np.array(primitive.size) / -2.0, np.array(primitive.size) / 2.0
    for hole in (*primitive.openings, *primitive.screw_holes):
        if isinstance(hole, RoundOpening):
            (x, y), radius = paper.at(here.apply(np.array((*hole.at, 0.0)))), hole.diameter / 2 * paper.scale
            path += f"M{x - radius:.2f} {y:.2f}a{radius:.2f} {radius:.2f} 0 1 0 {2 * radius:.2f} 0"
            path += f"a{radius:.2f} {radius:.2f} 0 1 0 {-2 * radius:.2f} 0z"
            continue
        size = np.array(hole.size if isinstance(hole, RectOpening) else _slot_size(hole)) / 2.0
        corners = np.clip(np.array((hole.at - size, hole.at + size)), low, high)
        path += _rect(*paper.at(here.apply(np.column_stack((corners, (0.0, 0.0))))))
    return f'<path class="sheet" d="{path}"/>'


def _slot_size(hole: SlotHole) -> tuple[float, float]:
    return hole.length, hole.width


def _guests(case: Drawn, paper: _Paper) -> Iterator[str]:
    for name, word in (("%board", "board"), ("%psu", "supply")):
        one, other = paper.at(np.array(case.boxes[name]))
        yield f'<path class="guest" d="{_rect(one, other)}"/>'
        x, y = (one + other) / 2.0
        if abs(one - other).min() > 6.0 and 0.0 < x < PAPER_MM[0] and 0.0 < y < PAPER_MM[1]:
            yield f'<text class="guest" x="{x:.2f}" y="{y:.2f}">{word}</text>'


def _rows(case: Drawn, measure: Measure, paper: _Paper) -> Iterator[str]:
    """The screw slots of the rows measured, whatever lies before them, and a cross in their middle."""
    for name in sorted({end[1:].rstrip("<>") for end in (measure.start, measure.end) if end[0] == "@"}):
        mount = case.part.mounts[name]
        for hole in (hole for holes in mount.rows.values() for hole in holes):
            half = np.array(((hole.slot + hole.diameter) / 2.0, hole.diameter / 2.0))
            corners = np.column_stack((np.array((hole.at - half, hole.at + half)), (0.0, 0.0)))
            yield f'<path class="row" d="{_rect(*paper.at(mount.mount2part.apply(corners)))}"/>'
        x, y = paper.at(mount.mount2part.origin)
        yield f'<path class="row" d="M{x - 3:.2f} {y:.2f}H{x + 3:.2f}M{x:.2f} {y - 3:.2f}V{y + 3:.2f}"/>'


def _rect(one: Array, other: Array) -> str:
    (x0, y0), (x1, y1) = np.minimum(one, other), np.maximum(one, other)
    return f"M{x0:.2f} {y0:.2f}H{x1:.2f}V{y1:.2f}H{x0:.2f}z"


def _dimension(start: Array, end: Array, label: str) -> Iterator[str]:
    """A dimension line with arrows, short bars at its ends and a numbered disc beside it."""
    along = (end - start) / float(np.hypot(*(end - start)))
    across = np.array((-along[1], along[0]))
    short = float(np.hypot(*(end - start))) < 14.0
    # In a short one the arrows stand outside and point at each other.
    inside = 1.0 if float(np.hypot(*(end - start))) > 3.0 * _ARROW_MM else -1.0
    for at, way in ((start, inside * along), (end, -inside * along)):
        (ax, ay), (bx, by) = at - 3.0 * across, at + 3.0 * across
        yield f'<path class="bar" d="M{ax:.2f} {ay:.2f}L{bx:.2f} {by:.2f}"/>'
        points = (at, at + _ARROW_MM * way + 0.7 * across, at + _ARROW_MM * way - 0.7 * across)
        corners = " ".join(f"{x:.2f},{y:.2f}" for x, y in points)
        yield f'<polygon class="arrow" points="{corners}"/>'
        if inside < 0.0:
            (bx, by), (ex, ey) = at, at + 3.0 * _ARROW_MM * way
            yield f'<path class="line" d="M{bx:.2f} {by:.2f}L{ex:.2f} {ey:.2f}"/>'
    (ax, ay), (bx, by) = start, end
    yield f'<path class="line" d="M{ax:.2f} {ay:.2f}L{bx:.2f} {by:.2f}"/>'
    x, y = (start + end) / 2.0 + (5.0 * across if short else 0.0)
    yield f'<circle class="disc" cx="{x:.2f}" cy="{y:.2f}" r="2.6"/>'
    yield f'<text class="disc" x="{x:.2f}" y="{y:.2f}">{label}</text>'
