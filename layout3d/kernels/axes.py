"""Directions worth trying first: where a support plane of one of two pieces is likely to part them."""

from __future__ import annotations

import numpy as np

from layout3d.kernels.convex import separation
from layout3d.kernels.pieces import Ints, Pieces
from shapes.pose import Array


def face_normals(pieces: Pieces) -> Array:
    """Normals of every flat face of the hulls, and the axes of round ones; (N, M, 3), 0 for none."""
    edges = _outline(pieces)
    rise = pieces.rise[:, None, :]
    third = np.cross(pieces.outward, pieces.along)
    loose = np.stack([pieces.rise, pieces.outward, pieces.along, third], axis=1)
    flat = np.cross(edges[:, :1], edges[:, 1:2])
    return unit_or_zero(np.concatenate([np.cross(edges, rise), flat, loose], axis=1))


def edge_crosses(a: Pieces, b: Pieces) -> Array:
    """Cross products of every edge of a with every edge of b; (N, M, 3), 0 for parallel ones."""
    crosses = np.cross(edges_of(a)[:, :, None, :], edges_of(b)[:, None, :, :])
    return unit_or_zero(crosses.reshape(len(a), -1, 3))


def radial(a: Pieces, b: Pieces) -> Array:
    """From centre to centre, and the same square to each round one's axis; (N, 3, 3), 0 for none."""
    between = b.corners.mean(axis=1) - a.corners.mean(axis=1)
    found = [between]
    for piece in (a, b):
        axis = np.where((piece.sweep > 0.0)[:, None], np.cross(piece.outward, piece.along), piece.along)
        found.append(between - np.einsum("nc,nc->n", between, axis)[:, None] * axis)
    return unit_or_zero(np.stack(found, axis=1))


def best_of(a: Pieces, b: Pieces, axes: Array) -> tuple[Array, Array]:
    """The best of axes (N, M, 3), each tried both ways: direction (N, 3) and room (N,) [mm]."""
    both = np.concatenate([axes, -axes], axis=1)
    room = separation(a, b, both)
    room[(both == 0.0).all(axis=2)] = -np.inf
    chosen: Ints = room.argmax(axis=1)
    every = np.arange(len(chosen))
    return both[every, chosen], room[every, chosen]


def edges_of(pieces: Pieces) -> Array:
    """Every direction of an edge of the hulls (N, E, 3), not scaled; 0 for none."""
    return np.concatenate([_outline(pieces), pieces.rise[:, None, :]], axis=1)


def _outline(pieces: Pieces) -> Array:
    """Edges of the polygons (N, E, 3); only two where all are parallelograms."""
    corners = pieces.corners
    if corners.shape[1] == 4:
        skew = corners[:, 0] - corners[:, 1] + corners[:, 2] - corners[:, 3]
        if float(np.abs(skew).max(initial=0.0)) < 1e-9:
            return corners[:, 1:3] - corners[:, 0:2]
    return np.roll(corners, -1, axis=1) - corners


def unit_or_zero(directions: Array) -> Array:
    """Vectors (..., 3) scaled to length 1, those shorter than 1e-9 made 0."""
    length = np.sqrt(np.einsum("nmc,nmc->nm", directions, directions))
    scale = np.divide(1.0, length, out=np.zeros_like(length), where=length > 1e-9)
    return np.asarray(directions * scale[..., None])
