"""Which pairs are near enough to be worth measuring."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from layout3d.kernels.bodies import Body
from shapes.pose import Array

Pairs = npt.NDArray[np.intp]

#: Up to here all boxes are compared at once, before the tree's library would even be loaded.
_FEW = 400


def near_pairs(bodies: Sequence[Body], reach: float, few: int = _FEW) -> Pairs:
    """Index pairs (n, 2), i < j, sorted, of bodies whose boxes come within ``reach`` mm.

    More than ``few`` bodies go into an R-tree, which grows with their number, not its square.
    """
    if len(bodies) < 2:
        return np.empty((0, 2), dtype=np.intp)
    low = np.array([body.low for body in bodies]) - reach / 2.0 - 1e-6
    high = np.array([body.high for body in bodies]) + reach / 2.0 + 1e-6
    return _compared(low, high) if len(bodies) <= few else _from_tree(low, high)


def _compared(low: Array, high: Array) -> Pairs:
    meets = np.triu(np.ones((len(low), len(low)), dtype=bool), k=1)
    for axis in range(3):
        meets &= low[:, None, axis] <= high[None, :, axis]
        meets &= low[None, :, axis] <= high[:, None, axis]
    return np.argwhere(meets)


def _from_tree(low: Array, high: Array) -> Pairs:
    from rtree import index

    ids = np.arange(len(low))
    tree = index.Index((ids, low, high), properties=index.Property(dimension=3))
    found, counts = tree.intersection_v(low, high)  # type: ignore[no-untyped-call]
    pairs = np.column_stack((np.repeat(ids, counts.astype(np.intp)), found.astype(np.intp)))
    pairs = pairs[pairs[:, 0] < pairs[:, 1]]
    return pairs[np.lexsort((pairs[:, 1], pairs[:, 0]))]
