"""How near cells may come anywhere in a box of unknown lengths, bounded along one direction.

A cell's reach along n is ``max_k n.corner_k + |n.rise| + radius alpha(n) + sweep beta(n)``, alpha and beta
fixed by n, while corners, rise and radius follow the lengths in proportion. So the room between
two cells is minus the largest of finitely many figures that each follow every length in
proportion: over a box the largest lies at a corner of the box, found length by length. What carries
both cells along cancels inside each figure.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from layout3d.kernels.pieces import Bools, Ints, Pieces, joined, padded
from shapes.pose import Array

#: Numbers held at once.
_AT_ONCE = 2_000_000


@dataclass(frozen=True, slots=True, eq=False)
class Cells:
    """C convex cells and how they follow N lengths.

    cells : as they are written
    corners, rise, radius : (C, N, K, 3), (C, N, 3), (C, N) slopes [mm per mm]
    """

    cells: Pieces
    corners: Array
    rise: Array
    radius: Array

    def __len__(self) -> int:
        return len(self.cells)

    def take(self, rows: Ints | Bools) -> Cells:
        """These rows."""
        return Cells(self.cells.take(rows), self.corners[rows], self.rise[rows], self.radius[rows])

    @staticmethod
    def joined(parts: Sequence[Cells]) -> Cells:
        """All cells in one."""
        most = max(part.corners.shape[2] for part in parts)
        return Cells(
            joined([part.cells for part in parts]),
            np.concatenate([_padded(part.corners, most) for part in parts]),
            np.concatenate([part.rise for part in parts]),
            np.concatenate([part.radius for part in parts]),
        )

    def at(self, offset: Array) -> Pieces:
        """Each cell with the lengths off by a row of ``offset`` (C, N) [mm]."""
        return replace(
            self.cells,
            corners=self.cells.corners + np.einsum("cn,cnkx->ckx", offset, self.corners),
            rise=self.cells.rise + np.einsum("cn,cnx->cx", offset, self.rise),
            radius=self.cells.radius + np.einsum("cn,cn->c", offset, self.radius),
        )

    def figures(self, direction: Array) -> tuple[Array, Array]:
        """Figures (C, F) whose largest is the reach along ``direction`` (C, 3) [mm], and slopes (C, N, F)."""
        corners, slopes = self.cells.corners, self.corners
        if (corners == corners[:, :1]).all() and (slopes == slopes[:, :, :1]).all():
            corners, slopes = corners[:, :1], slopes[:, :, :1]
        alpha, fixed = self._round(direction)
        along = np.einsum("ckx,cx->ck", corners, direction) + fixed[:, None]
        rise = np.einsum("cx,cx->c", self.cells.rise, direction)[:, None]
        slope = np.einsum("cnkx,cx->cnk", slopes, direction) + (self.radius * alpha[:, None])[..., None]
        up = np.einsum("cnx,cx->cn", self.rise, direction)[..., None]
        return (
            np.concatenate([along + rise, along - rise], axis=1),
            np.concatenate([slope + up, slope - up], axis=2),
        )

    def _round(self, direction: Array) -> tuple[Array, Array]:
        """How much of each disc's radius shows (C,), and what disc and sweep add to the reach (C,) [mm]."""
        alpha, fixed = np.zeros(len(self)), np.zeros(len(self))
        rows = np.flatnonzero(self.cells.radius > 0.0)
        if len(rows):
            towards = direction[rows][:, None, :]
            spoke, travel = self.cells.disc_at(rows, towards)
            across = towards - np.einsum("nmc,nmc->nm", towards, travel)[..., None] * travel
            alpha[rows] = np.sqrt(np.einsum("nmc,nmc->n", across, across))
            fixed[rows] = self.cells.sweep[rows] * np.einsum("nmc,nmc->n", towards, spoke)
        return alpha, fixed + self.cells.radius * alpha


def _padded(corners: Array, count: int) -> Array:
    shape = corners.shape
    return padded(corners.reshape(-1, *shape[2:]), count).reshape(*shape[:2], count, 3)


@dataclass(frozen=True, slots=True, eq=False)
class Worst:
    """What is proved of R pairs of cells along one direction each.

    room : (R,) nowhere in the box are they nearer [mm]
    slope : (R, N) by how much the figure that decides grows with each length: room lost per mm
    """

    room: Array
    slope: Array


def worst_room(a: Cells, b: Cells, direction: Array, low: Array, high: Array) -> Worst:
    """The least room between pairs of cells along ``direction`` (R, 3) from a to b over a box.

    low, high : (N,) or (R, N) offsets of the lengths [mm]
    """
    low, high = (np.broadcast_to(end, (len(a), low.shape[-1])) for end in (low, high))
    room, slope = np.empty(len(a)), np.empty(low.shape)
    size = 4 * a.corners.shape[2] * b.corners.shape[2] * (low.shape[1] + 1)
    step = max(1, _AT_ONCE // size)
    for start in range(0, len(a), step):
        rows = np.arange(start, min(start + step, len(a)))
        here = np.arange(len(rows))
        base_a, slope_a = a.take(rows).figures(direction[rows])
        base_b, slope_b = b.take(rows).figures(-direction[rows])
        slopes = slope_a[..., :, None] + slope_b[..., None, :]
        most = np.maximum(slopes * low[rows][..., None, None], slopes * high[rows][..., None, None])
        figures = base_a[:, :, None] + base_b[:, None, :] + most.sum(axis=1)
        flat = figures.reshape(len(rows), -1)
        worst = flat.argmax(axis=1)
        room[rows] = -flat[here, worst]
        slope[rows] = slopes.reshape(len(rows), low.shape[1], -1)[here, :, worst]
    return Worst(room, slope)


def worst_corner(slope: Array, low: Array, high: Array) -> Array:
    """The corner of the box (R, N) where figures of these slopes are largest."""
    return np.where(slope * high >= slope * low, high, low)


def swept_boxes(cells: Cells, low: Array, high: Array) -> tuple[Array, Array]:
    """Low and high corners (C, 3) of what each cell may take anywhere in a box (N,) [mm]."""
    reach = np.empty((len(cells), 6))
    for n, axis in enumerate(np.concatenate([np.eye(3), -np.eye(3)])):
        base, slopes = cells.figures(np.broadcast_to(axis, (len(cells), 3)))
        most = np.maximum(slopes * low[:, None], slopes * high[:, None]).sum(axis=1)
        reach[:, n] = (base + most).max(axis=1)
    return -reach[:, 3:], reach[:, :3]
