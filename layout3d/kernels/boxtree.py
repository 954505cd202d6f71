"""A tree of bounding boxes over the triangles of a mesh, as plain arrays, level by level."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import TypeAlias

import numpy as np

from layout3d.kernels.pieces import Bools, Ints
from shapes.pose import Array
from shapes.primitives import Mesh

FAN = 8
_BLOCK = 200_000
_MORTON_BITS = 20

#: Of pairs (k,) of a query and a node with a box low, high (k, 3): which are worth opening (k,).
Wanted: TypeAlias = Callable[[Array, Array, Ints, Ints], Bools]


@dataclass(frozen=True, eq=False)
class BoxTree:
    """Boxes of triangles, joined by eights along a curve that keeps neighbours together.

    order : (m,) the triangle of each leaf
    levels : (low, high) corners (k, 3) of the boxes, leaves first, a single root last
    """

    order: Ints
    levels: tuple[tuple[Array, Array], ...]

    def descend(self, queries: int, wanted: Wanted) -> Iterator[tuple[Ints, Ints]]:
        """Pairs (query, triangle) whose nodes were all wanted, in blocks; at least one.

        ``wanted(low, high, query, triangle)`` is asked level by level for pairs of a query and a
        node: its box, and one triangle in it.
        """
        left = [(len(self.levels) - 1, np.arange(queries), np.zeros(queries, dtype=np.intp))]
        while left:
            level, query, node = left.pop()
            low, high = self.levels[level]
            triangle = self.order[node * FAN**level]
            kept = wanted(low[node], high[node], query, triangle)
            query, node = query[kept], node[kept]
            if level == 0:
                yield query, triangle[kept]
                continue
            children = (node[:, None] * FAN + np.arange(FAN)).reshape(-1)
            query = np.repeat(query, FAN)
            there = children < len(self.levels[level - 1][0])
            query, children = query[there], children[there]
            for start in range(0, max(len(query), 1), _BLOCK):
                rows = slice(start, start + _BLOCK)
                left.append((level - 1, query[rows], children[rows]))

    def likely(self, points: Array) -> Ints:
        """For each point (N, 3) a triangle that is probably near: down the nearest box of each level."""
        node = np.zeros(len(points), dtype=np.intp)
        for low, high in reversed(self.levels[:-1]):
            children = np.minimum(node[:, None] * FAN + np.arange(FAN), len(low) - 1)
            here = points[:, None, :]
            off = np.maximum(np.maximum(low[children] - here, here - high[children]), 0.0)
            far = here - 0.5 * (low[children] + high[children])
            # Among boxes that hold the point the one with the nearest middle.
            cost = np.einsum("nkc,nkc->nk", off, off) + 1e-3 * np.einsum("nkc,nkc->nk", far, far)
            node = children[np.arange(len(node)), cost.argmin(axis=1)]
        return self.order[node]


@lru_cache(maxsize=64)
def tree_of(mesh: Mesh) -> BoxTree:
    """The tree of a mesh's triangles in its own frame."""
    corners = mesh.corners
    low, high = corners.min(axis=1), corners.max(axis=1)
    order = _along_curve(0.5 * (low + high))
    levels = [(low[order], high[order])]
    while len(levels[-1][0]) > 1:
        low, high = levels[-1]
        starts = np.arange(0, len(low), FAN)
        levels.append((np.minimum.reduceat(low, starts), np.maximum.reduceat(high, starts)))
    return BoxTree(order, tuple(levels))


def _along_curve(points: Array) -> Ints:
    """Order of points (n, 3) along Morton's curve (bits of the three coordinates interleaved)."""
    low = points.min(axis=0)
    width = float((points - low).max()) or 1.0
    cells = ((points - low) * ((2**_MORTON_BITS - 1) / width)).astype(np.uint64)
    code = np.zeros(len(points), dtype=np.uint64)
    for bit in range(_MORTON_BITS):
        for axis in range(3):
            code |= ((cells[:, axis] >> np.uint64(bit)) & np.uint64(1)) << np.uint64(3 * bit + axis)
    return np.argsort(code, kind="stable")
