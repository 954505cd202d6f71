"""Pairs of solids whose gap, depth or containment is known because they were set up for it.

Support points: with n a direction, a point of a furthest along n and a point of b furthest
against it, b is placed so that the second lies g along n from the first. The two planes through
the points part the solids, so their distance is g exactly, whatever their forms.

Depth: where the point of a lies d from its face (or round side) and the ball of radius d about a
place d below the face is still in a, b's point put at that place cannot leave a by less than d,
and a move of d along the face's normal frees it: the least translation is d exactly.

No form of the kernels is used: reaches are those of corners, discs and sampled bends.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from scipy.spatial import ConvexHull
from scipy.spatial.transform import Rotation

from shapes.pose import Array, Pose, compose
from shapes.primitives import (
    Arc,
    Box,
    Cylinder,
    Mesh,
    Plate,
    Primitive,
    Prism,
    RectOpening,
    RoundOpening,
    Straight,
    TubeRun,
)

KINDS = ("box", "cylinder", "plate", "prism", "tube", "mesh")
#: Kinds that have a face (or round side) with a known depth below it.
DEEP = ("box", "cylinder", "prism", "plate", "mesh")
CONVEX = frozenset(("box", "cylinder", "prism"))


@dataclass(frozen=True, slots=True, eq=False)
class Known:
    """Two placed solids and their true signed distance [mm]; ``inside``: any overlap is right."""

    kinds: tuple[str, str]
    first: tuple[Primitive, Pose]
    second: tuple[Primitive, Pose]
    truth_mm: float
    inside: bool = False

    @property
    def convex(self) -> bool:
        """Whether both are, so that the depth must be the least translation."""
        return CONVEX.issuperset(self.kinds)


def draw_apart(count: int, seed: int, structured: bool) -> Iterator[Known]:
    """Pairs of all kinds in turn, apart or in contact: near-touching and square, or anyhow."""
    rng = np.random.default_rng(seed)
    for index in range(count):
        kinds = KINDS[index % 6], KINDS[index // 6 % 6]
        first, second = (_solid(kind, rng) for kind in kinds)
        poses = [_pose(rng, structured) for _ in kinds]
        normal = _normal(rng, structured)
        gap = (
            float(rng.choice([0.0, *(10.0 ** rng.uniform(-5, -1, 3))])) if structured else rng.uniform(0, 40)
        )
        ahead = support(first, poses[0], normal)
        behind = support(second, poses[1], -normal)
        there = poses[1].shifted(ahead + gap * normal - behind)
        yield Known(kinds, (first, poses[0]), (second, there), float(gap))


def draw_deep(count: int, seed: int, structured: bool) -> Iterator[Known]:
    """Pairs that overlap by a known least translation: 1e-5 to 1e-1 mm, or up to a third of the solid."""
    rng = np.random.default_rng(seed)
    for index in range(count):
        kinds = DEEP[index % 5], KINDS[index // 5 % 6]
        first, second = _face_solid(kinds[0], rng), _solid(kinds[1], rng)
        poses = [_pose(rng, structured) for _ in kinds]
        point, normal, room = _face(first, rng)
        depth = float(10.0 ** rng.uniform(-5, -1)) if structured else rng.uniform(0.05, 1.0) * room
        ahead, way = poses[0].apply(point), poses[0].turn(normal)
        behind = support(second, poses[1], -way)
        there = poses[1].shifted(ahead - depth * way - behind)
        yield Known(kinds, (first, poses[0]), (second, there), -depth)


def draw_inside(count: int, seed: int) -> Iterator[Known]:
    """Small solids wholly inside big ones, no surface near another."""
    rng = np.random.default_rng(seed)
    for index in range(count):
        kinds = DEEP[index % 5], KINDS[index // 5 % 6]
        first, second = _face_solid(kinds[0], rng, 400.0), _solid(kinds[1], rng, 0.2)
        pose, turned = _pose(rng, False), _pose(rng, False)
        low, high = (np.array([support(second, turned, s * axis) for axis in np.eye(3)]) for s in (-1, 1))
        middle = 0.5 * (np.diag(low) + np.diag(high))
        point, normal, room = _face(first, rng)
        centre = pose.apply(point - min(room, 60.0) * normal)
        yield Known(kinds, (first, pose), (second, turned.shifted(centre - middle)), -1.0, inside=True)


def draw_in_openings(count: int, seed: int) -> Iterator[Known]:
    """A bar through a round opening, out of its middle: the gap is what the radii leave."""
    rng = np.random.default_rng(seed)
    for index in range(count):
        opening, bar = rng.uniform(20, 60), rng.uniform(4, 19)
        slack = 0.5 * (opening - bar)
        gap = float(min(10.0 ** rng.uniform(-5, 0), slack)) * (1 if index % 3 else 0)
        at = rng.uniform(-30, 30, 2)
        off = (slack - gap) * _turn2(rng)
        plate = Plate((200.0, 160.0), rng.uniform(1, 8), (RoundOpening(tuple(at.tolist()), opening),))
        pose = _pose(rng, bool(index % 2))
        local = Pose.at((*(at + off).tolist(), 0.0))
        length = rng.uniform(40, 90)
        through: Primitive
        if index % 2:
            through = Cylinder(bar, length)
        else:
            through = TubeRun((Straight((0, 0, -length / 2), (0, 0, length / 2)),), bar, bar - 2)
        second = through, compose(local, pose)
        yield Known(("plate", "cylinder" if index % 2 else "tube"), (plate, pose), second, gap)


def support(primitive: Primitive, pose: Pose, direction: Array) -> Array:
    """A point (3,) of the placed solid that is furthest along the direction."""
    n = pose.rotation.T @ direction
    match primitive:
        case Box():
            local = 0.5 * np.asarray(primitive.size) * np.where(n < 0, -1.0, 1.0)
        case Plate():
            half = 0.5 * np.array([*primitive.size, primitive.thickness])
            local = half * np.where(n < 0, -1.0, 1.0)
        case Cylinder():
            local = _disc(np.zeros(3), np.array((0.0, 0.0, 1.0)), 0.5 * primitive.diameter, n)
            local = local + np.array((0, 0, 0.5 * primitive.length * (1.0 if n[2] >= 0 else -1.0)))
        case Prism():
            corners = np.asarray(primitive.corners)
            height = 0.5 * primitive.height * (1.0 if n[2] >= 0 else -1.0)
            local = np.array([*corners[(corners @ n[:2]).argmax()], height])
        case Mesh():
            local = primitive.vertices[(primitive.vertices @ n).argmax()]
        case TubeRun():
            local = _run_support(primitive, n)
    return pose.apply(np.asarray(local, dtype=float))


def _run_support(run: TubeRun, n: Array) -> Array:
    radius, points = 0.5 * run.outside, []
    for piece in run.pieces:
        if isinstance(piece, Straight):
            axis = np.subtract(piece.end, piece.start) / piece.length
            points += [_disc(np.asarray(end), axis, radius, n) for end in (piece.start, piece.end)]
            continue
        low, high = 0.0, piece.angle
        for _ in range(6):  # the reach has one hill in a bend of at most a half turn, or rises to both ends
            angles = np.linspace(low, high, 41)
            discs = [_disc(piece.point_at(a), piece.direction_at(a), radius, n) for a in angles.tolist()]
            best = int(np.argmax([disc @ n for disc in discs]))
            points.append(discs[best])
            low, high = angles[max(best - 1, 0)], angles[min(best + 1, 40)]
    return np.asarray(max(points, key=lambda point: float(point @ n)))


def _disc(middle: Array, axis: Array, radius: float, n: Array) -> Array:
    across = n - (n @ axis) * axis
    length = float(np.linalg.norm(across))
    return np.asarray(middle if length < 1e-12 else middle + radius / length * across)


def _turn2(rng: np.random.Generator) -> Array:
    angle = rng.uniform(0, 2 * np.pi)
    return np.array((np.cos(angle), np.sin(angle)))


def _pose(rng: np.random.Generator, structured: bool) -> Pose:
    at = tuple(rng.integers(-200, 200, 3).astype(float).tolist())
    if structured and rng.random() < 0.7:
        return Pose.at(at, tuple((90.0 * rng.integers(0, 4, 3)).tolist()))
    return Pose(Rotation.random(random_state=int(rng.integers(2**31))).as_matrix(), np.array(at))


def _normal(rng: np.random.Generator, structured: bool) -> Array:
    if structured and rng.random() < 0.7:
        return np.asarray(np.eye(3)[rng.integers(3)] * rng.choice([-1.0, 1.0]))
    way = rng.normal(size=3)
    return np.asarray(way / np.linalg.norm(way))


def _solid(kind: str, rng: np.random.Generator, scale: float = 1.0) -> Primitive:
    if kind == "tube":
        return _tube(rng, scale)
    if kind == "mesh" and rng.random() < 0.5:
        return _hull_mesh(scale * rng.uniform(-25, 25, (int(rng.integers(6, 16)), 3)))
    return _face_solid(kind, rng, 40.0 * scale)


def _face_solid(kind: str, rng: np.random.Generator, size: float = 60.0) -> Primitive:
    x, y, z = (size * rng.uniform(0.5, 1.5, 3)).tolist()
    match kind:
        case "box":
            return Box((x, y, z))
        case "cylinder":
            return Cylinder(x, y)
        case "prism":
            return Prism(((-x, -y), (x, -y), (rng.uniform(-x, x), y)), z)
        case "plate":
            hole = RoundOpening((-x / 4, 0.0), 0.3 * min(x, y))
            square = RectOpening((x / 4, 0.0), (0.2 * x, 0.5 * y))
            return Plate((x, y), 0.3 * z, (hole, square))
        case _:
            corners = np.array(np.meshgrid(*([-1.0, 1.0],) * 3)).reshape(3, -1).T
            return _hull_mesh(corners * 0.5 * np.array((x, y, z)))


def _hull_mesh(points: Array) -> Mesh:
    made = ConvexHull(points)
    faces = made.simplices.copy()
    corners = points[faces]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    flipped = np.einsum("ij,ij->i", normal, made.equations[:, :3]) < 0
    faces[flipped] = faces[flipped][:, ::-1]
    return Mesh(points, faces)


def _tube(rng: np.random.Generator, scale: float) -> TubeRun:
    """Straight, bend, straight, and half the time a second bend out of the first's plane."""
    outside = 16.0 * scale
    bend = scale * rng.uniform(16, 40)
    at, ahead, side = np.zeros(3), np.array((1.0, 0, 0)), np.array((0, 1.0, 0))
    pieces: list[Straight | Arc] = []
    for turn in range(1 + int(rng.integers(2))):
        length = scale * rng.uniform(5, 60)
        pieces.append(Straight(tuple(at.tolist()), tuple((at + length * ahead).tolist())))
        at = at + length * ahead
        angle = float(np.pi / 2 if rng.random() < 0.5 else rng.uniform(0.2, np.pi / 2))
        if turn:
            side = np.cross(ahead, side)
        arc = Arc(*(tuple(v.tolist()) for v in (at + bend * side, -side, ahead)), bend, angle)
        pieces.append(arc)
        at, new = arc.point_at(angle), arc.direction_at(angle)
        side = np.cos(angle) * side - np.sin(angle) * ahead
        ahead = new
    length = scale * rng.uniform(5, 60)
    if rng.random() < 0.7:
        pieces.append(Straight(tuple(at.tolist()), tuple((at + length * ahead).tolist())))
    return TubeRun(tuple(pieces), outside, 0.75 * outside)


def _face(primitive: Primitive, rng: np.random.Generator) -> tuple[Array, Array, float]:
    """A place on a face, its normal, and how large a ball may touch the face there from inside."""
    match primitive:
        case Cylinder():
            radius, half = 0.5 * primitive.diameter, 0.5 * primitive.length
            if rng.random() < 0.5:
                off = rng.uniform(0, 0.4) * radius * _turn2(rng)
                return np.array([*off, half]), np.array((0, 0, 1.0)), min(half, 0.3 * radius)
            out = np.array([*_turn2(rng), 0.0])
            at = rng.uniform(-0.4, 0.4) * half
            return radius * out + (0, 0, at), out, min(0.9 * radius, 0.5 * half)
        case Prism():
            corners = np.asarray(primitive.corners)
            sides = [np.linalg.norm(corners[i] - corners[i - 1]) for i in range(3)]
            ball = abs(np.linalg.det(corners[1:] - corners[0])) / sum(sides)
            middle = np.array([sides[(i + 2) % 3] for i in range(3)]) @ corners / sum(sides)
            return np.array([*middle, 0.5 * primitive.height]), np.array((0, 0, 1.0)), _less(ball, primitive)
        case Plate():
            x, y = primitive.size
            # Between the openings: the round one ends at -x/4 + 0.15 x at most, the square at 0.15 x.
            return (
                np.array((0.025 * x, 0, 0.5 * primitive.thickness)),
                np.array((0, 0, 1.0)),
                min(0.1 * x, 0.5 * primitive.thickness, 0.4 * y),
            )
        case Box():
            half = 0.5 * np.asarray(primitive.size)
        case _:
            half = np.asarray(primitive.vertices).max(axis=0)  # type: ignore[union-attr]
    axis = int(rng.integers(3))
    normal = np.eye(3)[axis] * rng.choice([-1.0, 1.0])
    point = rng.uniform(-0.3, 0.3, 3) * half
    point[axis] = normal[axis] * half[axis]
    rest = np.delete(half, axis).min()
    return point, normal, float(min(half[axis], 0.6 * rest))


def _less(ball: float, prism: Prism) -> float:
    return float(min(0.9 * ball, 0.5 * prism.height))
