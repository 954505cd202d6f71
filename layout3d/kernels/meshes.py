"""Signed distance of a mesh to any other body: triangle by triangle, and by what lies inside.

The mathematics is in docs/clearance.md.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from layout3d.kernels.bodies import Body, body, triangle_pieces
from layout3d.kernels.families import core
from layout3d.kernels.front import Outcome
from layout3d.kernels.meshpairs import CONTACT_MM, near_mesh, near_solid
from layout3d.kernels.meshpoints import inside
from layout3d.kernels.pieces import SOLID, Ints, Pieces, joined
from layout3d.kernels.points import distance_to
from layout3d.kernels.search import search
from shapes.pose import IDENTITY, Array, Pose, compose, unit
from shapes.primitives import Mesh

_BATCH = 400
_TRIES = 8
_STEP_MM = 1e-4
_NONE = np.empty(0, dtype=np.intp)


@dataclass(frozen=True, slots=True, eq=False)
class Found:
    """What is known of a mesh and another body, in the mesh's frame.

    lower : proven least distance, deviations taken off; below zero for an overlap [mm]
    gap : distance of the nearest points found, deviations taken off [mm]
    overlaps : the two surely share room
    direction : the way to move the other away
    on_mesh, on_other : the nearest points found, (3,); None where there are none
    """

    lower: float
    gap: float
    overlaps: bool
    direction: Array
    on_mesh: Array | None = None
    on_other: Array | None = None


def mesh_pair(a: Body, b: Body, enough: float) -> Found:
    """The signed distance of two bodies of which at least one is a mesh, in the scene.

    enough : a proven distance of this much settles the pair [mm]
    """
    if not isinstance(a.primitive, Mesh):
        turned = mesh_pair(b, a, enough)
        return replace(turned, direction=-turned.direction, on_mesh=turned.on_other, on_other=turned.on_mesh)
    mesh, mesh2scene = a.primitive, a.solid2scene
    there = body(b.primitive, compose(b.solid2scene, mesh2scene.inverse))
    found = _distance(mesh, there, enough)
    if found.overlaps:
        found = _depth(mesh, there, found)
    return Found(
        found.lower,
        found.gap,
        found.overlaps,
        mesh2scene.turn(found.direction),
        None if found.on_mesh is None else mesh2scene.apply(found.on_mesh),
        None if found.on_other is None else mesh2scene.apply(found.on_other),
    )


def _distance(mesh: Mesh, other: Body, enough: float) -> Found:
    """Surfaces first; where they do not cross, whether one is inside the other."""
    found, contacts = _surfaces(mesh, other, enough)
    if found.overlaps:
        return found
    if isinstance(other.primitive, Mesh):
        return _mesh_inside(mesh, other.primitive, other.solid2scene, found, contacts)
    pieces = other.pieces
    thick = (pieces.kind != SOLID) | (pieces.radius == 0.0) | (np.abs(pieces.rise).max(axis=1) > 0.0)
    middles = core(pieces.take(thick)).corners.mean(axis=1)
    within = inside(middles, mesh)
    return _engulfed(found, middles[within.argmax()]) if within.any() else found


def _engulfed(found: Found, point: Array) -> Found:
    return replace(found, overlaps=True, lower=-CONTACT_MM, gap=-CONTACT_MM, on_mesh=point, on_other=point)


def _surfaces(mesh: Mesh, other: Body, enough: float) -> tuple[Found, Ints]:
    """Triangles against the other's solid pieces, or its triangles; which of the mesh's touch."""
    primitive, pose = other.primitive, other.solid2scene
    spread = mesh.deviation
    if isinstance(primitive, Mesh):
        near = near_mesh(mesh, primitive, pose, enough)
        spread += primitive.deviation
    else:
        near = near_solid(mesh, primitive, pose, enough)
    if near.within is not None:
        point = near.within
        return Found(-CONTACT_MM, -CONTACT_MM, True, _way_out(mesh, other, point), point, point), _NONE
    found = Found(near.limit, np.inf, False, _apart(mesh, other))
    touching: list[Ints] = []
    for start in range(0, len(near.first), _BATCH):
        # Contact found settles nothing: surfaces that touch here may cross there.
        limit = max(min(enough, found.gap), CONTACT_MM)
        first, second = (side[start : start + _BATCH] for side in (near.first, near.second))
        if near.lower[start] >= limit:
            found = replace(found, lower=min(found.lower, limit))
            break
        pieces = _placed(primitive, pose, second) if isinstance(primitive, Mesh) else other.pieces
        outcome = _searched(
            _placed(mesh, IDENTITY, first), pieces, limit + spread, isinstance(primitive, Mesh)
        )
        found = _better(found, outcome, spread)
        touching.append(first[outcome.lower - spread < CONTACT_MM])
        if found.overlaps:
            break
    return found, np.concatenate(touching) if touching else _NONE


def _placed(mesh: Mesh, pose: Pose, rows: Ints) -> Pieces:
    bulges = None if mesh.bulges is None else pose.turn(mesh.bulges[rows].astype(float))
    return triangle_pieces(pose.apply(mesh.corners[rows]), bulges)


def _searched(first: Pieces, second: Pieces, enough: float, paired: bool) -> Outcome:
    """Each triangle against one other (``paired``) or against all pieces of one body."""
    count = len(first)
    outcome = Outcome.start(np.full(count, -np.inf), np.tile((0.0, 0.0, 1.0), (count, 1)))
    every = np.arange(count)
    counts = (
        np.ones(2 * count, dtype=np.intp) if paired else np.append(np.ones(count, dtype=np.intp), len(second))
    )
    partner = every + count if paired else np.full(count, count)
    closed = np.full(count, 1e-7)
    search(joined([first, second]), counts, every, partner, every, np.full(count, enough), outcome, closed)
    return outcome


def _better(found: Found, outcome: Outcome, spread: float) -> Found:
    """``found`` with what one batch told: the deepest row of an overlap, else the nearest."""
    if outcome.overlaps.any():
        rows = np.flatnonzero(outcome.overlaps)
        gap = np.where(np.isfinite(outcome.gap[rows]), outcome.gap[rows], 0.0)
        row = int(rows[gap.argmin()])
        direction, a, b = outcome.direction[row], outcome.point_a[row], outcome.point_b[row]
        middle = 0.5 * (a + b)
        return Found(-CONTACT_MM, -CONTACT_MM, True, direction, middle, middle)
    lower, gap = outcome.lower - spread, outcome.gap - spread
    least = min(found.lower, float(lower.min()))
    row = int(gap.argmin())
    if gap[row] < found.gap:
        on_mesh, on_other = outcome.point_a[row], outcome.point_b[row]
        return Found(least, float(gap[row]), False, outcome.direction[row], on_mesh, on_other)
    if not np.isfinite(found.gap) and lower.min() < found.lower:
        return replace(found, lower=least, direction=outcome.direction[int(lower.argmin())])
    return replace(found, lower=least)


def _mesh_inside(mesh: Mesh, other: Mesh, other2mesh: Pose, found: Found, contacts: Ints) -> Found:
    """Surfaces that keep apart: one vertex of each shell tells. Surfaces that touch: a plane between
    the two, or a move no longer than contact that frees them, proves contact; else it counts as overlap.
    """
    if found.gap > CONTACT_MM or found.lower > CONTACT_MM:
        point = _vertex_within(mesh, other, other2mesh)
        return found if point is None else _engulfed(found, point)
    normals = _normals(mesh.corners[np.unique(contacts)[:2000]])
    first, second = mesh.vertices, other2mesh.apply(other.vertices)
    if _parted(first, second, np.concatenate([normals, found.direction[None], np.eye(3), -np.eye(3)])):
        return found
    out = normals.sum(axis=0) + 1e-9 * found.direction
    tried = [out / np.linalg.norm(out), found.direction, *normals[:8]]
    if any(_freed(mesh, other, other2mesh.shifted(CONTACT_MM * way)) for way in tried):
        return found
    return replace(found, lower=min(found.lower, -2.0 * CONTACT_MM), overlaps=True)


def _vertex_within(mesh: Mesh, other: Mesh, other2mesh: Pose) -> Array | None:
    """A vertex (3,) of a shell of one that lies inside the other; None: no shell's does."""
    for one, into, one2into, one2mesh in (
        (other, mesh, other2mesh, other2mesh),
        (mesh, other, other2mesh.inverse, IDENTITY),
    ):
        points = one.vertices[shell_vertices(one)]
        within = inside(one2into.apply(points), into)
        if within.any():
            return one2mesh.apply(points[within.argmax()])
    return None


def _freed(mesh: Mesh, other: Mesh, other2mesh: Pose) -> bool:
    """Whether the two surely share no room."""
    found, _ = _surfaces(mesh, body(other, other2mesh), CONTACT_MM)
    return not found.overlaps and found.lower > 0.0 and _vertex_within(mesh, other, other2mesh) is None


def _normals(corners: Array) -> Array:
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    length = np.linalg.norm(normal, axis=1)
    return np.unique(np.round(normal[length > 0.0] / length[length > 0.0, None], 12), axis=0)


def _parted(first: Array, second: Array, directions: Array) -> bool:
    """Whether a plane square to one of these (k, 3) keeps the vertices of the two apart."""
    return any(
        float((second @ direction).min() - (first @ direction).max()) >= -CONTACT_MM
        for direction in directions / np.linalg.norm(directions, axis=1)[:, None]
    )


@lru_cache(maxsize=64)
def shell_vertices(mesh: Mesh) -> Ints:
    """One vertex of each connected shell of a mesh."""
    label = np.arange(len(mesh.vertices))
    while True:
        before = label.copy()
        least = label[mesh.triangles].min(axis=1)
        for corner in range(3):
            np.minimum.at(label, mesh.triangles[:, corner], least)
        label = label[label]
        if (label == before).all():
            return np.unique(label[mesh.triangles])


def _apart(mesh: Mesh, other: Body) -> Array:
    between = 0.5 * (other.low + other.high) - 0.5 * (mesh.vertices.min(axis=0) + mesh.vertices.max(axis=0))
    return unit(between) if float(np.abs(between).max()) > 1e-9 else np.array((0.0, 0.0, 1.0))


def _depth(mesh: Mesh, other: Body, found: Found) -> Found:
    """The shortest move found that surely frees the two.

    Off the hulls along some directions, taken back by the gap that leaves while one is left; and
    short moves along the direction of the overlap, kept where they were measured to free it.
    """
    directions = np.concatenate([found.direction[None], _apart(mesh, other)[None], np.eye(3), -np.eye(3)])
    directions = np.concatenate([directions, -found.direction[None]])
    lengths = _off_hulls(mesh, other, directions)
    best, way = np.inf, found.direction
    for n in np.argsort(lengths)[:3].tolist():
        length = _taken_back(mesh, other, directions[n], float(lengths[n]))
        if length < best:
            best, way = length, directions[n]
    for direction in (found.direction, -found.direction):
        step = 0.05
        while step < best:
            clear = _distance(mesh, other.moved(step * direction), CONTACT_MM)
            if not clear.overlaps and clear.lower >= -CONTACT_MM:
                best, way = step, direction
                break
            step *= 2.0
    best = max(best, 2.0 * CONTACT_MM)
    middle = found.on_mesh if found.on_mesh is not None else 0.5 * (other.low + other.high)
    return Found(-best, -best, True, way, middle + 0.5 * best * way, middle - 0.5 * best * way)


def _off_hulls(mesh: Mesh, other: Body, directions: Array) -> Array:
    """How far the other must go along each direction (k, 3) until a plane is between the two (k,) [mm]."""
    ahead = (mesh.vertices @ directions.T).max(axis=0) + mesh.spread
    if isinstance(other.primitive, Mesh):
        behind = (other.solid2scene.apply(other.primitive.vertices) @ directions.T).min(axis=0)
        behind -= other.primitive.spread
    else:
        pieces = other.pieces
        towards = np.broadcast_to(-directions, (len(pieces), *directions.shape))
        behind = -pieces.height(towards).max(axis=0)
    return np.asarray(ahead - behind)


def _taken_back(mesh: Mesh, other: Body, direction: Array, length: float) -> float:
    """A move that frees the two, shortened by the gap it leaves: they cannot meet within it."""
    for _ in range(_TRIES):
        left = _least_gap(mesh, other.moved(length * direction))
        if left <= max(0.01 * length, CONTACT_MM):
            break
        length -= left
    return length


def _least_gap(mesh: Mesh, other: Body) -> float:
    """A proven gap of surfaces, rough to the size of a triangle; negative where none is proved [mm]."""
    primitive, pose = other.primitive, other.solid2scene
    if isinstance(primitive, Mesh):
        near = near_mesh(mesh, primitive, pose, np.inf)
    else:
        near = near_solid(mesh, primitive, pose, np.inf)
    return min(float(near.lower.min(initial=np.inf)), near.limit)


def _way_out(mesh: Mesh, other: Body, point: Array) -> Array:
    """The way to move the other so that a point that is in both comes out of it soonest, (3,)."""
    steps = point + _STEP_MM * np.concatenate([np.eye(3), -np.eye(3)])
    ahead, behind = np.split(distance_to(steps, other.primitive, other.solid2scene), 2)
    slope = behind - ahead
    return unit(slope) if float(np.abs(slope).max()) > 0.1 * _STEP_MM else _apart(mesh, other)
