"""Plates whose sheet or openings follow unknown lengths, as cells whose corners follow them in proportion.

A round opening counts by its square: the sheet without these squares and the rectangular openings is
cut into strips between the sides of all of them, and what a square has beyond its disc is added as
stretches along the rim. Every corner then lies on sides or rims that follow in proportion. It is so only
while no side passes another; a plate of which that is not sure is taken with each opening drawn in by
as far as its rim may move.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from layout3d.kernels.bodies import body
from layout3d.kernels.pieces import SOLID, Pieces
from layout3d.kernels.sweep import hulls
from layout3d.tolerance.reach import Cells
from shapes.pose import Array, Pose
from shapes.primitives import Opening, Plate, RectOpening, RoundOpening

#: Stretches of a quarter of a rim.
_QUARTER = 12
_SAME_MM = 1e-9


def plate_figures(plate: Plate, pose: Pose) -> Array:
    """Where a plate stands (3), its size (2), thickness, then each opening's place and size (2, 2) [mm]."""
    figures = [*pose.origin.tolist(), *plate.size, plate.thickness]
    for opening in plate.openings:
        figures += [*opening.at, *_size(opening)]
    return np.array(figures)


def alike(plate: Plate, other: object) -> bool:
    """Whether another is a plate with openings of the same kinds."""
    if not isinstance(other, Plate):
        return False
    return [type(one) for one in plate.openings] == [type(one) for one in other.openings]


def _size(opening: Opening) -> tuple[float, float]:
    return (opening.diameter,) * 2 if isinstance(opening, RoundOpening) else opening.size


@dataclass(frozen=True, slots=True, eq=False)
class _Figure:
    """A coordinate and how it follows N lengths."""

    at: float
    slope: Array

    def plus(self, other: _Figure, share: float) -> _Figure:
        return _Figure(self.at + share * other.at, self.slope + share * other.slope)


def plate_cells(plate: Plate, pose: Pose, slopes: Array, low: Array, high: Array, finer: int = 1) -> Cells:
    """Cells that hold the plate at all lengths off by ``low`` to ``high`` (N,) [mm].

    slopes : (N, F) of ``plate_figures``
    """
    sheet = _Sheet(plate, slopes, low, high)
    quads = list(sheet.strips())
    if sheet.sure:
        quads += [quad for n in sheet.rounds for quad in sheet.rim(n, _QUARTER * finer)]
        return _placed(quads, pose, slopes, plate.thickness)
    cells = hulls(body(_cover(plate, slopes, low, high), pose).pieces, finer)
    count, most = cells.corners.shape[:2]
    shift = np.broadcast_to(slopes[None, :, None, :3], (count, len(low), most, 3))
    rise = np.broadcast_to(0.5 * slopes[:, 5, None] * pose.z_axis, (count, len(low), 3))
    return Cells(cells, shift, rise, np.zeros((count, len(low))))


_Quad = tuple[tuple[_Figure, _Figure], ...]


class _Sheet:
    def __init__(self, plate: Plate, slopes: Array, low: Array, high: Array) -> None:
        self._low, self._high = low, high
        self.sure = True
        figures = plate_figures(plate, Pose.at((0.0, 0.0, 0.0)))
        every = [_Figure(float(at), slopes[:, n]) for n, at in enumerate(figures)]
        none = _Figure(0.0, np.zeros(len(low)))
        self._edges = [(none.plus(size, -0.5), none.plus(size, 0.5)) for size in every[3:5]]
        self._places = [tuple(every[n : n + 4]) for n in range(6, len(every), 4)]
        self.rounds = [n for n, opening in enumerate(plate.openings) if isinstance(opening, RoundOpening)]
        self._squares = [
            [(place[n].plus(place[n + 2], -0.5), place[n].plus(place[n + 2], 0.5)) for n in (0, 1)]
            for place in self._places
        ]

    def strips(self) -> Iterator[_Quad]:
        """What the openings' squares leave of the sheet."""
        (left, right), (floor, roof) = self._edges
        sides = [side for square in self._squares for side in square[0]]
        inside = [side for side in sides if self._before(left, side) and self._before(side, right)]
        for one, other in pairwise(self._ordered([left, *inside, right])):
            across = [
                square[1]
                for square in self._squares
                if self._before(square[0][0], one) and self._before(other, square[0][1])
            ]
            bottom = floor
            for lower, upper in sorted(across, key=lambda span: span[0].at):
                if self._before(bottom, lower):
                    yield ((one, bottom), (other, bottom), (other, lower), (one, lower))
                if self._before(bottom, upper):
                    bottom = upper
            if self._before(bottom, roof):
                yield ((one, bottom), (other, bottom), (other, roof), (one, roof))

    def rim(self, n: int, count: int) -> Iterator[_Quad]:
        """What a round opening's square has beyond its disc."""
        x, y, width, _ = self._places[n]
        angles = np.linspace(0.0, 0.5 * np.pi, count + 1)
        for sx, sy in ((1.0, 1.0), (-1.0, 1.0), (-1.0, -1.0), (1.0, -1.0)):
            for a, b in pairwise(angles.tolist()):
                xa, xb = (x.plus(width, 0.5 * sx * float(np.cos(angle))) for angle in (a, b))
                ya, yb = (y.plus(width, 0.5 * sy * float(np.sin(angle))) for angle in (a, b))
                top = y.plus(width, 0.5 * sy)
                yield ((xa, ya), (xb, yb), (xb, top), (xa, top))

    def _ordered(self, sides: Iterable[_Figure]) -> list[_Figure]:
        ordered: list[_Figure] = []
        for side in sorted(sides, key=lambda side: side.at):
            if not ordered or not self._same(ordered[-1], side):
                ordered.append(side)
        return ordered

    def _same(self, one: _Figure, other: _Figure) -> bool:
        return abs(one.at - other.at) < _SAME_MM and bool(np.abs(one.slope - other.slope).max() < _SAME_MM)

    def _before(self, one: _Figure, other: _Figure) -> bool:
        """Whether one lies before the other; ``sure`` ends where that is not so at all lengths."""
        if self._same(one, other):
            return True
        change = other.slope - one.slope
        ends = np.sort(np.stack([change * self._low, change * self._high]), axis=0).sum(axis=1)
        apart = other.at - one.at
        if apart + ends[0] < -_SAME_MM and apart + ends[1] > _SAME_MM:
            self.sure = False
        return apart > 0.0 or (apart > -_SAME_MM and ends[0] >= -_SAME_MM)


def _placed(quads: Sequence[_Quad], pose: Pose, slopes: Array, thickness: float) -> Cells:
    ex, ey, ez = pose.rotation.T
    count, lengths = len(quads), len(slopes)
    flat = np.array([[(x.at, y.at) for x, y in quad] for quad in quads]).reshape(count, 4, 2)
    follow = np.array([[(x.slope, y.slope) for x, y in quad] for quad in quads]).reshape(count, 4, 2, lengths)
    axes = np.stack([ex, ey])
    corners = flat @ axes + pose.origin
    moved = np.einsum("ckdn,dx->cnkx", follow, axes) + slopes[None, :, None, :3]
    nothing, zeros = np.zeros((count, 3)), np.zeros(count)
    rise = np.broadcast_to(0.5 * thickness * ez, (count, 3))
    kinds, bays = np.full(count, SOLID), np.zeros((count, 10))
    cells = Pieces(corners, rise, nothing, nothing, nothing, zeros, zeros, zeros, zeros, bays, kinds)
    thicker = np.broadcast_to(0.5 * slopes[:, 5, None] * ez, (count, lengths, 3))
    return Cells(cells, moved, thicker, np.zeros((count, lengths)))


def _cover(plate: Plate, slopes: Array, low: Array, high: Array) -> Plate:
    """The plate with only what is open at all lengths, and as large as it may be."""
    most = np.maximum(np.abs(slopes * low[:, None]), np.abs(slopes * high[:, None])).sum(axis=0)
    openings: list[Opening] = []
    for n, opening in enumerate(plate.openings):
        x, y, width, depth = most[6 + 4 * n : 10 + 4 * n]
        if isinstance(opening, RoundOpening):
            left = opening.diameter - width - 2.0 * float(np.hypot(x, y))
            openings += [RoundOpening(opening.at, left)] if left > 0.0 else []
        else:
            size = (opening.size[0] - width - 2.0 * x, opening.size[1] - depth - 2.0 * y)
            openings += [RectOpening(opening.at, (float(size[0]), float(size[1])))] if min(size) > 0.0 else []
    wide, deep = (float(plate.size[n] + most[3 + n]) for n in (0, 1))
    return Plate((wide, deep), plate.thickness, tuple(openings))
