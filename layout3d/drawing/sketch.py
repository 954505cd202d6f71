"""Each primitive as it is seen from one side.

Rounds are polygons with their corners on the true surface; the outlines of round bodies are exact.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from layout3d.drawing.flats import lifted, plate_sketch, prism_sketch, rectangle
from layout3d.drawing.rounds import circle, tube_sketch_pieces
from layout3d.drawing.seen import EDGE_ON, Body, Face, Fill, Line, Sketch, rounded
from shapes.pose import Array, Pose
from shapes.primitives import Box, Cylinder, Mesh, Plate, Primitive, Prism, TubeRun

Flags: TypeAlias = npt.NDArray[np.bool_]
#: Neighbouring triangles of a mesh that meet at less draw no line between them.
_CREASE_COS = float(np.cos(np.radians(30.0)))
#: A mesh is painted in one tone.
_MESH_NORMAL = np.array((0.0, 0.3, 0.95))


def sketch(primitive: Primitive, here2view: Pose, chord_mm: float) -> Sketch:
    """The primitive as the eye sees it; the sides of rounds lie within ``chord_mm`` of them."""
    match primitive:
        case Box(size=(x, y, z)):
            return prism_sketch(rectangle(x, y), z, here2view)
        case Prism():
            return prism_sketch(np.array(primitive.corners), primitive.height, here2view)
        case Cylinder():
            return _cylinder(primitive, here2view, chord_mm)
        case Plate():
            return plate_sketch(primitive, here2view, chord_mm)
        case TubeRun():
            return _tube(primitive, here2view, chord_mm)
        case Mesh():
            return _mesh(primitive, here2view)


def _runs(points: Array, seen: Flags, outline: Flags) -> Iterator[Line]:
    """A closed polygon's sides as lines, where seen, in runs of one kind."""
    count = len(points)
    kind = np.where(seen, 1 + outline.astype(int), 0)
    changes = np.flatnonzero(kind != np.roll(kind, 1))
    if not len(changes):
        if kind[0]:
            yield Line(np.concatenate((points, points[:1])), bool(kind[0] == 2))
        return
    for start, end in zip(changes, np.roll(changes, -1), strict=True):
        if kind[start]:
            length = (end - start) % count or count
            yield Line(points[(start + np.arange(length + 1)) % count], bool(kind[start] == 2))


def _cylinder(primitive: Cylinder, pose: Pose, chord_mm: float) -> Sketch:
    outline = circle(primitive.diameter / 2.0, chord_mm)
    half = primitive.length / 2.0
    low, high = pose.apply(lifted(outline, -half)), pose.apply(lifted(outline, half))
    count, axis = len(outline), pose.z_axis
    middles = outline + np.roll(outline, -1, axis=0)
    walls = pose.turn(lifted(middles / np.linalg.norm(middles, axis=1)[:, None], 0.0))
    seen = walls[:, 2] > EDGE_ON
    made = Sketch()
    fills: list[Fill] = []
    for here in np.flatnonzero(seen):
        after = (here + 1) % count
        made.hiding.append(Face(np.array((low[here], low[after], high[after], high[here]))))
    if (shading := rounded(pose.origin, axis, primitive.diameter / 2.0)) is not None:
        spoke = primitive.diameter / 2.0 * shading[1].side
        ends = np.array((pose.origin - half * axis, pose.origin + half * axis))
        fills.append(Fill((hull(np.concatenate((low, high))[:, :2]),), *shading))
        made.lines += [Line(ends + spoke, True), Line(ends - spoke, True)]
    for facing, corners in ((axis[2], high), (-axis[2], low)):
        cap = bool(facing > EDGE_ON)
        if cap:
            ordered = corners if axis[2] > 0.0 else corners[::-1]
            made.hiding.append(Face(ordered))
            fills.append(Fill((ordered[:, :2],), axis * np.sign(axis[2])))
        # The side at the turn, half of it seen, is left to the faces before it to hide.
        reaching = seen | np.roll(seen, 1) | np.roll(seen, -1)
        made.lines += _runs(corners, reaching | cap, seen != cap)
    made.bodies = [Body(tuple(fills), tuple(made.hiding))] if made.hiding else []
    return made


def _tube(run: TubeRun, pose: Pose, chord_mm: float) -> Sketch:
    made = Sketch()
    for piece in tube_sketch_pieces(run, pose, chord_mm):
        faces = tuple(Face(corners) for corners in piece.faces)
        made.hiding += faces
        skin = (hull(piece.points[:, :2]),)
        fills = [] if piece.shading is None else [Fill(skin, *piece.shading)]
        fills += [Fill((corners[:, :2],), normal) for corners, normal in piece.ends]
        made.hiding += [Face(corners) for corners, _ in piece.ends]
        made.bodies.append(Body(tuple(fills), (*faces, *(Face(corners) for corners, _ in piece.ends))))
        made.lines += [Line(points, True) for points in piece.outlines]
        made.lines += [Line(np.concatenate((rim, rim[:1])), False) for rim in piece.rims]
    return made


def _mesh(mesh: Mesh, pose: Pose) -> Sketch:
    corners = pose.apply(mesh.vertices)[mesh.triangles]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    size = np.linalg.norm(normals, axis=1)
    normals = normals / np.where(size > 0.0, size, 1.0)[:, None]
    seen = normals[:, 2] > EDGE_ON
    made = Sketch(hiding=[Face(triangle) for triangle in corners[seen]])
    at = pose.apply(mesh.vertices)
    ends = mesh.triangles.astype(np.int64)
    edges = np.concatenate((ends[:, (0, 1)], ends[:, (1, 2)], ends[:, (2, 0)]))
    owner = np.tile(np.arange(len(ends)), 3)
    key = np.sort(edges, axis=1) @ np.array((len(at), 1))
    order = np.argsort(key, kind="stable")
    # A closed mesh passes each edge both ways; where more than two triangles meet, two by two.
    first, second = order[0::2], order[1::2]
    paired = key[first] == key[second]
    one, other = owner[first], owner[second]
    sharp = np.einsum("ij,ij->i", normals[one], normals[other]) < _CREASE_COS
    outline = paired & (seen[one] != seen[other])
    crease = paired & seen[one] & seen[other] & sharp
    for here in np.flatnonzero(outline | crease):
        made.lines.append(Line(at[edges[first[here]]], bool(outline[here])))
    directed = [edges[f] if seen[owner[f]] else edges[s] for f, s in zip(first, second, strict=True)]
    loops = _loops(np.array(directed)[outline], at[:, :2]) if outline.any() else ()
    if loops:
        made.bodies = [Body((Fill(loops, _MESH_NORMAL, even_odd=False),), tuple(made.hiding))]
    return made


def _loops(edges: Array, at: Array) -> tuple[Array, ...]:
    """Directed edges (n, 2) joined into closed outlines."""
    leaving: dict[int, list[int]] = {}
    for start, end in edges.tolist():
        leaving.setdefault(start, []).append(end)
    loops = []
    for start in list(leaving):
        while leaving.get(start):
            loop, here = [start], leaving[start].pop()
            while here != start and leaving.get(here):
                loop.append(here)
                here = leaving[here].pop()
            loops.append(at[loop])
    return tuple(loops)


def hull(points: Array) -> Array:
    """The convex hull of points (n, 2), counter-clockwise (Andrew's monotone chain)."""
    ordered = np.unique(np.round(points, 9), axis=0).tolist()
    chain: list[list[float]] = []
    for run in (ordered, ordered[::-1]):
        part: list[list[float]] = []
        for x, y in run:
            while len(part) > 1 and _left(part[-2], part[-1], x, y) <= 0.0:
                part.pop()
            part.append([x, y])
        chain += part[:-1]
    return np.array(chain)


def _left(a: Sequence[float], b: Sequence[float], x: float, y: float) -> float:
    return (b[0] - a[0]) * (y - a[1]) - (b[1] - a[1]) * (x - a[0])
