"""Pieces of bodies as arrays: convex solids, arcs of tube, bays of a plate beside a round opening.

The convex hull of every piece, and of every stretch (cell) of one, is
``conv(corners) + [-1, 1] rise + swept disc``: one support function serves them all.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace

import numpy as np
import numpy.typing as npt

from shapes.pose import Array

Ints = npt.NDArray[np.intp]
Bools = npt.NDArray[np.bool_]

SOLID, ARC, BAY = 0, 1, 2


@dataclass(frozen=True, slots=True, eq=False)
class Pieces:
    """N pieces. All lengths in mm, scene frame.

    corners : (N, K, 3) a convex polygon in order, padded by repeating its last corner
    rise : (N, 3) the polygon is drawn out by both plus and minus this
    centre : (N, 3) of the bend of an arc; origin of a bay's frame
    outward, along : (N, 3) the bend at angle a is ``centre + sweep (cos a outward + sin a along)``;
        x and y axes of a bay; ``along`` is the axis of a cylinder
    sweep : (N,) bend radius of an arc, 0 otherwise
    radius : (N,) of the disc normal to the direction of travel
    low, high : (N,) range of the parameter: angle of an arc, 0 to 1 over a bay
    bay : (N, 10) left and right end, then the lower and upper curve (see ``layout3d.kernels.sheets``)
    kind : (N,) SOLID, ARC or BAY
    """

    corners: Array
    rise: Array
    centre: Array
    outward: Array
    along: Array
    sweep: Array
    radius: Array
    low: Array
    high: Array
    bay: Array
    kind: Ints

    def __len__(self) -> int:
        return len(self.rise)

    def take(self, rows: Ints | Bools | slice) -> Pieces:
        """These rows."""
        return Pieces(*(getattr(self, name)[rows] for name in _NAMES))

    def shifted(self, by: Array) -> Pieces:
        """Moved by one vector (3,) or one each (N, 3)."""
        by = np.asarray(by, dtype=float)
        return replace(self, corners=self.corners + by[..., None, :], centre=self.centre + by)

    def height(self, directions: Array) -> Array:
        """Support function of the hulls: the largest ``direction . x``.

        directions : (N, M, 3) unit; returns (N, M) [mm]
        """
        most: Array = (directions @ self.corners.transpose(0, 2, 1)).max(axis=2)
        most += np.abs(np.einsum("nmc,nc->nm", directions, self.rise))
        round_ = np.flatnonzero(self.radius > 0.0)
        if len(round_):
            towards = directions[round_]
            spoke, travel = self.disc_at(round_, towards)
            across = towards - np.einsum("nmc,nmc->nm", towards, travel)[..., None] * travel
            length = np.sqrt(np.einsum("nmc,nmc->nm", across, across))
            most[round_] += self.radius[round_, None] * length
            most[round_] += self.sweep[round_, None] * np.einsum("nmc,nmc->nm", towards, spoke)
        return most

    def height_along(self, direction: Array) -> Array:
        """Support function with one direction (N, 3) each; (N,) [mm]."""
        reach: Array = self.height(direction[:, None, :])[:, 0]
        return reach

    def support_points(self, direction: Array) -> Array:
        """A point of each hull furthest along its direction (N, 3); (N, 3) [mm]."""
        reach = np.einsum("nkc,nc->nk", self.corners, direction)
        points: Array = self.corners[np.arange(len(self)), reach.argmax(axis=1)]
        points = points + np.sign(np.einsum("nc,nc->n", direction, self.rise))[:, None] * self.rise
        round_ = np.flatnonzero(self.radius > 0.0)
        if len(round_):
            towards = direction[round_]
            spoke, travel = (a[:, 0] for a in self.disc_at(round_, towards[:, None, :]))
            across = towards - np.einsum("nc,nc->n", towards, travel)[:, None] * travel
            # A second time: what rounding left along the axis would be blown up to the radius.
            across -= np.einsum("nc,nc->n", across, travel)[:, None] * travel
            length = np.sqrt(np.einsum("nc,nc->n", across, across))
            scale = self.radius[round_] / np.where(length > 1e-13, length, np.inf)
            points[round_] += scale[:, None] * across + self.sweep[round_, None] * spoke
        return points

    def disc_at(self, rows: Ints, towards: Array) -> tuple[Array, Array]:
        """Where on its bend each disc reaches furthest: unit spoke and direction of travel.

        With a bend radius of at least the disc's, the reach falls with the angle off the
        direction, so the nearest angle in range is the furthest disc (docs/clearance.md). A
        tighter bend, which no tube can have, counts as a swept ball: no travel to be normal to.
        """
        shape = towards.shape
        spoke = np.zeros(shape)
        travel = np.broadcast_to(self.along[rows, None, :], shape).copy()
        bent = np.flatnonzero(self.sweep[rows] > 0.0)
        if len(bent):
            arcs = rows[bent]
            outward, along = self.outward[arcs, None, :], self.along[arcs, None, :]
            bearing = np.arctan2((towards[bent] * along).sum(-1), (towards[bent] * outward).sum(-1))
            angle = nearest_angle(bearing, self.low[arcs, None], self.high[arcs, None])
            cos, sin = np.cos(angle)[..., None], np.sin(angle)[..., None]
            spoke[bent] = cos * outward + sin * along
            travel[bent] = cos * along - sin * outward
            travel[bent[self.sweep[arcs] < self.radius[arcs]]] = 0.0
        return spoke, travel


_NAMES = tuple(field.name for field in fields(Pieces))


def nearest_angle(bearing: Array, low: Array, high: Array) -> Array:
    """The angle of [low, high] nearest to each bearing, full turns aside."""
    middle, half = 0.5 * (low + high), 0.5 * (high - low)
    off = bearing - middle
    off -= 2.0 * np.pi * np.round(off / (2.0 * np.pi))
    return middle + np.clip(off, -half, half)


def joined(parts: Sequence[Pieces]) -> Pieces:
    """All pieces in one, polygons padded to the largest."""
    most = max(part.corners.shape[1] for part in parts)
    corners = np.concatenate([padded(part.corners, most) for part in parts])
    rest = (np.concatenate([getattr(part, name) for part in parts]) for name in _NAMES[1:])
    return Pieces(corners, *rest)


def padded(corners: Array, count: int) -> Array:
    """Polygons (N, K, 3) with their last corner repeated up to ``count`` corners."""
    missing = count - corners.shape[1]
    return corners if missing == 0 else np.concatenate([corners, corners[:, -1:].repeat(missing, 1)], axis=1)
