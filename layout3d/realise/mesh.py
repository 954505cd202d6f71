"""Primitives and parts as closed triangle meshes.

Every mesh is watertight, its triangles counter-clockwise seen from outside. Its vertices lie on
the true surface and no facet is further from it than the stated tolerance.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import manifold3d
import numpy as np

from layout3d.realise.facets import Triangles, arc_points, fan, sides, strip, tube_skin
from shapes import primitives
from shapes.part import Bore, Look, Part, Solid
from shapes.pose import Array, Pose, compose
from shapes.primitives import (
    Box,
    Cylinder,
    Opening,
    Plate,
    Primitive,
    Prism,
    RectOpening,
    SlotHole,
    TubeRun,
)

#: How far a facet may lie off the true surface [mm]: below what a printer or an eye resolves.
TOLERANCE_MM = 0.05
#: Vertices are put on this grid before they are cut or joined: faces that are flush but for
#: rounding become flush exactly, and leave neither a film nor a gap.
_GRID_MM = 1e-6
#: A slot with shorter straight sides is taken as a round hole, as in the exact solids.
_LEAST_STRETCH_MM = 1e-6
#: How far the cutter of a through opening stands out of the sheet.
_CUTTER_OVERHANG_MM = 1.0


@dataclass(frozen=True, slots=True, eq=False)
class Mesh:
    """A closed surface.

    vertices : (n, 3) float64 [mm]
    triangles : (m, 3) vertex numbers, counter-clockwise from outside
    """

    vertices: Array
    triangles: Triangles

    @property
    def volume(self) -> float:
        """Enclosed volume [mm3], by the divergence theorem about the mesh's own middle."""
        if not len(self.triangles):
            return 0.0
        a, b, c = (self.vertices - self.vertices.mean(axis=0))[self.triangles].transpose(1, 0, 2)
        return float(np.einsum("ij,ij->", a, np.cross(b, c))) / 6.0

    def moved(self, pose: Pose) -> Mesh:
        """The mesh placed by ``pose``."""
        return Mesh(pose.apply(self.vertices), self.triangles)


@dataclass(frozen=True, slots=True, eq=False)
class SolidMesh:
    """One solid of a part, its bores cut, in the solid's own frame."""

    name: str
    look: Look
    mesh: Mesh
    solid2part: Pose


def primitive_mesh(primitive: Primitive, tolerance_mm: float = TOLERANCE_MM) -> Mesh:
    """The primitive as it is exported: openings and screw holes open, tubes hollow.

    ValueError for a tube bent tighter than its own radius.
    """
    match primitive:
        case Box(size=(x, y, z)):
            return _prism(_rectangle(x, y), z)
        case Cylinder():
            return _prism(_circle(primitive.diameter, tolerance_mm), primitive.length)
        case Prism():
            return _prism(np.array(primitive.corners), primitive.height)
        case Plate():
            return _plate(primitive, tolerance_mm)
        case TubeRun():
            return Mesh(*tube_skin(primitive, tolerance_mm))
        case primitives.Mesh(vertices=vertices, triangles=triangles):
            return Mesh(vertices, triangles.astype(np.int64))


def part_meshes(part: Part, tolerance_mm: float = TOLERANCE_MM) -> list[SolidMesh]:
    """Each solid of a part with its bores cut; a solid that its bores consume is left out."""
    made = []
    for piece in part.solids:
        mesh = bored(primitive_mesh(piece.primitive, tolerance_mm), part, piece, tolerance_mm)
        if len(mesh.triangles):
            made.append(SolidMesh(piece.name, piece.look, mesh, piece.solid2part))
    return made


def bored(mesh: Mesh, part: Part, solid: Solid, tolerance_mm: float = TOLERANCE_MM) -> Mesh:
    """A mesh in the frame of a solid of the part, the part's bores into that solid cut."""
    part2solid = solid.solid2part.inverse
    drills = [
        _drill(bore, tolerance_mm).moved(compose(bore.bore2part, part2solid))
        for bore in part.bores
        if not bore.into or solid.name in bore.into
    ]
    return _cut(mesh, drills)


def union(meshes: Sequence[Mesh]) -> Mesh:
    """All of them as one closed surface: what is inside and where they touch is gone."""
    if len(meshes) == 1:
        return meshes[0]
    bodies = [_manifold(mesh) for mesh in meshes]
    return _mesh(manifold3d.Manifold.batch_boolean(bodies, manifold3d.OpType.Add))


def _rectangle(x: float, y: float) -> Array:
    return np.array([(-x, -y), (x, -y), (x, y), (-x, y)]) / 2.0


def _circle(diameter: float, tolerance_mm: float) -> Array:
    return arc_points(diameter / 2.0, 0.0, 2.0 * math.pi, sides(diameter / 2.0, tolerance_mm))[:-1]


def _slot(slot: SlotHole, tolerance_mm: float) -> Array:
    """Outline of a slot; a round one has no straight sides, so the doubled corners are dropped."""
    radius, half = slot.width / 2.0, (slot.length - slot.width) / 2.0
    if half < _LEAST_STRETCH_MM:
        return _circle(slot.width, tolerance_mm)
    steps = sides(radius, tolerance_mm) // 2
    right = arc_points(radius, -math.pi / 2.0, math.pi / 2.0, steps) + np.array((half, 0.0))
    return np.concatenate((right, -right))


def _prism(outline: Array, height: float) -> Mesh:
    """A convex counter-clockwise outline (n, 2) drawn out along z, centred on z = 0."""
    count = len(outline)
    low = np.column_stack((outline, np.full(count, -height / 2.0)))
    vertices = np.concatenate((low, low + np.array((0.0, 0.0, height))))
    here = np.arange(count)
    after = (here + 1) % count
    lid = fan(count)
    walls = strip(here, after, here + count, after + count)
    return Mesh(vertices, np.concatenate((lid[:, ::-1], lid + count, walls)))


def _plate(plate: Plate, tolerance_mm: float) -> Mesh:
    height = plate.thickness + 2.0 * _CUTTER_OVERHANG_MM
    cutters = [
        _prism(_outline(opening, tolerance_mm) + opening.at, height)
        for opening in (*plate.openings, *plate.screw_holes)
    ]
    return _cut(_prism(_rectangle(*plate.size), plate.thickness), cutters)


def _outline(opening: Opening | SlotHole, tolerance_mm: float) -> Array:
    if isinstance(opening, RectOpening):
        return _rectangle(*opening.size)
    if isinstance(opening, SlotHole):
        return _slot(opening, tolerance_mm)
    return _circle(opening.diameter, tolerance_mm)


def _drill(bore: Bore, tolerance_mm: float) -> Mesh:
    below = Pose.at((0.0, 0.0, -bore.depth / 2.0))
    return _prism(_circle(bore.diameter, tolerance_mm), bore.depth).moved(below)


def _cut(mesh: Mesh, cutters: Iterable[Mesh]) -> Mesh:
    if not len(mesh.triangles):
        return mesh
    low, high = mesh.vertices.min(axis=0), mesh.vertices.max(axis=0)
    reaching = [
        cutter
        for cutter in cutters
        if (cutter.vertices.min(axis=0) < high).all() and (low < cutter.vertices.max(axis=0)).all()
    ]
    if not reaching:
        return mesh
    bodies = [_manifold(body) for body in (mesh, *reaching)]
    return _mesh(manifold3d.Manifold.batch_boolean(bodies, manifold3d.OpType.Subtract))


def _manifold(mesh: Mesh) -> manifold3d.Manifold:
    vertices = np.round(mesh.vertices / _GRID_MM) * _GRID_MM
    body = manifold3d.Manifold(manifold3d.Mesh64(vertices, mesh.triangles.astype(np.uint64)))
    if body.status() != manifold3d.Error.NoError:
        raise ValueError(f"a mesh of {len(mesh.triangles)} triangles is not closed: {body.status()}")
    return body


def _mesh(body: manifold3d.Manifold) -> Mesh:
    made = body.to_mesh64()
    vertices = np.array(made.vert_properties, dtype=float)[:, :3]
    return Mesh(vertices, np.array(made.tri_verts, dtype=np.int64))
