"""Triangles of one mesh that may come near another body, found by their bounding boxes."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from layout3d.kernels.boxtree import FAN, BoxTree, tree_of
from layout3d.kernels.meshpoints import inside, surface_distance
from layout3d.kernels.pieces import Bools, Ints
from layout3d.kernels.points import distance_to
from shapes.pose import Array, Pose
from shapes.primitives import Mesh, Primitive

#: |distance| up to this is contact [mm].
CONTACT_MM = 1e-6
_BLOCK = 200_000
_SAMPLES = 200


@dataclass(frozen=True, slots=True, eq=False)
class Near:
    """Candidates of a pair, nearest first; what is not among them is further than ``limit``.

    first : (k,) triangles of the mesh
    second : (k,) triangles of the other mesh, 0 where the other is no mesh
    lower : (k,) proven least distance of each, deviations taken off [mm]
    limit : nothing left out is nearer [mm]
    within : a point (3,) of one surface that lies inside the other, if one was met on the way
    """

    first: Ints
    second: Ints
    lower: Array
    limit: float
    within: Array | None = None


def near_solid(mesh: Mesh, other: Primitive, other2mesh: Pose, enough: float) -> Near:
    """Triangles that may be as near to a solid as the nearest is, or nearer than ``enough``.

    A point's distance to the solid is 1-Lipschitz: no point of a box is nearer than its middle
    less half its diagonal.
    """
    known, deepest = np.inf, np.zeros(3)
    spread = mesh.spread

    def wanted(low: Array, high: Array, _query: Ints, triangle: Ints) -> Bools:
        nonlocal known, deepest
        points = mesh.corners[triangle, 0]
        at_corner = distance_to(points, other, other2mesh)
        if float(at_corner.min(initial=np.inf)) < known:
            known, deepest = float(at_corner.min()), points[at_corner.argmin()]
        return _reach(low, high) <= min(known, enough)

    def _reach(low: Array, high: Array) -> Array:
        middle, half = 0.5 * (low + high), 0.5 * (high - low)
        radius = np.sqrt(np.einsum("ij,ij->i", half, half))
        return np.asarray(distance_to(middle, other, other2mesh) - radius - spread)

    found = [triangle for _, triangle in tree_of(mesh).descend(1, wanted)]
    first = np.concatenate(found)
    corners = mesh.corners[first]
    lower = _reach(corners.min(axis=1), corners.max(axis=1))
    near = _sorted(first, np.zeros(len(first), dtype=np.intp), lower, min(known, enough))
    return replace(near, within=deepest) if known < -CONTACT_MM else near


def near_mesh(mesh: Mesh, other: Mesh, other2mesh: Pose, enough: float) -> Near:
    """Pairs of triangles that may be as near as the nearest pair is, or nearer than ``enough``."""
    spread = mesh.spread + other.spread
    at_other, on_other = _sampled(mesh, other, other2mesh)
    at_mesh, on_mesh = _sampled(other, mesh, other2mesh.inverse)
    known = min(at_other, at_mesh)
    if known < -CONTACT_MM:
        within = on_other if at_other <= at_mesh else other2mesh.apply(on_mesh)
        nothing = np.empty(0, dtype=np.intp)
        return Near(nothing, nothing, np.empty(0), known, within)
    limit = max(min(known, enough), CONTACT_MM)  # surfaces that touch, or may, can cross elsewhere
    trees = tree_of(mesh), tree_of(other)
    turned = np.abs(other2mesh.rotation)
    left = [(len(trees[0].levels) - 1, len(trees[1].levels) - 1, np.zeros((1, 2), dtype=np.intp))]
    found: list[tuple[Array, Ints]] = []
    while left:
        level_a, level_b, nodes = left.pop()
        low_a, high_a = (ends[nodes[:, 0]] for ends in trees[0].levels[level_a])
        low_b, high_b = (ends[nodes[:, 1]] for ends in trees[1].levels[level_b])
        middle, half = other2mesh.apply(0.5 * (low_b + high_b)), 0.5 * (high_b - low_b) @ turned.T
        gap = np.maximum(np.maximum(low_a - middle - half, middle - half - high_a), 0.0)
        lower = np.sqrt(np.einsum("ij,ij->i", gap, gap)) - spread
        kept = lower <= limit
        nodes = nodes[kept]
        if level_a == level_b == 0:
            found.append((lower[kept], nodes))
            continue
        opened, levels = _opened(trees, (level_a, level_b), nodes)
        left += [(*levels, opened[start : start + _BLOCK]) for start in range(0, len(opened), _BLOCK)]
    if not found:
        nothing = np.empty(0, dtype=np.intp)
        return Near(nothing, nothing, np.empty(0), limit)
    nodes = np.concatenate([nodes for _, nodes in found])
    lower = np.concatenate([lower for lower, _ in found])
    return _sorted(trees[0].order[nodes[:, 0]], trees[1].order[nodes[:, 1]], lower, limit)


def _opened(
    trees: tuple[BoxTree, BoxTree], levels: tuple[int, int], nodes: Ints
) -> tuple[Ints, tuple[int, int]]:
    """Every pair's boxes replaced by those in them, of the tree that has more levels left."""
    side = 0 if levels[0] >= levels[1] else 1
    children = nodes[:, None, side] * FAN + np.arange(FAN)
    opened = np.repeat(nodes, FAN, axis=0)
    opened[:, side] = children.reshape(-1)
    there = opened[:, side] < len(trees[side].levels[levels[side] - 1][0])
    return opened[there], (levels[0] - (side == 0), levels[1] - (side == 1))


def _sampled(mesh: Mesh, other: Mesh, other2mesh: Pose) -> tuple[float, Array]:
    """Least signed distance of some vertices of another mesh, those nearest to a mesh's box, and whose."""
    points = other2mesh.apply(other.vertices)
    low, high = mesh.vertices.min(axis=0), mesh.vertices.max(axis=0)
    gap = np.maximum(np.maximum(low - points, points - high), 0.0)
    order = np.argsort(np.einsum("ij,ij->i", gap, gap), kind="stable")
    points = points[order[:_SAMPLES]]
    distance = surface_distance(points, mesh)
    distance = np.where(inside(points, mesh), -distance, distance)
    return float(distance.min()), points[distance.argmin()]


def _sorted(first: Ints, second: Ints, lower: Array, limit: float) -> Near:
    order = np.argsort(lower, kind="stable")
    return Near(first[order], second[order], lower[order], limit)
