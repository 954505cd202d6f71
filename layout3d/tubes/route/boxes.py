"""Boxes of a family's free straights: shrunk to what can be, looked at in one place, split."""

from __future__ import annotations

import math

import numpy as np

from layout3d.tubes.route.directions import Bools, Indices
from layout3d.tubes.route.families import Families
from shapes.pose import Array


def tighten(families: Families, rows: Indices, low: Array, high: Array, settled: float) -> Bools:
    """Shrink boxes (B, 3) in place to what straights and the cost allow; tell which are left."""
    u0, Z = families.u0[rows], families.Z[rows]
    most = families.most[rows]
    rate = families.rate[rows]
    # Rows of `a + G f >= 0`: straights at least their least, at most their most, cost below settled.
    a = np.concatenate((u0, most - u0, (settled - families.cost[rows])[:, None]), axis=1)
    G = np.concatenate((Z, -Z, -rate[:, None]), axis=1)
    sound = np.isfinite(a)
    a = np.where(sound, a, 0.0) + 1e-9
    G = np.where(sound[..., None], G, 0.0)
    for axis in range(3):
        best = np.maximum(G * low[:, None], G * high[:, None])
        others = a + best.sum(axis=2) - best[:, :, axis]
        slope = G[:, :, axis]
        with np.errstate(divide="ignore", invalid="ignore"):
            limit = -others / slope
        low[:, axis] = np.maximum(low[:, axis], np.where(slope > 1e-12, limit, -math.inf).max(axis=1))
        high[:, axis] = np.minimum(high[:, axis], np.where(slope < -1e-12, limit, math.inf).min(axis=1))
    np.maximum(low, 0.0, out=low)
    shut = (low - high).max(axis=1) > 1e-9
    np.maximum(high, low, out=high)
    best = np.maximum(G * low[:, None], G * high[:, None])
    left: Bools = ~shut & ((a + best.sum(axis=2)).min(axis=1) >= -1e-9)
    return left


def representative(families: Families, rows: Indices, low: Array, high: Array) -> tuple[Array, Bools]:
    """The run looked at in each box (B, 3): its others in the middle, the first as low as they allow."""
    f = 0.5 * (low + high)
    f[:, 0] = low[:, 0]
    u0, Z, most = families.u0[rows], families.Z[rows], families.most[rows]
    slope = Z[:, :, 0]
    u = u0 + np.einsum("bjd,bd->bj", Z, f)
    with np.errstate(divide="ignore", invalid="ignore"):
        raise_low = np.where(slope > 1e-12, -u / slope, 0.0)
        raise_most = np.where(slope < -1e-12, (most - u) / slope, 0.0)
    up = np.maximum(raise_low.max(axis=1), np.nan_to_num(raise_most, nan=0.0, neginf=0.0).max(axis=1))
    raised = f[:, 0] + np.maximum(up, 0.0)
    f[:, 0] = np.where(raised <= high[:, 0], raised, low[:, 0])
    u = u0 + np.einsum("bjd,bd->bj", Z, f)
    possible = ((u >= -1e-7) & (u <= most + 1e-7)).all(axis=1)
    return f, possible
