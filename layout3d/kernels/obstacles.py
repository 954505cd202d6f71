"""Point distances to many placed solids at once, all of one kind in one array operation."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import numpy.typing as npt

from layout3d.kernels.points import arc_distance, box_distance, cylinder_distance, distance_to, tube_frames
from shapes.bounds import primitive_span
from shapes.pose import IDENTITY, Array, Pose, compose
from shapes.primitives import Arc, Box, Cylinder, Mesh, Plate, Primitive, Straight, TubeRun

Indices = npt.NDArray[np.intp]


class Obstacles:
    """Placed solids, held as arrays by kind.

    solids : (primitive, solid2scene) each; an index below means a place in this sequence
    convex : (M,) whether each is
    lower, upper : (M, 3) corners of each solid's box along the scene's axes [mm]

    Outside, a value is the exact distance to the solid. Inside it is minus a proven depth; a
    tube run's is the deepest of its single pieces'.
    """

    def __init__(self, solids: Sequence[tuple[Primitive, Pose]]) -> None:
        self.solids = tuple(solids)
        spans = [[primitive_span(*solid, axis) for axis in np.eye(3)] for solid in self.solids]
        boxes = np.asarray(spans).reshape(-1, 3, 2)
        spread = np.array([_deviation(primitive) for primitive, _ in self.solids]).reshape(-1, 1)
        self.lower, self.upper = boxes[:, :, 0] - spread, boxes[:, :, 1] + spread
        self.convex = np.array([_is_convex(primitive) for primitive, _ in self.solids], dtype=bool)
        self._kinds = _by_kind(self.solids)

    def __len__(self) -> int:
        return len(self.solids)

    def pairs(self, points: Array, solid: Indices) -> Array:
        """Signed distance (Q,) of each point (Q, 3) to the one solid (Q,) it is paired with [mm]."""
        distance = np.full(len(points), np.inf)
        for kind in self._kinds:
            at, row = kind.rows(solid)
            if len(at):
                np.minimum.at(distance, at, kind.distance(points[at], row))
        return distance

    def nearest(self, points: Array) -> tuple[Array, Indices]:
        """Signed distance (N,) to the nearest solid and which it is (N,); inf and -1 for none."""
        if not self.solids or not len(points):
            return np.full(len(points), np.inf), np.full(len(points), -1)
        beyond = np.maximum(self.lower - points[:, None], points[:, None] - self.upper)
        least = np.linalg.norm(np.maximum(beyond, 0.0), axis=2)
        first = least.argmin(axis=1)
        known = self.pairs(points, first)
        rows, columns = np.nonzero(least <= known[:, None])
        values = np.full(least.shape, np.inf)
        values[np.arange(len(points)), first] = known
        values[rows, columns] = self.pairs(points[rows], columns)
        which = values.argmin(axis=1)
        return values[np.arange(len(points)), which], which


class _Kind:
    """Solids of one kind: which they are, their frames, their sizes."""

    def __init__(
        self,
        entries: list[tuple[int, Pose, tuple[float, ...]]],
        distance: Callable[[Array, Array], Array],
        count: int,
    ) -> None:
        self._solid = np.array([solid for solid, _, _ in entries], dtype=np.intp)
        self._rotation = np.array([pose.rotation for _, pose, _ in entries])
        self._origin = np.array([pose.origin for _, pose, _ in entries])
        self._size = np.array([size for _, _, size in entries])
        every = np.arange(count)
        self._first = np.searchsorted(self._solid, every)
        self._many = np.searchsorted(self._solid, every, side="right") - self._first
        self._most = int(self._many.max(initial=0))
        self._distance = distance
        self._square = bool((self._rotation == np.eye(3)).all())

    def rows(self, solid: Indices) -> tuple[Indices, Indices]:
        """Places in ``solid`` that are of this kind, each with its row here; several rows for a run."""
        many = self._many[solid]
        at = np.flatnonzero(many)
        row = self._first[solid[at]]
        if self._most <= 1:
            return at, row
        many = many[at]
        step = np.arange(int(many.sum())) - np.repeat(np.cumsum(many) - many, many)
        return np.repeat(at, many), np.repeat(row, many) + step

    def distance(self, points: Array, row: Indices) -> Array:
        """Signed distance (Q,) of points (Q, 3) to the entries of these rows."""
        local = points - self._origin[row]
        if not self._square:
            local = np.einsum("qi,qij->qj", local, self._rotation[row])
        return self._distance(local, self._size[row])


class _Single:
    """One solid of a kind that is not worth an array of its own."""

    def __init__(self, solid: int, primitive: Primitive, pose: Pose) -> None:
        self._solid, self._primitive, self._pose = solid, primitive, pose

    def rows(self, solid: Indices) -> tuple[Indices, Indices]:
        at = np.flatnonzero(solid == self._solid)
        return at, at

    def distance(self, points: Array, _row: Indices) -> Array:
        return distance_to(points, self._primitive, self._pose)


def _by_kind(solids: Sequence[tuple[Primitive, Pose]]) -> list[_Kind | _Single]:
    square: list[tuple[int, Pose, tuple[float, ...]]] = []
    turned: list[tuple[int, Pose, tuple[float, ...]]] = []
    bars: list[tuple[int, Pose, tuple[float, ...]]] = []
    bends: list[tuple[int, Pose, tuple[float, ...]]] = []
    single: list[_Kind | _Single] = []
    for index, (primitive, pose) in enumerate(solids):
        match primitive:
            case Box() | Plate(openings=()):
                half = _half_size(primitive)
                axes = np.abs(pose.rotation)
                if ((axes == 0.0) | (axes == 1.0)).all():
                    size = tuple((axes @ half).tolist())
                    square.append((index, Pose(IDENTITY.rotation, pose.origin), size))
                else:
                    turned.append((index, pose, tuple(half.tolist())))
            case Cylinder():
                bars.append((index, pose, (0.5 * primitive.diameter, 0.5 * primitive.length)))
            case TubeRun():
                radius = 0.5 * primitive.outside + primitive.deviation
                for piece, piece2run in tube_frames(primitive):
                    piece2scene = compose(piece2run, pose)
                    if isinstance(piece, Arc):
                        bends.append((index, piece2scene, (piece.radius, piece.angle, radius)))
                    else:
                        bars.append((index, piece2scene, (radius, 0.5 * piece.length)))
            case _:
                single.append(_Single(index, primitive, pose))
    kinds: list[_Kind | _Single] = []
    for entries, distance in ((square, box_distance), (turned, box_distance), (bars, _bars), (bends, _bends)):
        if entries:
            kinds.append(_Kind(entries, distance, len(solids)))
    return kinds + single


def _deviation(primitive: Primitive) -> float:
    """How far a solid may reach out of its box [mm]."""
    return primitive.spread if isinstance(primitive, Mesh) else 0.0


def _is_convex(primitive: Primitive) -> bool:
    if isinstance(primitive, TubeRun):
        return len(primitive.pieces) == 1 and isinstance(primitive.pieces[0], Straight)
    return not isinstance(primitive, Mesh) and not (isinstance(primitive, Plate) and primitive.openings)


def _half_size(primitive: Box | Plate) -> Array:
    if isinstance(primitive, Box):
        return 0.5 * np.asarray(primitive.size)
    return 0.5 * np.array([*primitive.size, primitive.thickness])


def _bars(points: Array, size: Array) -> Array:
    return cylinder_distance(points, size[:, 0], size[:, 1])


def _bends(points: Array, size: Array) -> Array:
    return arc_distance(points, size[:, 0], size[:, 1], size[:, 2])
