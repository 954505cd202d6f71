"""All that shows of a layout as triangles with normals, in the scene's frame."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from layout3d.exporters.contents import Contents, solids_key
from layout3d.realise.facets import Triangles
from layout3d.realise.looks import SURFACES, TUBE_SURFACES, Surface
from layout3d.realise.mesh import Mesh, primitive_mesh
from layout3d.realise.normals import Shaded, shaded
from layout3d.realise.pictures import DrawnSolid, coolant_in, drawn_solids
from shapes.part import Look
from shapes.pose import IDENTITY, Array, Pose, compose

#: How far facets may lie off what they show [mm]: less than a pixel of a whole build.
TOLERANCE_MM = 0.1
#: Fins and blades drawn with all their edges would be black.
_MOST_EDGES = 700
#: What is looked through shows no edges of its own, but for panes.
_EDGELESS = frozenset({"clear", "tube-rigid", "coolant"})

Lines = npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class Body:
    """One surface of a part or tube.

    owner : the part or tube; solid : the solid of it, as in ``case.roof``, or the owner again
    places, normals : (n, 3) in the scene [mm], unit
    triangles : (m, 3); edges : (k, 2) numbers of places, where the surface has a crease
    """

    owner: str
    solid: str
    surface: Surface
    places: Array
    normals: Array
    triangles: Triangles
    edges: Lines


def bodies_of(contents: Contents) -> list[Body]:
    """Every solid with its picture detail, every tube with the coolant in it."""
    return [*_parts(contents), *_tubes(contents)]


def _parts(contents: Contents) -> Iterator[Body]:
    known: dict[tuple[str, bytes], list[tuple[DrawnSolid, list[tuple[Surface, Shaded]]]]] = {}
    for placed in contents.parts:
        key = (placed.shape, solids_key(placed.part))
        if key not in known:
            drawn = drawn_solids(placed.shape, placed.part, TOLERANCE_MM)
            known[key] = [
                (solid, [(_surface(layer.look, layer.sheet), shaded(layer.mesh)) for layer in solid.layers])
                for solid in drawn
            ]
        for solid, layers in known[key]:
            solid2scene = compose(solid.solid2part, placed.part2scene)
            for surface, mesh in layers:
                yield _body(placed.name, f"{placed.name}.{solid.name}", surface, mesh, solid2scene)


def _tubes(contents: Contents) -> Iterator[Body]:
    for tube, (name, run) in zip(contents.tubes, contents.runs, strict=True):
        surface = TUBE_SURFACES[tube.kind]
        layers: list[tuple[Surface, Mesh]] = [(surface, primitive_mesh(run, TOLERANCE_MM))]
        if surface.alpha < 1.0 and (wet := coolant_in(run, TOLERANCE_MM)):
            layers.append((SURFACES["coolant"], wet))
        for look, mesh in layers:
            yield _body(name, name, look, shaded(mesh), IDENTITY)


def _surface(look: Look, sheet: bool) -> Surface:
    return replace(SURFACES[look], both_sides=True) if sheet else SURFACES[look]


def _body(owner: str, solid: str, surface: Surface, mesh: Shaded, solid2scene: Pose) -> Body:
    edges = np.zeros((0, 2), dtype=np.int64)
    if surface.name not in _EDGELESS and not surface.both_sides:
        found = creases(mesh.triangles)
        edges = found if len(found) <= _MOST_EDGES else edges
    return Body(
        owner,
        solid,
        surface,
        solid2scene.apply(mesh.vertices),
        solid2scene.turn(mesh.normals),
        mesh.triangles,
        edges,
    )


def creases(triangles: Triangles) -> Lines:
    """Edges (k, 2) that one triangle alone has: where a shaded mesh has a vertex for each of its sides."""
    ends = np.sort(triangles[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2), axis=1)
    found, count = np.unique(ends, axis=0, return_counts=True)
    edges: Lines = found[count == 1].astype(np.int64)
    return edges
