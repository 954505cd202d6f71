"""A placed primitive, taken apart into pieces the kernels can measure."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from layout3d.kernels.pieces import ARC, BAY, SOLID, Pieces, joined
from layout3d.kernels.sheets import Region, height_of, regions
from shapes.bounds import primitive_box
from shapes.pose import Array, Pose, Vec3, as_vec3
from shapes.primitives import Arc, Box, Cylinder, Mesh, Plate, Primitive, Prism, Straight, TubeRun

_NO_BAY = (0.0,) * 10


@dataclass(frozen=True, eq=False)
class Body:
    """A primitive in the scene.

    low, high : (3,) its bounding box, exact but for what a mesh may deviate [mm]
    """

    primitive: Primitive
    solid2scene: Pose
    low: Array
    high: Array

    @property
    def convex(self) -> bool:
        """Whether it is one convex solid."""
        return isinstance(self.primitive, Box | Cylinder | Prism)

    @cached_property
    def pieces(self) -> Pieces:
        """The convex solids, arcs and bays it is the union of; most bodies never meet another near enough."""
        return _pieces(self.primitive, self.solid2scene)

    def moved(self, by: Vec3 | Array) -> Body:
        """The body shifted by a vector (3,) [mm]."""
        by = np.asarray(by, dtype=float)
        return Body(self.primitive, self.solid2scene.shifted(by), self.low + by, self.high + by)


def body(primitive: Primitive, solid2scene: Pose) -> Body:
    """The primitive standing at ``solid2scene``, ready to be measured."""
    low, high = primitive_box(primitive, solid2scene)
    if isinstance(primitive, Mesh):
        low, high = low - primitive.spread, high + primitive.spread
    return Body(primitive, solid2scene, low, high)


def triangle_pieces(corners: Array, bulges: Array | None = None) -> Pieces:
    """Triangles (N, 3, 3) as convex pieces: flat, or the hulls their bulges (N, 6, 3) span [mm]."""
    count = len(corners)
    nothing, zeros = np.zeros((count, 3)), np.zeros(count)
    padded = corners[:, (0, 1, 2, 2)]
    if bulges is not None and bulges.any():
        middles = 0.5 * (corners + np.roll(corners, -1, axis=1))
        padded = np.concatenate([corners, np.tile(middles, (1, 2, 1)) + bulges], axis=1)
    bays = np.zeros((count, len(_NO_BAY)))
    kinds = np.full(count, SOLID)
    return Pieces(padded, nothing, nothing, nothing, nothing, zeros, zeros, zeros, zeros, bays, kinds)


def _pieces(primitive: Primitive, solid2scene: Pose) -> Pieces:
    match primitive:
        case Box(size=(x, y, z)):
            return _prism(solid2scene, _rectangle(-0.5 * x, 0.5 * x, -0.5 * y, 0.5 * y), z)
        case Cylinder(diameter=diameter, length=length):
            axis = (0.0, 0.0, 1.0)
            return _cylinder(solid2scene, (0.0, 0.0, 0.0), axis, 0.5 * length, 0.5 * diameter)
        case Prism(corners=corners, height=height):
            return _prism(solid2scene, corners, height)
        case Plate(thickness=thickness):
            return joined([_sheet(solid2scene, region, thickness) for region in regions(primitive)])
        case TubeRun():
            return _tube(solid2scene, primitive)
        case Mesh():
            # Only the surface: what lies inside is asked of `layout3d.kernels.meshes`.
            bulges = None if primitive.bulges is None else solid2scene.turn(primitive.bulges.astype(float))
            return triangle_pieces(solid2scene.apply(primitive.corners), bulges)


def _rectangle(left: float, right: float, low: float, high: float) -> tuple[tuple[float, float], ...]:
    return ((left, low), (right, low), (right, high), (left, high))


def _one(
    corners: Array,
    rise: Array,
    centre: Array,
    outward: Array,
    along: Array,
    *,
    sweep: float = 0.0,
    radius: float = 0.0,
    angles: tuple[float, float] = (0.0, 0.0),
    bay: tuple[float, ...] = _NO_BAY,
    kind: int = SOLID,
) -> Pieces:
    return Pieces(
        corners[None],
        rise[None],
        centre[None],
        outward[None],
        along[None],
        np.array([sweep]),
        np.array([radius]),
        np.array([angles[0]]),
        np.array([angles[1]]),
        np.array([bay]),
        np.array([kind]),
    )


def _prism(pose: Pose, outline: tuple[tuple[float, float], ...], height: float) -> Pieces:
    turn = pose.rotation
    corners = np.array(outline) @ turn[:, :2].T + pose.origin
    if len(corners) < 4:
        corners = np.concatenate([corners, corners[-1:]])
    nothing = np.zeros(3)
    return _one(corners, 0.5 * height * turn[:, 2], pose.origin, nothing, nothing)


def _cylinder(pose: Pose, at: Vec3, axis: Vec3, half: float, radius: float) -> Pieces:
    centre, along = pose.apply(np.array(at)), pose.turn(np.array(axis))
    return _one(np.tile(centre, (4, 1)), half * along, centre, np.zeros(3), along, radius=radius)


def _sheet(pose: Pose, region: Region, thickness: float) -> Pieces:
    left, right, lower, upper = region.left, region.right, region.lower, region.upper
    if region.straight:
        return _prism(pose, _rectangle(left, right, lower[1], upper[1]), thickness)
    outline = (
        (left, height_of(lower, left)),
        (right, height_of(lower, right)),
        (right, height_of(upper, right)),
        (left, height_of(upper, left)),
    )
    ex, ey, ez = pose.rotation.T
    corners = np.array(outline) @ pose.rotation[:, :2].T + pose.origin
    bay = (left, right, *lower, *upper)
    rise = 0.5 * thickness * ez
    return _one(corners, rise, pose.origin, ex, ey, angles=(0.0, 1.0), bay=bay, kind=BAY)


def _tube(pose: Pose, run: TubeRun) -> Pieces:
    radius = 0.5 * run.outside + run.deviation
    pieces: list[Pieces] = []
    for piece in run.pieces:
        if isinstance(piece, Arc):
            pieces.append(_bend(pose, piece, radius))
        elif piece.length > 0.0:
            pieces.append(_straight(pose, piece, radius))
    first, last = run.pieces[0], run.pieces[-1]
    if isinstance(first, Arc):
        pieces.append(_cylinder(pose, *_at(first, 0.0), 0.0, radius))
    if isinstance(last, Arc):
        pieces.append(_cylinder(pose, *_at(last, last.angle), 0.0, radius))
    return joined(pieces)


def _straight(pose: Pose, piece: Straight, radius: float) -> Pieces:
    (ax, ay, az), (bx, by, bz), length = piece.start, piece.end, piece.length
    middle = (0.5 * (ax + bx), 0.5 * (ay + by), 0.5 * (az + bz))
    axis = ((bx - ax) / length, (by - ay) / length, (bz - az) / length)
    return _cylinder(pose, middle, axis, 0.5 * length, radius)


def _bend(pose: Pose, arc: Arc, radius: float) -> Pieces:
    centre = pose.apply(np.array(arc.centre))
    outward, along = pose.turn(np.array(arc.outward)), pose.turn(np.array(arc.along))
    return _one(
        np.tile(centre, (4, 1)),
        np.zeros(3),
        centre,
        outward,
        along,
        sweep=arc.radius,
        radius=radius,
        angles=(0.0, arc.angle),
        kind=ARC,
    )


def _at(arc: Arc, angle: float) -> tuple[Vec3, Vec3]:
    """The centreline's point and direction of travel at an angle of the arc."""
    return as_vec3(arc.point_at(angle)), as_vec3(arc.direction_at(angle))
