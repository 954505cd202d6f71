"""Lower bounds that are exact for coaxial pairs: a tube through a round opening, bends side by side.

There the gap is the same all round, and no stretch is short enough to tell one place from
another; but round their common axis the pair is a figure in a half-plane.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from layout3d.kernels.convex import cross
from layout3d.kernels.pieces import ARC, BAY, Bools, Ints, Pieces
from shapes.pose import Array


def round_bound(a: Pieces, b: Pieces) -> Array:
    """Proven distance of pairs (N,) [mm]; minus infinity where neither piece is round."""
    bound = np.full(len(a), -np.inf)
    for one, other in ((a, b), (b, a)):
        _take_larger(bound, np.flatnonzero(one.kind == BAY), one, other, _inside_openings)
        _take_larger(bound, np.flatnonzero(one.kind == ARC), one, other, _inside_bends)
    _take_larger(bound, np.flatnonzero((a.kind == ARC) & (b.kind == ARC)), a, b, _along_bends)
    return bound


def _take_larger(
    bound: Array, rows: Ints, one: Pieces, other: Pieces, bound_of: Callable[[Pieces, Pieces], Array]
) -> None:
    if len(rows):
        bound[rows] = np.maximum(bound[rows], bound_of(one.take(rows), other.take(rows)))


def _inside_openings(bays: Pieces, others: Pieces) -> Array:
    """The other is a drum round the opening's axis at most: how far is that from the opening's rim?"""
    axis = cross(bays.outward, bays.along)
    half = np.sqrt(np.einsum("nc,nc->n", bays.rise, bays.rise))
    best = np.full(len(bays), -np.inf)
    for curve in (bays.bay[:, 2:6], bays.bay[:, 6:10]):
        x, y, radius = curve[:, 0, None], curve[:, 1, None], curve[:, 2]
        point = bays.centre + x * bays.outward + y * bays.along
        bound = _off_drum(others, point, axis, radius, half)
        best = np.maximum(best, np.where(radius > 0.0, bound, -np.inf))
    return best


def _inside_bends(arcs: Pieces, others: Pieces) -> Array:
    """The same for a whole ring of the bend's radius, less the tube's."""
    axis = cross(arcs.outward, arcs.along)
    return _off_drum(others, arcs.centre, axis, arcs.sweep, np.zeros(len(arcs))) - arcs.radius


def _off_drum(pieces: Pieces, point: Array, axis: Array, radius: Array, half: Array) -> Array:
    """From the hulls to all that is ``radius`` or more from an axis and ``half`` or less from a plane."""
    inward = radius - _reach(pieces, point, axis)
    middle = np.einsum("nc,nc->n", point, axis)
    above = -pieces.height_along(-axis) - middle - half
    below = middle - pieces.height_along(axis) - half
    lift = np.maximum(np.maximum(above, below), 0.0)
    return np.where(inward > 0.0, np.hypot(inward, lift), np.where(lift > 0.0, lift, inward))


def _reach(pieces: Pieces, point: Array, axis: Array) -> Array:
    """No point of the hulls is further than this from the line through point along axis (N,)."""
    rise = pieces.rise[:, None]
    ends = np.concatenate([pieces.corners + rise, pieces.corners - rise, _tangents(pieces)], axis=1)
    aside = cross(ends - point[:, None], axis[:, None])
    furthest = np.sqrt(np.einsum("nkc,nkc->nk", aside, aside))
    corners = furthest[:, :-3].max(axis=1) + pieces.sweep
    bent = np.where(_short(pieces), furthest[:, -3:].max(axis=1), np.inf)
    return np.asarray(np.where(pieces.sweep > 0.0, np.minimum(corners, bent), corners) + pieces.radius)


def _short(pieces: Pieces) -> Bools:
    """Arcs short enough for their two end tangents to meet nearby."""
    return np.asarray(pieces.high - pieces.low < 2.0)


def _tangents(pieces: Pieces) -> Array:
    """Both ends of each arc's centreline and the corner of its tangents (N, 3, 3), which enclose it."""
    half = np.where(_short(pieces), 0.5 * (pieces.high - pieces.low), 0.0)
    angle = pieces.low[:, None] + half[:, None] * np.array([0.0, 1.0, 2.0])
    reach = pieces.sweep[:, None] * np.stack(
        [np.ones_like(half), 1.0 / np.cos(half), np.ones_like(half)], axis=1
    )
    outward = (reach * np.cos(angle))[..., None] * pieces.outward[:, None]
    along = (reach * np.sin(angle))[..., None] * pieces.along[:, None]
    return np.asarray(pieces.centre[:, None] + outward + along)


def _along_bends(a: Pieces, b: Pieces) -> Array:
    """Distance of two rings about one axis, less how far b must be moved and turned to be about a's."""
    axis_a, axis_b = cross(a.outward, a.along), cross(b.outward, b.along)
    agree = np.sign(np.einsum("nc,nc->n", axis_a, axis_b))[:, None]
    turned = axis_a - agree * axis_b
    between = b.centre - a.centre
    lift = np.einsum("nc,nc->n", between, axis_a)
    aside = between - lift[:, None] * axis_a
    moved = np.sqrt(np.einsum("nc,nc->n", aside, aside))
    moved += (b.sweep + b.radius) * np.sqrt(np.einsum("nc,nc->n", turned, turned))
    return np.asarray(np.hypot(a.sweep - b.sweep, lift) - a.radius - b.radius - moved)
