"""Parts as pictures show them: solids with picture detail drawn by it, the others as they are."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from layout3d.realise.mesh import Mesh, bored, part_meshes, primitive_mesh
from shapes.detail import detail
from shapes.detail.bodies import Detail, Facets
from shapes.part import Look, Part, Solid
from shapes.pose import Pose
from shapes.primitives import TubeRun

#: Between the coolant in a tube and its wall [mm], so that both are drawn.
_FILM_MM = 0.1


@dataclass(frozen=True, slots=True, eq=False)
class Layer:
    """All of a solid that looks alike; ``sheet``: open surfaces, seen from both sides."""

    look: Look
    sheet: bool
    mesh: Mesh


@dataclass(frozen=True, slots=True, eq=False)
class DrawnSolid:
    """A solid of a part as its layers, in the solid's own frame; ``look`` is the solid's."""

    name: str
    look: Look
    layers: tuple[Layer, ...]
    solid2part: Pose


def drawn_solids(family: str, part: Part, tolerance_mm: float) -> list[DrawnSolid]:
    """Each solid of a part of this family; one that its bores consume is left out."""
    bodies: dict[str, list[Detail]] = {}
    for body in detail(family, part):
        bodies.setdefault(body.host, []).append(body)
    hosts = {solid.name: solid for solid in part.solids}
    drawn = []
    for solid in part_meshes(part, tolerance_mm):
        layers: tuple[Layer, ...] = (Layer(solid.look, False, solid.mesh),)
        if solid.name in bodies:
            layers = _layers(part, hosts[solid.name], bodies[solid.name], tolerance_mm)
        drawn.append(DrawnSolid(solid.name, solid.look, layers, solid.solid2part))
    return drawn


def coolant_in(run: TubeRun, tolerance_mm: float) -> Mesh | None:
    """The coolant inside a hollow tube; None in one too narrow to show any."""
    wet = run.inside - 2.0 * _FILM_MM
    return primitive_mesh(TubeRun(run.pieces, wet, 0.0), tolerance_mm) if wet > 1.0 else None


def _layers(part: Part, host: Solid, bodies: Sequence[Detail], tolerance_mm: float) -> tuple[Layer, ...]:
    """The bodies of one host, those of one look joined."""
    alike: dict[tuple[Look, bool], list[Mesh]] = {}
    for body in bodies:
        sheet = isinstance(body.body, Facets) and body.body.sheet
        mesh = _body_mesh(part, host, body, tolerance_mm)
        if len(mesh.triangles):
            alike.setdefault((body.look, sheet), []).append(mesh)
    return tuple(Layer(look, sheet, _joined(meshes)) for (look, sheet), meshes in alike.items())


def _body_mesh(part: Part, host: Solid, body: Detail, tolerance_mm: float) -> Mesh:
    if isinstance(body.body, Facets):
        mesh = Mesh(body.body.vertices, body.body.triangles)
    else:
        mesh = primitive_mesh(body.body, tolerance_mm).moved(body.body2host)
    return bored(mesh, part, host, tolerance_mm) if body.drilled else mesh


def _joined(meshes: Sequence[Mesh]) -> Mesh:
    starts = np.cumsum([0, *(len(mesh.vertices) for mesh in meshes[:-1])])
    return Mesh(
        np.concatenate([mesh.vertices for mesh in meshes]),
        np.concatenate([mesh.triangles + start for mesh, start in zip(meshes, starts, strict=True)]),
    )
