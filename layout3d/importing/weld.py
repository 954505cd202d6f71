"""Loose triangles to one closed surface: corners that are the same point become one vertex."""

from __future__ import annotations

import itertools

import numpy as np
import numpy.typing as npt

from shapes.pose import Array
from shapes.primitives import open_edges

Numbers = npt.NDArray[np.int32]

#: How far apart corners of one vertex may lie, tried in turn [mm]: not at all, by rounding, then what
#: a file's own tolerance leaves.
_GRAINS_MM = (0.0, 1e-6, 1e-5, 1e-4, 1e-3)
_ROUNDING_MM = 1e-6


def welded(corners: Array) -> tuple[Array, Numbers, npt.NDArray[np.bool_], float]:
    """Vertices (n, 3), triangles, which of the given ones stayed (m,), and how far corners went [mm].

    corners : (m, 3, 3) [mm]. ValueError where edges stay open.
    """
    for grain in _GRAINS_MM:
        vertices, triangles, kept = _merged(corners, grain)
        edges = open_edges(triangles)
        if not len(edges):
            return vertices, triangles, kept, 0.0 if grain <= _ROUNDING_MM else 4.0 * grain
        if grain == _ROUNDING_MM:
            count, (x, y, z) = len(edges), vertices[edges[0]].mean(axis=0)
    raise ValueError(
        f"is not closed: {count} of its edges are open, one near [{x:.1f}, {y:.1f}, {z:.1f}] mm; "
        "close it in the program it came from, or take its convex hull with `solid: hull`"
    )


def _merged(corners: Array, grain: float) -> tuple[Array, Numbers, npt.NDArray[np.bool_]]:
    """Two points within ``grain`` along every axis share a cell of at least one of eight shifted grids."""
    given = corners.reshape(-1, 3)
    first, number = _alike([np.unique(axis, return_inverse=True)[1] for axis in given.T])
    points = given[first]
    label = np.arange(len(points))
    for shift in itertools.product((0.0, 0.5), repeat=3) if grain > 0.0 else ():
        cells = np.floor(points / (2.0 * grain) + shift).astype(np.int64)
        _, cell = _alike([np.unique(axis, return_inverse=True)[1] for axis in cells.T])
        least = np.full(int(cell.max()) + 1, len(points))
        np.minimum.at(least, cell, label)
        label = least[cell]
    while (label[label] != label).any():
        label = label[label]
    chosen, place = np.unique(label, return_inverse=True)
    triangles = place[number].reshape(-1, 3)
    kept = np.asarray((triangles != np.roll(triangles, 1, axis=1)).all(axis=1))
    return points[chosen], triangles[kept].astype(np.int32), kept


def _alike(ranks: list[npt.NDArray[np.intp]]) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.intp]]:
    """Of rows given column by column as small numbers: the first of each kind, and the kind of each.

    Sorts whole numbers, which takes a tenth of what sorting rows does.
    """
    kind = ranks[0]
    for rank in ranks[1:]:
        _, first, kind = np.unique(
            kind * (int(rank.max(initial=0)) + 1) + rank, return_index=True, return_inverse=True
        )
    return first, kind
