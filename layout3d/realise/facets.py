"""Rounds as flat facets: how many sides they need, and the skin of a tube along its run."""

from __future__ import annotations

import math
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from shapes.pose import Array, unit
from shapes.primitives import Arc, Straight, TubeRun

Triangles: TypeAlias = npt.NDArray[np.int64]

#: Rounds get at least this many sides, so that neighbouring facets meet within the crease angle.
_LEAST_SIDES = 12
#: Shorter stretches of a tube are left out, as in the exact solids.
_LEAST_STRETCH_MM = 1e-6


def sides(radius: float, tolerance_mm: float) -> int:
    """How many sides a round of this radius needs; a multiple of 4, so that its extent is exact.

    The middle of a chord lies r (1 - cos(pi / n)) inside the circle.
    """
    half_step = math.acos(max(1.0 - tolerance_mm / radius, 0.5))
    return max(_LEAST_SIDES, 4 * math.ceil(math.pi / half_step / 4.0))


def arc_points(radius: float, start: float, end: float, steps: int) -> Array:
    """``steps + 1`` points of a circle about the origin, from angle to angle [radians], (n, 2)."""
    angles = np.linspace(start, end, steps + 1)
    return radius * np.column_stack((np.cos(angles), np.sin(angles)))


def strip(a: Triangles, b: Triangles, c: Triangles, d: Triangles) -> Triangles:
    """Two triangles for each quad a b d c, a b below and c d above as seen from outside."""
    return np.concatenate((np.stack((a, b, d), axis=-1), np.stack((a, d, c), axis=-1))).reshape(-1, 3)


def fan(count: int) -> Triangles:
    """The triangles of a convex polygon of ``count`` corners, (count - 2, 3)."""
    return np.column_stack(
        (np.zeros(count - 2, dtype=np.int64), np.arange(1, count - 1), np.arange(2, count))
    )


def tube_skin(run: TubeRun, tolerance_mm: float) -> tuple[Array, Triangles]:
    """Vertices and triangles: rings of the outer skin, and of the inner one of a hollow tube, joined up.

    ValueError for a tube bent tighter than its own radius, or without length.
    """
    centres, across, beside = _stations(run, tolerance_mm / 2.0)
    count = sides(run.outside / 2.0, tolerance_mm / 2.0)
    ring = arc_points(1.0, 0.0, 2.0 * math.pi, count)[:-1]
    spokes = ring[:, 0, None] * across[:, None] + ring[:, 1, None] * beside[:, None]
    outer = centres[:, None] + run.outside / 2.0 * spokes
    last, here = len(centres) - 1, np.arange(count)
    after = (here + 1) % count
    start = (np.arange(last) * count)[:, None]
    skin = strip(start + here, start + after, start + count + here, start + count + after)
    end = last * count
    if run.inside == 0.0:
        lid = fan(count)
        return outer.reshape(-1, 3), np.concatenate((skin, lid[:, ::-1], lid + end))
    inner = centres[:, None] + run.inside / 2.0 * spokes
    shift = outer.shape[0] * count
    faces = (
        skin,
        skin[:, ::-1] + shift,
        strip(shift + here, shift + after, here, after),
        strip(end + here, end + after, shift + end + here, shift + end + after),
    )
    return np.concatenate((outer, inner)).reshape(-1, 3), np.concatenate(faces)


def _stations(run: TubeRun, tolerance_mm: float) -> tuple[Array, Array, Array]:
    """Points along the centreline and the two axes of the ring at each, all (n, 3).

    The axes turn with each bend and not about the tube, so that no skin is twisted.
    """
    pieces = [piece for piece in run.pieces if piece.length >= _LEAST_STRETCH_MM]
    if not pieces:
        raise ValueError(f"a tube of length {sum(piece.length for piece in run.pieces):g} mm has no body")
    travel = _travel(pieces[0])
    across = unit(np.cross(travel, np.eye(3)[np.abs(travel).argmin()]))
    first = pieces[0]
    at = np.array(first.start) if isinstance(first, Straight) else first.point_at(0.0)
    points, axes, tangents = [at[None]], [across[None]], [travel[None]]
    for piece in pieces:
        if isinstance(piece, Straight):
            where, tangent, axis = np.array([piece.end]), travel[None], across[None]
        else:
            angles = _steps(piece, run.outside, tolerance_mm)
            where, tangent = piece.point_at(angles), piece.direction_at(angles)
            axis = _turned(across, np.cross(piece.outward, piece.along), angles)
        points.append(where)
        tangents.append(tangent)
        axes.append(axis)
        travel, across = tangent[-1], axis[-1]
    tangent, axis = np.concatenate(tangents), np.concatenate(axes)
    axis = axis - np.einsum("ij,ij->i", axis, tangent)[:, None] * tangent
    axis = axis / np.linalg.norm(axis, axis=1)[:, None]
    return np.concatenate(points), axis, np.cross(tangent, axis)


def _travel(piece: Straight | Arc) -> Array:
    return unit(np.subtract(piece.end, piece.start) if isinstance(piece, Straight) else piece.along)


def _steps(arc: Arc, outside: float, tolerance_mm: float) -> Array:
    """The angles of the rings along a bend after its first."""
    if arc.radius <= outside / 2.0:
        raise ValueError(
            f"a bend of radius {arc.radius:g} mm is within its tube's own radius {outside / 2.0:g} mm"
        )
    step = 2.0 * math.pi / sides(arc.radius + outside / 2.0, tolerance_mm)
    return np.linspace(0.0, arc.angle, math.ceil(arc.angle / step) + 1)[1:]


def _turned(vector: Array, axis: Array, angles: Array) -> Array:
    """The vector turned about a unit axis by each angle (Rodrigues)."""
    cos, sin = np.cos(angles)[:, None], np.sin(angles)[:, None]
    return cos * vector + sin * np.cross(axis, vector) + (1.0 - cos) * (axis @ vector) * axis
