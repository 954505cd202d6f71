"""Stretches (cells) of arcs and bays: their convex hulls, convex sets inside them, points on them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from layout3d.kernels.pieces import ARC, BAY, SOLID, Bools, Ints, Pieces, nearest_angle
from shapes.pose import Array


def stretch(pieces: Pieces, low: Array, high: Array) -> Pieces:
    """The pieces cut down to these ranges (N,) of their parameters; solids stay whole.

    The hull of a cell is exact: an arc's support function has a closed form, and the round
    edges of a bay bulge into it, so its hull has the corners of the cell.
    """
    corners = pieces.corners
    bays = np.flatnonzero(pieces.kind == BAY)
    if len(bays):
        corners = corners.copy()
        left, right = bay_x(pieces.bay[bays], low[bays]), bay_x(pieces.bay[bays], high[bays])
        corners[bays] = _quads(pieces, bays, left, right, *_curves(pieces.bay[bays], left, right))
    return replace(pieces, corners=corners, low=low, high=high)


def core(cells: Pieces) -> Pieces:
    """A convex set with a thickness inside each cell.

    Arc: a cylinder about the middle tangent, thinner by what the bend leaves it. A point at s
    along it and x towards the outside lies ``hypot(sweep + x, s) - sweep`` from the bend's
    circle in the bend's plane, at most x + s^2 / (2 (sweep - radius)).
    Bay: the rectangle between the higher end of its lower edge and the lower end of its upper
    one, or its middle line where there is none.
    """
    corners, rise = cells.corners, cells.rise.copy()
    along, sweep, radius = cells.along, cells.sweep, cells.radius.copy()
    kind = np.where(cells.kind == ARC, SOLID, cells.kind)
    arcs, bays = np.flatnonzero(cells.kind == ARC), np.flatnonzero(cells.kind == BAY)
    if len(arcs) or len(bays):
        corners, along, sweep = corners.copy(), along.copy(), sweep.copy()
    if len(arcs):
        angle = 0.5 * (cells.low[arcs] + cells.high[arcs])
        spoke, travel = _spoke_and_travel(cells, arcs, angle)
        free = np.maximum(cells.sweep[arcs] - cells.radius[arcs], 0.0)
        half = np.minimum(0.5 * (cells.high[arcs] - cells.low[arcs]), 1.5)
        length = np.minimum(free * np.tan(half), np.sqrt(radius[arcs] * free))
        loss = length**2 / (2.0 * np.where(free > 0.0, free, 1.0))
        corners[arcs] = (cells.centre[arcs] + cells.sweep[arcs, None] * spoke)[:, None, :]
        rise[arcs], along[arcs], sweep[arcs] = length[:, None] * travel, travel, 0.0
        radius[arcs] -= loss
    if len(bays):
        bay = cells.bay[bays]
        left, right = bay_x(bay, cells.low[bays]), bay_x(bay, cells.high[bays])
        low_left, low_right, high_left, high_right = _curves(bay, left, right)
        low, high = np.maximum(low_left, low_right), np.minimum(high_left, high_right)
        middle = bay_x(bay, 0.5 * (cells.low[bays] + cells.high[bays]))
        low_middle, _, high_middle, _ = _curves(bay, middle, middle)
        thick = high > low
        left, right = np.where(thick, left, middle), np.where(thick, right, middle)
        low, high = np.where(thick, low, low_middle), np.where(thick, high, high_middle)
        corners[bays] = _quads(cells, bays, left, right, low, low, high, high)
    return replace(cells, corners=corners, rise=rise, along=along, sweep=sweep, radius=radius, kind=kind)


def brought_in(cells: Pieces, points: Array) -> Array:
    """Points (N, 3) of the cells' hulls moved onto the cells themselves (onto the same cell, nearby)."""
    points = points.copy()
    arcs, bays = np.flatnonzero(cells.kind == ARC), np.flatnonzero(cells.kind == BAY)
    if len(arcs):
        off = points[arcs] - cells.centre[arcs]
        bearing = np.arctan2(
            np.einsum("nc,nc->n", off, cells.along[arcs]), np.einsum("nc,nc->n", off, cells.outward[arcs])
        )
        angle = nearest_angle(bearing, cells.low[arcs], cells.high[arcs])
        spoke, travel = _spoke_and_travel(cells, arcs, angle)
        off -= cells.sweep[arcs, None] * spoke
        off -= np.einsum("nc,nc->n", off, travel)[:, None] * travel
        length = np.sqrt(np.einsum("nc,nc->n", off, off))
        off *= np.minimum(1.0, cells.radius[arcs] / np.maximum(length, 1e-12))[:, None]
        points[arcs] = cells.centre[arcs] + cells.sweep[arcs, None] * spoke + off
    if len(bays):
        bay, ex, ey = cells.bay[bays], cells.outward[bays], cells.along[bays]
        off = points[bays] - cells.centre[bays]
        x, y = np.einsum("nc,nc->n", off, ex), np.einsum("nc,nc->n", off, ey)
        off -= x[:, None] * ex + y[:, None] * ey
        x = np.clip(x, bay_x(bay, cells.low[bays]), bay_x(bay, cells.high[bays]))
        low, _, high, _ = _curves(bay, x, x)
        y = np.clip(y, low, np.maximum(low, high))
        points[bays] = cells.centre[bays] + off + x[:, None] * ex + y[:, None] * ey
    return points


def extent(cells: Pieces) -> Array:
    """How far each cell reaches along its parameter [mm]; 0 for solids."""
    arc = (cells.sweep + cells.radius) * (cells.high - cells.low)
    bay = bay_x(cells.bay, cells.high) - bay_x(cells.bay, cells.low)
    return np.select([cells.kind == ARC, cells.kind == BAY], [arc, bay], 0.0)


def coarse(cells: Pieces) -> Bools:
    """Cells so long that a deep overlap may hide from the convex set inside them."""
    span = cells.high - cells.low
    return np.asarray(np.select([cells.kind == ARC, cells.kind == BAY], [span > 0.2, span > 0.13], False))


def bay_x(bay: Array, parameter: Array) -> Array:
    """x at a bay's parameter; denser towards both ends, where a circle may stand upright."""
    share = 0.5 - 0.5 * np.cos(np.pi * parameter)
    return np.asarray(bay[:, 0] + (bay[:, 1] - bay[:, 0]) * share)


def _curves(bay: Array, left: Array, right: Array) -> tuple[Array, Array, Array, Array]:
    """y of the lower curve at left and right, then of the upper one."""
    lower, upper = bay[:, 2:6], bay[:, 6:10]
    return _curve(lower, left), _curve(lower, right), _curve(upper, left), _curve(upper, right)


def _curve(curve: Array, x: Array) -> Array:
    centre_x, centre_y, radius, side = curve.T
    off = x - centre_x
    reach = side * np.sqrt(np.maximum((radius - off) * (radius + off), 0.0))
    return np.asarray(centre_y + reach)


def _quads(
    cells: Pieces,
    rows: Ints,
    left: Array,
    right: Array,
    low_left: Array,
    low_right: Array,
    high_left: Array,
    high_right: Array,
) -> Array:
    """Corners of cells between left and right, in the scene, padded like the others (n, K, 3)."""
    x = np.stack([left, right, right, left], axis=1)
    y = np.stack([low_left, low_right, high_right, high_left], axis=1)
    order = np.minimum(np.arange(cells.corners.shape[1]), 3)
    centre, ex, ey = cells.centre[rows, None], cells.outward[rows, None], cells.along[rows, None]
    return centre + x[:, order, None] * ex + y[:, order, None] * ey


def _spoke_and_travel(cells: Pieces, rows: Ints, angle: Array) -> tuple[Array, Array]:
    cos, sin = np.cos(angle)[:, None], np.sin(angle)[:, None]
    outward, along = cells.outward[rows], cells.along[rows]
    return cos * outward + sin * along, cos * along - sin * outward
