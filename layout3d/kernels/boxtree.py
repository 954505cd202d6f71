"""A tree of bounding boxes over the triangles of a mesh, as plain arrays, level by level."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from layout3d.kernels.pieces import Bools, Ints
from shapes.pose import Array
from shapes.primitives import Mesh

FAN = 8
_BLOCK = 200_000
_MORTON_BITS = 20
#: Neighbours along the curve that are looked at, each way.
_AROUND = 4

#: Of pairs (k,) of a query and a node with a box low, high (k, 3): which are worth opening (k,).
Wanted: TypeAlias = Callable[[Array, Array, Ints, Ints], Bools]


@dataclass(frozen=True, eq=False)
class BoxTree:
    """Boxes of triangles, joined by eights along a curve that keeps neighbours together.

    order : (m,) the triangle of each leaf
    levels : (low, high) corners (k, 3) of the boxes, leaves first, a single root last
    codes : (m,) of the leaves' middles along the curve, which fills a cube at ``corner`` (3,)
    """

    order: Ints
    codes: npt.NDArray[np.uint64]
    corner: Array
    width: float
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
        """For each point (N, 3) a triangle that is probably near: of its neighbours on the curve."""
        place = np.searchsorted(self.codes, _codes(points, self.corner, self.width))
        low, high = self.levels[0]
        leaves = (place[:, None] + np.arange(-_AROUND, _AROUND)).clip(0, len(low) - 1)
        off = 0.5 * (low + high)[leaves] - points[:, None, :]
        chosen = np.einsum("nkc,nkc->nk", off, off).argmin(axis=1)
        return np.asarray(self.order[leaves[np.arange(len(points)), chosen]])


@lru_cache(maxsize=64)
def tree_of(mesh: Mesh) -> BoxTree:
    """The tree of a mesh's triangles in its own frame."""
    corners = mesh.corners
    low, high = corners.min(axis=1), corners.max(axis=1)
    middles = 0.5 * (low + high)
    corner = middles.min(axis=0)
    width = float((middles - corner).max()) or 1.0
    codes = _codes(middles, corner, width)
    order = np.argsort(codes, kind="stable")
    levels = [(low[order], high[order])]
    while len(levels[-1][0]) > 1:
        low, high = levels[-1]
        starts = np.arange(0, len(low), FAN)
        levels.append((np.minimum.reduceat(low, starts), np.maximum.reduceat(high, starts)))
    return BoxTree(order, codes[order], corner, width, tuple(levels))


def _codes(points: Array, corner: Array, width: float) -> npt.NDArray[np.uint64]:
    """Places of points (n, 3) along Morton's curve: the bits of the three coordinates in turn."""
    most = 2**_MORTON_BITS - 1
    cells = ((points - corner) * (most / width)).clip(0, most).astype(np.uint64)
    code = np.zeros(len(points), dtype=np.uint64)
    for bit in range(_MORTON_BITS):
        for axis in range(3):
            code |= ((cells[:, axis] >> np.uint64(bit)) & np.uint64(1)) << np.uint64(3 * bit + axis)
    return code
