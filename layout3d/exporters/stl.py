"""STL for printing: binary, millimetres, in the scene's frame.

One file for each part and tube, named after it, and ``whole.stl`` with all of them as one body.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np

from layout3d.errors import RequestError
from layout3d.exporters.contents import Contents, Progress, nothing_left
from layout3d.realise.mesh import TOLERANCE_MM, Mesh, part_meshes, primitive_mesh, union
from shapes.pose import Array

WHOLE = "whole"
#: Vertices are rounded to this before they become 4-byte floats, which hold it up to 1 m.
#: Beyond this the 4-byte floats of an STL file are more than half a micrometre apart [mm].
FURTHEST_MM = 4096.0
_GRID_MM = 1e-4
#: Two surfaces that touch in a point or an edge are drawn this far into their own bodies: STL has
#: no vertex numbers, so readers would weld them into an edge with four faces.
_DRAWN_APART_MM = 1e-3
_RECORD = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])


def write(
    contents: Contents, folder: Path, progress: Progress, *, tolerance_mm: float = TOLERANCE_MM
) -> None:
    """One STL file per part and tube, and one of the whole; each is watertight."""
    bodies: dict[str, Mesh] = {}
    for placed in contents.parts:
        progress(f"stl: {placed.name}")
        solids = part_meshes(placed.part, tolerance_mm)
        if solids:
            own = union([solid.mesh.moved(solid.solid2part) for solid in solids])
            bodies[placed.name] = own.moved(placed.part2scene)
    for name, run in contents.runs:
        progress(f"stl: {name}")
        bodies[name] = primitive_mesh(run, tolerance_mm)
    if not bodies:
        raise nothing_left()
    for name, body in bodies.items():
        if name.casefold() == WHOLE:
            raise RequestError(
                f"'{name}' would be written to {WHOLE}.stl, the file of the whole layout; rename it"
            )
        (folder / f"{name}.stl").write_bytes(encoded(body, name))
    progress(f"stl: {WHOLE}")
    (folder / f"{WHOLE}.stl").write_bytes(encoded(union(list(bodies.values())), WHOLE))


def encoded(mesh: Mesh, name: str) -> bytes:
    """The mesh as binary STL [mm], no two of its vertices in one place."""
    vertices = _distinct(mesh)
    corners = vertices[mesh.triangles]
    records = np.zeros(len(corners), _RECORD)
    records["corners"] = corners
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    lengths = np.linalg.norm(normals, axis=1)[:, None]
    records["normal"] = np.divide(normals, lengths, out=np.zeros_like(normals), where=lengths > 0.0)
    header = f"layout3d, millimetres: {name}".encode("ascii", "replace")[:80].ljust(80)
    return header + len(records).to_bytes(4, "little") + records.tobytes()


def _distinct(mesh: Mesh) -> Array:
    """The vertices as 4-byte floats hold them, those that coincide drawn apart into their bodies.

    RequestError so far from the origin that such floats no longer tell micrometres apart.
    """
    furthest = float(np.abs(mesh.vertices).max(initial=0.0))
    if furthest > FURTHEST_MM:
        raise RequestError(
            f"STL holds places to {FURTHEST_MM / 1000.0:g} m from the origin, this build reaches "
            f"{furthest / 1000.0:.4g} m: place it nearer the origin"
        )
    vertices = _rounded(mesh.vertices)
    while (rank := _rank_in_place(vertices)).any():
        moved = np.flatnonzero(rank)
        vertices[moved] = _rounded(
            vertices[moved] + _DRAWN_APART_MM * rank[moved, None] * _inwards(mesh)[moved]
        )
    return vertices


def _rounded(vertices: Array) -> Array:
    return (np.round(vertices / _GRID_MM) * _GRID_MM).astype("<f4").astype(float) + 0.0


def _rank_in_place(vertices: Array) -> Array:
    """For each vertex how many before it lie in the same place, (n,)."""
    order = np.lexsort(vertices.T)
    fresh = np.r_[True, (np.diff(vertices[order], axis=0) != 0.0).any(axis=1)]
    place = np.arange(len(vertices))
    rank = np.empty(len(vertices))
    rank[order] = place - np.maximum.accumulate(np.where(fresh, place, 0))
    return rank


def _inwards(mesh: Mesh) -> Array:
    """Unit vector into the body at each vertex, against the mean of its facets' normals."""
    a, b, c = mesh.vertices[mesh.triangles].transpose(1, 0, 2)
    facets = np.repeat(np.cross(b - a, c - a), 3, axis=0)
    where, count = mesh.triangles.reshape(-1), len(mesh.vertices)
    inwards = -np.column_stack([np.bincount(where, facets[:, axis], count) for axis in range(3)])
    lengths = np.linalg.norm(inwards, axis=1)
    inwards[lengths == 0.0] = (1.0, 0.0, 0.0)
    return inwards / np.where(lengths == 0.0, 1.0, lengths)[:, None]
