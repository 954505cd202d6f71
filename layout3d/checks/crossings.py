"""Tubes that are seen to cross: from the window, one passes in front of another."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import combinations

import numpy as np

from layout3d.checks.words import where_of
from layout3d.findings import Finding
from layout3d.kernels.obstacles import Obstacles
from layout3d.layout import Layout, Tube
from shapes.pose import DIRECTIONS, Array, Pose, as_vec3, compose
from shapes.primitives import Arc, Primitive, Straight

#: Arcs are looked at in chords of this angle at most [radians]: at 36 mm they leave the arc by 0.05 mm.
_CHORD = 0.1
#: A look that stops within this of a surface has met it [mm].
_MET_MM = 1e-3
_SEE_THROUGH = ("glass", "clear")


def crossings(layout: Layout) -> Iterator[Finding]:
    """A warning for each pair of tubes whose centrelines are seen to cross from the case's window."""
    lines = [(tube, _chords(tube.run.pieces)) for tube in layout.tubes if tube.run is not None]
    if len(lines) < 2:
        return
    turn, toward = _from_window(layout)
    view: _View | None = None
    for (first, a), (second, b) in combinations(lines, 2):
        for place_a, place_b in _meetings(a, b, turn):
            if view is None:
                view = _View(layout, toward)
            if view.shows(place_a, place_b, first, second):
                nearer = float((place_a - place_b) @ toward) > 0.0
                yield _finding(first, second, nearer, (place_a + place_b) / 2.0, layout)
                break


def _chords(pieces: Sequence[Straight | Arc]) -> Array:
    """A centreline as corners (n, 3)."""
    corners: list[Array] = []
    for piece in pieces:
        if isinstance(piece, Straight):
            corners += [np.array(piece.start), np.array(piece.end)]
            continue
        angles = np.linspace(0.0, piece.angle, max(2, math.ceil(piece.angle / _CHORD) + 1))
        corners += list(piece.point_at(angles))
    return np.array(corners)


def _meetings(a: Array, b: Array, turn: Array) -> Iterator[tuple[Array, Array]]:
    """Where two lines of corners cross as seen along the y axis of ``turn``: the place on each (3,)."""
    way_a, way_b = np.diff(a, axis=0), np.diff(b, axis=0)
    seen_a, seen_b = (way_a @ turn)[:, None], (way_b @ turn)[None]
    off = (b[None, :-1] - a[:-1, None]) @ turn
    across = _flat(seen_a, seen_b)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        along_a = _flat(off, np.broadcast_to(seen_b, off.shape)) / across
        along_b = _flat(off, np.broadcast_to(seen_a, off.shape)) / across
    met = (np.abs(across) > 1e-9) & (along_a > 0.0) & (along_a <= 1.0) & (along_b > 0.0) & (along_b <= 1.0)
    for i, j in np.argwhere(met):
        yield a[i] + along_a[i, j] * way_a[i], b[j] + along_b[i, j] * way_b[j]


def _flat(one: Array, two: Array) -> Array:
    """Cross product in the x-z plane."""
    return np.asarray(one[..., 0] * two[..., 2] - one[..., 2] * two[..., 0])


class _View:
    """What can be seen through the window: everything that is not glass or clear is in the way."""

    def __init__(self, layout: Layout, toward: Array) -> None:
        self.toward = toward
        solids: list[tuple[Primitive, Pose]] = [
            (solid.primitive, compose(solid.solid2part, part.part2scene))
            for part in layout.parts.values()
            for solid in part.part.solids
            if solid.look not in _SEE_THROUGH
        ]
        self.solids = Obstacles(solids)
        far = np.abs(np.concatenate([self.solids.lower, self.solids.upper])).max(initial=0.0)
        self.reach = 4.0 * float(far)

    def shows(self, place_a: Array, place_b: Array, first: Tube, second: Tube) -> bool:
        """Whether both places are seen, each tube by the side turned to the window."""
        return all(
            self._seen(place, 0.5 * tube.run.outside)
            for place, tube in ((place_a, first), (place_b, second))
            if tube.run is not None
        )

    def _seen(self, place: Array, radius: float) -> bool:
        """Whether nothing solid stands between a tube's near side and the window."""
        at = radius + _MET_MM
        while at < self.reach:
            free = float(self.solids.nearest((place + at * self.toward)[None])[0][0])
            if free < _MET_MM:
                return False
            at += free
        return True


def _from_window(layout: Layout) -> tuple[Array, Array]:
    """How the case stands (3, 3) and the way out through its window (3,); without a case, the scene's."""
    for part in layout.parts.values():
        way = part.part.removals.get("window_panel")
        if way is not None:
            return part.part2scene.rotation, part.part2scene.turn(np.asarray(way))
    return np.eye(3), np.asarray(DIRECTIONS["window"])


def _finding(first: Tube, second: Tube, first_nearer: bool, at: Array, layout: Layout) -> Finding:
    nearer, other = (first, second) if first_nearer else (second, first)
    return Finding(
        rule="tube-crossing",
        severity="warning",
        parts=(first.name, second.name),
        message=f"seen through the window, {nearer.name} crosses in front of {other.name}",
        at_mm=as_vec3(at),
        remedy="use the ports of a part the other way round, or let one of the two run another way",
        where=where_of(second.name, layout),
    )
