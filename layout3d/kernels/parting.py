"""How far to move one of two overlapping pieces when they are not both convex."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from layout3d.kernels.axes import best_of, edge_crosses, face_normals, radial
from layout3d.kernels.depth import least_parting
from layout3d.kernels.families import stretch
from layout3d.kernels.pieces import ARC, SOLID, Ints, Pieces
from shapes.pose import Array

_ARC_STRETCH, _BAY_STRETCHES = 0.2, 8
_RETURNS = 8
#: A move may be longer than needed by this share of it, or at least by this [mm].
_LOOSE, _LOOSE_MM = 1e-2, 1e-7

#: Proven gaps (N,) [mm] of pieces taken row by row, each to its tolerance (N,), minus infinity
#: where they overlap; and the nearest points of each pair (N, 3).
Gaps: TypeAlias = Callable[[Pieces, Pieces, Array], tuple[Array, Array, Array]]


@dataclass(frozen=True, slots=True, eq=False)
class Ways:
    """Moves that surely free the second piece of each pair: direction (N, 3), length (N,) [mm].

    point_a, point_b : (N, 3) where the pieces part last, as they stand unmoved
    """

    direction: Array
    length: Array
    point_a: Array
    point_b: Array


def parted(pair: Ints, a: Pieces, b: Pieces, gaps: Gaps) -> tuple[Ints, Ways]:
    """The row of each pair (N,) of bodies whose pieces overlap deepest, and how b comes free of a.

    Two moves are tried: off the whole hull, which frees for sure, and off the stretch that
    overlaps deepest, which is measured. From where a move has freed the two it is taken back
    by the gap found there, again and again: the pieces cannot meet within their gap.
    """
    hull, near = least_parting(a, b), _off_the_deepest(a, b)
    order = np.lexsort((-np.maximum(hull[1], near[1]), pair))
    last = np.append(pair[order][1:] != pair[order][:-1], True)
    kept = order[last]
    a, b, count = a.take(kept), b.take(kept), len(kept)
    each = np.repeat(np.arange(count), 2)
    way = np.stack([hull[0][kept], near[0][kept]], axis=1).reshape(-1, 3)
    length = -np.stack([hull[1][kept], near[1][kept]], axis=1).ravel()
    length += _slack(length)
    free = np.tile([True, False], count)
    on_a, on_b = a.corners.mean(axis=1)[each], b.corners.mean(axis=1)[each]
    rows = np.arange(2 * count)
    for _ in range(_RETURNS):
        shift = length[rows, None] * way[rows]
        gap, at_a, at_b = gaps(
            a.take(each[rows]), b.take(each[rows]).shifted(shift), 0.3 * _slack(length[rows])
        )
        apart = np.flatnonzero(gap >= 0.0)
        moved = rows[apart]
        free[moved] = True
        on_a[moved], on_b[moved] = at_a[apart], at_b[apart] - shift[apart]
        length[moved] -= gap[apart]
        rows = moved[gap[apart] > _slack(length[moved])]
        if not len(rows):
            break
    least = np.where(free, length, np.inf).reshape(count, 2).argmin(axis=1) + 2 * np.arange(count)
    return kept, Ways(way[least], length[least], on_a[least], on_b[least])


def _slack(length: Array) -> Array:
    return np.maximum(_LOOSE * length, _LOOSE_MM)


def _off_the_deepest(a: Pieces, b: Pieces) -> tuple[Array, Array]:
    """Least parting of the two stretches of each pair that overlap deepest."""
    parts_a, parts_b = _stretches(a), _stretches(b)
    many = parts_a * parts_b
    row = np.repeat(np.arange(len(a)), many)
    within = np.arange(len(row)) - np.repeat(np.cumsum(many) - many, many)
    cell_a = _stretch(a.take(row), within // parts_b[row], parts_a[row])
    cell_b = _stretch(b.take(row), within % parts_b[row], parts_b[row])
    axes = [face_normals(cell_a), face_normals(cell_b), radial(cell_a, cell_b), edge_crosses(cell_a, cell_b)]
    _, room = best_of(cell_a, cell_b, np.concatenate(axes, axis=1))
    order = np.lexsort((room, row))
    deepest = order[np.cumsum(many) - many]
    return least_parting(cell_a.take(deepest), cell_b.take(deepest))


def _stretches(pieces: Pieces) -> Ints:
    """Into how many stretches to cut each piece."""
    arcs = np.ceil((pieces.high - pieces.low) / _ARC_STRETCH).astype(np.intp)
    return np.select([pieces.kind == SOLID, pieces.kind == ARC], [1, np.maximum(arcs, 1)], _BAY_STRETCHES)


def _stretch(pieces: Pieces, number: Ints, of: Ints) -> Pieces:
    span = (pieces.high - pieces.low) / of
    return stretch(pieces, pieces.low + number * span, pieces.low + (number + 1) * span)
