"""Points and closed meshes: distance to the surface, and on which side of it.

The mathematics is in docs/clearance.md.
"""

from __future__ import annotations

import numpy as np

from layout3d.kernels.boxtree import tree_of
from layout3d.kernels.convex import cross
from layout3d.kernels.pieces import Bools, Ints
from shapes.pose import Array
from shapes.primitives import Mesh

_CHUNK = 1024
#: Nearer than this to a crossing along the ray, the side is taken from the solid angle [mm].
_DOUBTFUL_MM = 1e-3


def mesh_distance(points: Array, mesh: Mesh) -> Array:
    """Signed distance (N,) of points (N, 3) of the mesh's frame, negative inside, less its spread [mm]."""
    distance = surface_distance(points, mesh)
    return np.where(inside(points, mesh), -distance, distance) - mesh.spread


def surface_distance(points: Array, mesh: Mesh) -> Array:
    """Distance (N,) of points (N, 3) to the nearest triangle [mm]."""
    chunks = [_nearest(points[start : start + _CHUNK], mesh) for start in range(0, len(points), _CHUNK)]
    return np.concatenate(chunks) if chunks else np.empty(0)


def _nearest(points: Array, mesh: Mesh) -> Array:
    tree = tree_of(mesh)
    known = triangle_distance(points, mesh.corners[tree.likely(points)])

    def wanted(low: Array, high: Array, query: Ints, triangle: Ints) -> Bools:
        here = points[query]
        beyond = np.maximum(np.maximum(low - here, here - high), 0.0)
        off = mesh.corners[triangle, 0] - here
        np.minimum.at(known, query, np.sqrt(np.einsum("ij,ij->i", off, off)))
        return np.asarray(np.einsum("ij,ij->i", beyond, beyond) < known[query] ** 2)

    for query, triangle in tree.descend(len(points), wanted):
        np.minimum.at(known, query, triangle_distance(points[query], mesh.corners[triangle]))
    return known


def triangle_distance(points: Array, corners: Array) -> Array:
    """Distance (N,) of points (N, 3) to one triangle (N, 3, 3) each [mm]."""
    edges = np.roll(corners, -1, axis=1) - corners
    off = points[:, None, :] - corners
    length = np.einsum("nkc,nkc->nk", edges, edges)
    share = np.einsum("nkc,nkc->nk", off, edges) / np.where(length > 0.0, length, 1.0)
    rest = off - np.clip(share, 0.0, 1.0)[..., None] * edges
    to_edges = np.sqrt(np.einsum("nkc,nkc->nk", rest, rest).min(axis=1))
    normal = cross(edges[:, 0], edges[:, 1])
    area = np.sqrt(np.einsum("nc,nc->n", normal, normal))
    side = np.einsum("nkc,nkc->nk", cross(np.broadcast_to(normal[:, None], edges.shape), edges), off)
    above = (side >= 0.0).all(axis=1) & (area > 0.0)
    height = np.abs(np.einsum("nc,nc->n", off[:, 0], normal)) / np.where(area > 0.0, area, 1.0)
    return np.asarray(np.where(above, np.minimum(height, to_edges), to_edges))


def inside(points: Array, mesh: Mesh) -> Bools:
    """Whether points (N, 3) of the mesh's frame lie inside it; either answer for one on its surface.

    Counts, with their signs, the triangles a ray along +x passes. Shared edges are passed by exactly
    one of their two triangles, as both evaluate the same numbers. Where a crossing is near the
    point, rounding may have moved it across: there the solid angle of all triangles decides. What is
    gone round backwards counts as inside too: a body of several whose triangles face inward.
    """
    low, high = mesh.vertices.min(axis=0), mesh.vertices.max(axis=0)
    found = np.zeros(len(points), dtype=bool)
    rows = np.flatnonzero(((points > low) & (points < high)).all(axis=1))
    for start in range(0, len(rows), _CHUNK):
        some = rows[start : start + _CHUNK]
        turns, doubtful = _crossings(points[some], mesh)
        found[some] = turns != 0
        for row in some[doubtful].tolist():
            found[row] = abs(winding(points[row], mesh.corners)) > 0.5
    return found


def _crossings(points: Array, mesh: Mesh) -> tuple[Ints, Bools]:
    def wanted(low: Array, high: Array, query: Ints, _triangle: Ints) -> Bools:
        here = points[query]
        across = (low[:, 1:] <= here[:, 1:]) & (here[:, 1:] <= high[:, 1:])
        return np.asarray(across.all(axis=1) & (here[:, 0] <= high[:, 0] + _DOUBTFUL_MM))

    pairs = list(tree_of(mesh).descend(len(points), wanted))
    query, triangle = (np.concatenate([pair[side] for pair in pairs]) for side in (0, 1))
    numbers, here = mesh.triangles[triangle], points[query]
    turns = np.zeros(len(query), dtype=np.intp)
    reach = np.zeros((len(query), 3))
    for side in range(3):
        start, end = numbers[:, side], numbers[:, (side + 1) % 3]
        first, last = np.minimum(start, end), np.maximum(start, end)
        a, b = mesh.vertices[first] - here, mesh.vertices[last] - here
        area = a[:, 1] * b[:, 2] - a[:, 2] * b[:, 1]
        # Half-open in z, so that a vertex counts for one side only.
        rises = (a[:, 2] <= 0.0) & (b[:, 2] > 0.0)
        falls = (b[:, 2] <= 0.0) & (a[:, 2] > 0.0)
        swapped = np.where(start < end, 1, -1)
        turns += swapped * ((rises & (area > 0.0)).astype(np.intp) - (falls & (area < 0.0)).astype(np.intp))
        reach[:, (side + 2) % 3] = swapped * area
    hit = np.flatnonzero(turns)
    total = reach[hit].sum(axis=1)
    depths = mesh.corners[triangle[hit]][:, :, 0] - here[hit, :1]
    share = reach[hit] / np.where(total != 0.0, total, 1.0)[:, None]
    ahead = np.einsum("nk,nk->n", share, depths)
    low, high = depths.min(axis=1), depths.max(axis=1)
    ahead = np.clip(np.where(total != 0.0, ahead, low), low, high)
    doubtful = np.zeros(len(points), dtype=bool)
    unsure = (low < _DOUBTFUL_MM) & (high > -_DOUBTFUL_MM)
    unsure &= (np.abs(ahead) < _DOUBTFUL_MM) | (np.abs(total) < 1e-6)
    doubtful[query[hit[unsure]]] = True
    count = np.zeros(len(points), dtype=np.intp)
    passed = ahead > 0.0
    np.add.at(count, query[hit[passed]], turns[hit[passed]])
    return count, doubtful


def winding(point: Array, corners: Array) -> float:
    """How often triangles (m, 3, 3) go round a point (3,): their solid angles by 4 pi.

    Van Oosterom and Strackee (1983): tan(angle / 2) = a.(b x c) / (abc + (a.b)c + (b.c)a + (c.a)b).
    """
    off = corners - point
    a, b, c = off.transpose(1, 0, 2)
    la, lb, lc = np.sqrt(np.einsum("nkc,nkc->kn", off, off))
    up = np.einsum("nc,nc->n", a, cross(b, c))
    down = la * lb * lc + _dot(a, b) * lc + _dot(b, c) * la + _dot(c, a) * lb
    return float(np.arctan2(up, down).sum()) / (2.0 * np.pi)


def _dot(a: Array, b: Array) -> Array:
    return np.asarray(np.einsum("nc,nc->n", a, b))
