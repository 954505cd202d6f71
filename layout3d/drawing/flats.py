"""Prisms and sheets as the eye sees them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from layout3d.drawing.rounds import circle, ring_steps
from layout3d.drawing.seen import EDGE_ON, Body, Face, Fill, Line, Sketch, rounded
from shapes.pose import Array, Pose
from shapes.primitives import Opening, Plate, RectOpening, SlotHole


def rectangle(x: float, y: float) -> Array:
    """Corners (4, 2) about the origin, counter-clockwise."""
    return np.array([(-x, -y), (x, -y), (x, y), (-x, y)]) / 2.0


def lifted(outline: Array, z: float) -> Array:
    """An outline (n, 2) at this height, (n, 3)."""
    return np.column_stack((outline, np.full(len(outline), z)))


def prism_sketch(outline: Array, height: float, pose: Pose) -> Sketch:
    """A convex outline (n, 2), counter-clockwise, drawn out along z."""
    low, high = pose.apply(lifted(outline, -height / 2.0)), pose.apply(lifted(outline, height / 2.0))
    top, sides = pose.z_axis, _side_normals(outline, pose)
    seen = sides[:, 2] > EDGE_ON
    faces: list[Face] = []
    fills: list[Fill] = []
    for normal, corners in ((top, high), (-top, low[::-1])):
        if normal[2] > EDGE_ON:
            faces.append(Face(corners))
            fills.append(Fill((corners[:, :2],), normal))
    made = Sketch()
    for here in range(len(outline)):
        after = (here + 1) % len(outline)
        if seen[here]:
            faces.append(Face(np.array((low[here], low[after], high[after], high[here]))))
            fills.append(Fill((faces[-1].corners[:, :2],), sides[here]))
        made.lines += _edge(high[[here, after]], bool(top[2] > EDGE_ON), bool(seen[here]))
        made.lines += _edge(low[[here, after]], bool(top[2] < -EDGE_ON), bool(seen[here]))
        made.lines += _edge(np.array((low[here], high[here])), bool(seen[here - 1]), bool(seen[here]))
    made.hiding += faces
    made.bodies.append(Body(tuple(fills), tuple(faces)))
    return made


def _side_normals(outline: Array, pose: Pose) -> Array:
    along = np.roll(outline, -1, axis=0) - outline
    normals = pose.turn(np.column_stack((along[:, 1], -along[:, 0], np.zeros(len(outline)))))
    unit: Array = normals / np.linalg.norm(normals, axis=1)[:, None]
    return unit


def _edge(points: Array, one: bool, other: bool) -> Iterator[Line]:
    """An edge between two faces, of which each is seen or not."""
    if one or other:
        yield Line(points, outline=one != other)


def plate_sketch(plate: Plate, pose: Pose, chord_mm: float) -> Sketch:
    """A sheet with its openings and screw holes open, round ones to within ``chord_mm``."""
    size, half = np.array(plate.size), plate.thickness / 2.0
    cuts = (*plate.openings, *plate.screw_holes)
    holes = [outline for cut in cuts if (outline := _outline(cut, size, chord_mm)) is not None]
    if not holes:
        return prism_sketch(rectangle(*plate.size), plate.thickness, pose)
    flat = abs(pose.z_axis[2]) > EDGE_ON
    near = half if pose.z_axis[2] > 0.0 else -half
    rim = rectangle(*plate.size)
    made = Sketch()
    fills: list[Fill] = []
    if flat:
        before, behind = (tuple(pose.apply(lifted(hole, z)) for hole in holes) for z in (near, -near))
        front = Face(pose.apply(lifted(rim, near)), before)
        # What passes the holes in front must pass them at the back too.
        made.hiding += [front, Face(pose.apply(lifted(rim, -near)), behind)]
        for ring, far in zip(before, behind, strict=True):
            made.bodies += _inside(ring, far, pose.z_axis)
        facing = pose.z_axis * np.sign(pose.z_axis[2])
        fills.append(Fill((front.corners[:, :2], *(hole[:, :2] for hole in before)), facing))
        made.lines += _rims(holes, size, pose, near)
    sides = _borders(rim, holes, near, pose, flat, made)
    fills += [Fill((face.corners[:, :2],), normal) for face, normal in sides]
    made.hiding += [face for face, _ in sides]
    shown = ([made.hiding[0]] if flat else []) + [face for face, _ in sides]
    made.bodies.append(Body(tuple(fills), tuple(shown)))
    return made


def _outline(opening: Opening | SlotHole, size: Array, chord_mm: float) -> Array | None:
    """The outline of a hole, cut off at the sheet's edge; None where nothing is left."""
    if isinstance(opening, RectOpening):
        half = np.array(opening.size) / 2.0
        low, high = np.maximum(opening.at - half, -size / 2.0), np.minimum(opening.at + half, size / 2.0)
        if not (high > low).all():
            return None
        return np.array([low, (high[0], low[1]), high, (low[0], high[1])])
    if isinstance(opening, SlotHole):
        radius, run = opening.width / 2.0, (opening.length - opening.width) / 2.0
        if run <= EDGE_ON:
            outline = circle(radius, chord_mm)
        else:
            angles = np.linspace(-np.pi / 2.0, np.pi / 2.0, ring_steps(radius, chord_mm) // 2 + 1)
            right = radius * np.column_stack((np.cos(angles), np.sin(angles))) + np.array((run, 0.0))
            outline = np.concatenate((right, -right))
    else:
        outline = circle(opening.diameter / 2.0, chord_mm)
    cut: Array = np.clip(outline + np.array(opening.at), -size / 2.0, size / 2.0)
    return cut


def _rims(holes: Sequence[Array], size: Array, pose: Pose, near: float) -> Iterator[Line]:
    """The edges of the holes on both faces, and those down the corners of square ones."""
    for hole in holes:
        after = np.roll(hole, -1, axis=0)
        # Where a hole runs out over the sheet's edge it has no rim.
        inner = ~((hole == after) & (np.abs(hole) >= size / 2.0)).any(axis=1)
        for z in (near, -near):
            ring = pose.apply(lifted(hole, z))
            if inner.all():
                yield Line(np.concatenate((ring, ring[:1])), outline=z == near)
                continue
            for here in np.flatnonzero(inner):
                yield Line(ring[[here, (here + 1) % len(ring)]], outline=z == near)
        if len(hole) == 4:
            for corner in hole:
                yield Line(pose.apply(lifted(np.array((corner, corner)), 0.0) + _both(near)), outline=False)


def _both(near: float) -> Array:
    return np.array(((0.0, 0.0, near), (0.0, 0.0, -near)))


def _borders(
    rim: Array, holes: Sequence[Array], near: float, pose: Pose, flat: bool, made: Sketch
) -> list[tuple[Face, Array]]:
    """The sheet's sides that are seen, with normals; their edges become lines. Notches are left out."""
    normals = _side_normals(rim, pose)
    seen = normals[:, 2] > EDGE_ON
    sides = []
    for here in range(4):
        start, end = rim[here], rim[(here + 1) % 4]
        for low, high in _left(start, end, holes):
            points = np.array((start + low * (end - start), start + high * (end - start)))
            front, back = pose.apply(lifted(points, near)), pose.apply(lifted(points, -near))
            made.lines += _edge(front, flat, bool(seen[here]))
            made.lines += _edge(back, False, bool(seen[here]))
            if seen[here]:
                sides.append((Face(np.array((front[0], front[1], back[1], back[0]))), normals[here]))
            if low == 0.0:
                made.lines += _edge(np.array((front[0], back[0])), bool(seen[here - 1]), bool(seen[here]))
    return sides


def _left(start: Array, end: Array, holes: Sequence[Array]) -> Iterator[tuple[float, float]]:
    """The shares of a border that no hole runs out over."""
    across = 0 if start[0] == end[0] else 1
    along = 1 - across
    taken = []
    for hole in holes:
        on = hole[hole[:, across] == start[across], along]
        if len(on) > 1:
            shares = (on - start[along]) / (end[along] - start[along])
            taken.append((float(shares.min()), float(shares.max())))
    at = 0.0
    for low, high in sorted(taken):
        if low > at:
            yield at, low
        at = max(at, high)
    if at < 1.0:
        yield at, 1.0


def _inside(ring: Array, far: Array, axis: Array) -> Iterator[Body]:
    """The sides of a hole that are seen, looking in; ``far`` is its rim at the back."""
    after, far_after = np.roll(ring, -1, axis=0), np.roll(far, -1, axis=0)
    normals = np.cross(after - ring, far - ring)
    if not _turns_left(ring):
        normals = -normals
    size = np.linalg.norm(normals, axis=1)
    seen = np.flatnonzero(normals[:, 2] > EDGE_ON * size)
    walls = [np.array((ring[k], after[k], far_after[k], far[k])) for k in seen]
    if not walls:
        return
    middle = (ring + far).mean(axis=0) / 2.0
    shading = rounded(
        middle, axis, float(np.linalg.norm(ring - ring.mean(axis=0), axis=1).max()), hollow=True
    )
    if len(ring) > 4 and shading is not None:
        # In one area, lest light shows between the strips.
        fills = [Fill(tuple(wall[:, :2] for wall in walls), *shading, even_odd=False)]
    else:
        fills = [Fill((wall[:, :2],), normals[k] / size[k]) for k, wall in zip(seen, walls, strict=True)]
    yield Body(tuple(fills), tuple(Face(wall) for wall in walls))


def _turns_left(ring: Array) -> bool:
    x, y = ring[:, 0], ring[:, 1]
    return float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) > 0.0
