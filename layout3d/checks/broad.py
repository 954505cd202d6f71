"""Which pairs are near enough to be worth measuring."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
from rtree import index

from layout3d.kernels.bodies import Body

Pairs = npt.NDArray[np.intp]


def near_pairs(bodies: Sequence[Body], reach: float) -> Pairs:
    """Index pairs (n, 2), i < j, sorted, of bodies whose boxes come within ``reach`` mm."""
    if len(bodies) < 2:
        return np.empty((0, 2), dtype=np.intp)
    low = np.array([body.low for body in bodies]) - reach / 2.0 - 1e-6
    high = np.array([body.high for body in bodies]) + reach / 2.0 + 1e-6
    ids = np.arange(len(bodies))
    tree = index.Index((ids, low, high), properties=index.Property(dimension=3))
    found, counts = tree.intersection_v(low, high)  # type: ignore[no-untyped-call]
    pairs = np.column_stack((np.repeat(ids, counts.astype(np.intp)), found.astype(np.intp)))
    pairs = pairs[pairs[:, 0] < pairs[:, 1]]
    return pairs[np.lexsort((pairs[:, 1], pairs[:, 0]))]
