"""Normals for shading: smooth round a pipe, sharp at a box's edge."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from layout3d.realise.facets import Triangles
from layout3d.realise.mesh import Mesh
from shapes.pose import Array

#: Facets that meet at less than this are parts of one round surface.
CREASE_DEG = 35.0
_LEAST_AREA_MM2 = 1e-9


@dataclass(frozen=True, slots=True, eq=False)
class Shaded:
    """Triangles with a normal at each vertex; a vertex on a crease is there once for each side.

    vertices, normals : (n, 3) float64 [mm], unit
    triangles : (m, 3) vertex numbers
    """

    vertices: Array
    normals: Array
    triangles: Triangles


def shaded(mesh: Mesh, crease_deg: float = CREASE_DEG) -> Shaded:
    """The mesh with normals averaged over facets that meet at less than ``crease_deg`` [degrees].

    Facets are weighted by their angle at the vertex, so how a flat side was split does not show.
    Triangles without area are dropped: they have no normal and show nothing.
    """
    doubled = np.linalg.norm(_crosses(mesh.vertices, mesh.triangles), axis=1)
    triangles = mesh.triangles[doubled > 2.0 * _LEAST_AREA_MM2]
    crosses = _crosses(mesh.vertices, triangles)
    facets = crosses / np.linalg.norm(crosses, axis=1)[:, None]
    groups = _corner_groups(triangles, facets, math.cos(math.radians(crease_deg)))
    _, first, numbers = np.unique(groups, return_index=True, return_inverse=True)
    weighted = _corner_angles(mesh.vertices, triangles).reshape(-1, 1) * np.repeat(facets, 3, axis=0)
    sums = np.column_stack([np.bincount(numbers, weighted[:, axis]) for axis in range(3)])
    normals = sums / np.linalg.norm(sums, axis=1)[:, None]
    return Shaded(mesh.vertices[triangles.reshape(-1)[first]], normals, numbers.reshape(-1, 3))


def _crosses(vertices: Array, triangles: Triangles) -> Array:
    a, b, c = vertices[triangles].transpose(1, 0, 2)
    return np.cross(b - a, c - a)


def _corner_angles(vertices: Array, triangles: Triangles) -> Array:
    corners = vertices[triangles]
    ahead = np.roll(corners, -1, axis=1) - corners
    behind = np.roll(corners, 1, axis=1) - corners
    sine = np.linalg.norm(np.cross(ahead, behind), axis=2)
    angles: Array = np.arctan2(sine, np.einsum("ijk,ijk->ij", ahead, behind))
    return angles


def _corner_groups(triangles: Triangles, facets: Array, least_cosine: float) -> Triangles:
    """For each corner (3 m,) the number of its group: corners joined across smooth edges."""
    count = triangles.size
    corner = np.arange(count)
    following = corner - corner % 3 + (corner + 1) % 3
    start, end = triangles.reshape(-1), triangles.reshape(-1)[following]
    # Each directed edge stands once in a closed mesh, its twin runs the other way.
    order = np.lexsort((end, start))
    keys = start[order] * (triangles.max() + 1) + end[order]
    place = np.searchsorted(keys, end * (triangles.max() + 1) + start).clip(max=count - 1)
    twin = order[place]
    meets = (start[twin] == end) & (end[twin] == start)
    meets &= np.einsum("ij,ij->i", facets[corner // 3], facets[twin // 3]) >= least_cosine
    # The corner at the start of an edge lies with the corner at the end of its twin.
    one, other = corner[meets], following[twin[meets]]
    groups = corner
    while True:
        least = groups.copy()
        np.minimum.at(least, one, groups[other])
        np.minimum.at(least, other, groups[one])
        least = least[least]
        if (least == groups).all():
            return groups
        groups = least
