"""Whether a body can be moved along a straight line past another: sound, and one-sided.

Moved along a line, a convex piece covers its hull with its own shifted copy, which is convex
again: a support plane that parts it from the other piece proves the whole journey free. The
mathematics is in docs/clearance.md.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from layout3d.kernels.axes import best_of, edge_crosses, edges_of, face_normals, radial, unit_or_zero
from layout3d.kernels.convex import cross, separated, unit
from layout3d.kernels.families import stretch
from layout3d.kernels.pieces import ARC, BAY, SOLID, Bools, Pieces
from shapes.pose import Array

_CONTACT_MM = 1e-6
#: Longest stretch of an arc taken as its hull [radians]: at 36 mm it bulges 0.04 mm into the bend.
_ARC_STEP = 0.1
_BAY_CELLS = 16


def hulls(pieces: Pieces, finer: int = 1) -> Pieces:
    """Convex pieces that together contain these: arcs and bays cut into stretches, each its hull.

    ``finer`` times as many stretches stand off what they contain by its square less.
    """
    count = np.ones(len(pieces), dtype=np.intp)
    arcs = pieces.kind == ARC
    count[arcs] = np.ceil(finer * (pieces.high - pieces.low)[arcs] / _ARC_STEP).astype(np.intp).clip(min=1)
    count[pieces.kind == BAY] = _BAY_CELLS * finer
    rows = np.repeat(np.arange(len(pieces)), count)
    within = np.arange(len(rows)) - np.repeat(np.cumsum(count) - count, count)
    many = pieces.take(rows)
    span = (many.high - many.low) / count[rows]
    low = many.low + within * span
    cells = stretch(many, low, np.where(within + 1 == count[rows], many.high, low + span))
    return replace(cells, kind=np.full(len(cells), SOLID))


def passes(a: Pieces, b: Pieces, travel: Array) -> Bools:
    """Whether each convex piece of a, moved along its travel (N, 3) [mm], surely stays off b's.

    Contact is allowed, so that a part may slide along another. Between polytopes a "no" is as sure
    as a "yes": the axes tried hold every face and edge of the two.
    """
    moved = replace(a, corners=np.concatenate([a.corners, a.corners + travel[:, None, :]], axis=1))
    way = unit(travel)[:, None, :]
    between = radial(a, b)
    across = between - np.einsum("nmc,nmc->nm", between, np.broadcast_to(way, between.shape))[..., None] * way
    axes = [face_normals(a), face_normals(b), way, cross(way, edges_of(a)), cross(way, edges_of(b)), across]
    direction, room = best_of(moved, b, unit_or_zero(np.concatenate(axes, axis=1)))
    free = room >= -_CONTACT_MM
    rows = np.flatnonzero(~free & (a.radius == 0.0) & (b.radius == 0.0))
    if len(rows):
        _, crossed = best_of(moved.take(rows), b.take(rows), edge_crosses(a.take(rows), b.take(rows)))
        free[rows] = crossed >= -_CONTACT_MM
    rows = np.flatnonzero(~free & ((a.radius > 0.0) | (b.radius > 0.0)))
    if len(rows):
        enough = np.full(len(rows), -0.5 * _CONTACT_MM)
        found = separated(moved.take(rows), b.take(rows), direction[rows], enough)
        free[rows] = found.lower >= -_CONTACT_MM
    return free
