"""Signed distance from points to each primitive, in closed form.

Outside a solid every value is the exact distance to it. Inside it is minus the depth: exact
for boxes, cylinders, prisms and plates, a proven lower bound of the depth for tube runs. A mesh's
value has its deviation taken off on both sides. Each
is 1-Lipschitz: moving a point by d changes its value by at most d. That makes one value a
proof for a whole neighbourhood, which is what the searches are built on.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np

from layout3d.kernels.outline import SAME_MM, outline_distance
from shapes.pose import Array, Pose
from shapes.primitives import (
    Arc,
    Box,
    Cylinder,
    Mesh,
    Opening,
    Plate,
    Point2,
    Primitive,
    Prism,
    RoundOpening,
    Straight,
    TubeRun,
)


def distance_to(points: Array, primitive: Primitive, solid2scene: Pose) -> Array:
    """Signed distance (N,) of scene points (N, 3) to a placed solid [mm], negative inside."""
    local = (np.asarray(points, dtype=float) - solid2scene.origin) @ solid2scene.rotation
    match primitive:
        case Box():
            return box_distance(local, 0.5 * np.asarray(primitive.size))
        case Cylinder():
            return cylinder_distance(local, 0.5 * primitive.diameter, 0.5 * primitive.length)
        case Prism():
            return drawn_out(_polygon(local[:, :2], primitive), local[:, 2], 0.5 * primitive.height)
        case Plate():
            return drawn_out(_sheet(local[:, :2], primitive), local[:, 2], 0.5 * primitive.thickness)
        case TubeRun():
            return _tube_distance(local, primitive)
        case Mesh():
            # Meshes are rare: the others should not load what measures them.
            from layout3d.kernels.meshpoints import mesh_distance

            return mesh_distance(local, primitive)


def box_distance(points: Array, half_size: Array) -> Array:
    """To boxes centred on the origin: points (..., 3), half edges (..., 3)."""
    beyond = np.abs(points) - half_size
    outside = np.maximum(beyond, 0.0)
    gap: Array = np.sqrt(np.einsum("...i,...i->...", outside, outside))
    gap += np.minimum(beyond.max(axis=-1), 0.0)
    return gap


def cylinder_distance(points: Array, radius: float | Array, half_length: float | Array) -> Array:
    """To bars along z, centred on the origin: points (..., 3)."""
    return drawn_out(np.hypot(points[..., 0], points[..., 1]) - radius, points[..., 2], half_length)


def drawn_out(across: Array, along: Array, half_length: float | Array) -> Array:
    """To a flat region drawn out both ways, from the signed distance ``across`` to the region."""
    beyond = np.abs(along) - half_length
    return np.hypot(np.maximum(across, 0.0), np.maximum(beyond, 0.0)) + np.minimum(
        np.maximum(across, beyond), 0.0
    )


def arc_distance(points: Array, bend: float | Array, angle: float | Array, radius: float | Array) -> Array:
    """To round bars bent along arcs, flat at both ends.

    points : (..., 3) in the arc's frame: x outward at its start, y along travel, z the axis
    bend, angle, radius : of the centreline, its sweep [radians], of the bar
    """
    x, y, z = points[..., 0], points[..., 1], points[..., 2]
    from_axis = np.hypot(x, y)
    from_ring = np.hypot(from_axis - bend, z)
    # Outside the sweep the nearer end in angle is the nearer end.
    middle = 0.5 * np.asarray(angle)
    off_middle = (np.arctan2(y, x) - middle + math.pi) % (2.0 * math.pi) - math.pi
    into_sweep = middle - np.abs(off_middle)
    ahead = from_axis * np.sin(np.minimum(into_sweep, 0.5 * math.pi))
    sideways = np.hypot(from_axis * np.cos(into_sweep) - bend, z)
    beyond_end = np.hypot(ahead, np.maximum(sideways - radius, 0.0))
    within = np.maximum(from_ring - radius, -ahead)
    distance: Array = np.where(into_sweep < 0.0, beyond_end, within)
    return distance


def _polygon(points: Array, prism: Prism) -> Array:
    """To a convex polygon with counter-clockwise corners: points (N, 2)."""
    corners = np.asarray(prism.corners)
    edges = np.roll(corners, -1, axis=0) - corners
    lengths = np.hypot(edges[:, 0], edges[:, 1])
    along = edges / lengths[:, None]
    to_corner = points[:, None, :] - corners
    outward: Array = (to_corner[..., 0] * along[:, 1] - to_corner[..., 1] * along[:, 0]).max(axis=1)
    travel = np.clip(np.einsum("nki,ki->nk", to_corner, along), 0.0, lengths)
    rest = to_corner - travel[..., None] * along
    to_edges = np.sqrt(np.einsum("nki,nki->nk", rest, rest).min(axis=1))
    distance: Array = np.where(outward > 0.0, to_edges, outward)
    return distance


def _rectangle(points: Array, half: Point2) -> Array:
    beyond_x, beyond_y = np.abs(points[:, 0]) - half[0], np.abs(points[:, 1]) - half[1]
    return np.hypot(np.maximum(beyond_x, 0.0), np.maximum(beyond_y, 0.0)) + np.minimum(
        np.maximum(beyond_x, beyond_y), 0.0
    )


def _opening(points: Array, opening: Opening) -> Array:
    shifted = points - np.asarray(opening.at)
    if isinstance(opening, RoundOpening):
        to_rim: Array = np.hypot(shifted[:, 0], shifted[:, 1]) - 0.5 * opening.diameter
        return to_rim
    return _rectangle(shifted, (0.5 * opening.size[0], 0.5 * opening.size[1]))


def _sheet(points: Array, plate: Plate) -> Array:
    """To a sheet's outline less its openings: points (N, 2). Screw holes count as filled."""
    distance = _rectangle(points, (0.5 * plate.size[0], 0.5 * plate.size[1]))
    if plate.openings:
        for opening in plate.openings:
            distance = np.maximum(distance, -_opening(points, opening))
        out = distance > -SAME_MM  # a film left by openings flush with the edge is no metal
        distance[out] = outline_distance(points[out], plate)
    return distance


@lru_cache(maxsize=256)
def tube_frames(tube: TubeRun) -> tuple[tuple[Straight | Arc, Pose], ...]:
    """The run's pieces of some length, each with the pose of its own frame in the run's.

    A straight's frame is centred with z along travel, an arc's is that of ``arc_distance``.
    """
    frames: list[tuple[Straight | Arc, Pose]] = []
    for piece in tube.pieces:
        if piece.length <= 0.0:
            continue
        if isinstance(piece, Arc):
            x, y = np.asarray(piece.outward), np.asarray(piece.along)
            frames.append((piece, Pose(np.column_stack((x, y, np.cross(x, y))), np.asarray(piece.centre))))
        else:
            start, end = np.asarray(piece.start), np.asarray(piece.end)
            frames.append((piece, Pose.facing(0.5 * (start + end), end - start)))
    return tuple(frames)


def _tube_distance(points: Array, tube: TubeRun) -> Array:
    radius = 0.5 * tube.outside + tube.deviation
    nearest = np.full(len(points), np.inf)
    centreline = np.full(len(points), np.inf)
    for piece, piece2run in tube_frames(tube):
        local = (points - piece2run.origin) @ piece2run.rotation
        if isinstance(piece, Arc):
            bend, angle = piece.radius, piece.angle
            solid = arc_distance(local, bend, angle, radius)
            line = arc_distance(local, bend, angle, 0.0)
        else:
            solid = cylinder_distance(local, radius, 0.5 * piece.length)
            line = cylinder_distance(local, 0.0, 0.5 * piece.length)
        nearest, centreline = np.minimum(nearest, solid), np.minimum(centreline, line)
    # Where pieces meet, each alone would call the joint its surface. Within `radius` of the
    # centreline all is tube but the half ball beyond each flat end.
    depth = centreline - radius
    for tip, inward in tube_tips(tube):
        from_tip = points - tip
        half_ball = np.maximum(from_tip @ inward, np.sqrt(np.einsum("ni,ni->n", from_tip, from_tip)) - radius)
        depth = np.maximum(depth, -half_ball)
    return np.where(nearest > 0.0, nearest, np.minimum(nearest, depth))


def tube_tips(tube: TubeRun) -> tuple[tuple[Array, Array], tuple[Array, Array]]:
    """Both ends of the centreline, each with the unit direction into the tube."""
    (first, first2run), *_ = frames = tube_frames(tube)
    last, last2run = frames[-1]
    return _tip(first, first2run, at_start=True), _tip(last, last2run, at_start=False)


def _tip(piece: Straight | Arc, piece2run: Pose, *, at_start: bool) -> tuple[Array, Array]:
    sign = 1.0 if at_start else -1.0
    if isinstance(piece, Straight):
        return np.asarray(piece.start if at_start else piece.end), sign * piece2run.z_axis
    angle = 0.0 if at_start else piece.angle
    outward = np.array([math.cos(angle), math.sin(angle), 0.0])
    along = np.array([-outward[1], outward[0], 0.0])
    return piece2run.apply(piece.radius * outward), sign * piece2run.turn(along)
