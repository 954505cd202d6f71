"""Drawn meshes and poses, judged by manifold3d: least gap, shared volume, and moves that free the two."""

from __future__ import annotations

import manifold3d
import numpy as np
import trimesh
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from manifold3d import Manifold

from layout3d.kernels.bodies import body
from layout3d.kernels.measure import measure
from shapes.pose import IDENTITY, Array, Pose
from shapes.primitives import Box, Mesh, Plate, Primitive, Prism, RectOpening

#: Shared volumes and gaps below this are left to exact tests: the judge rounds too.
BLUR_MM = 1e-4


def manifold_of(vertices: Array, triangles: Array) -> Manifold:
    return Manifold(manifold3d.Mesh64(np.ascontiguousarray(vertices), np.asarray(triangles, dtype=np.uint64)))


def mesh_of(made: Manifold) -> Mesh:
    plain = made.to_mesh64()
    return Mesh(np.array(plain.vert_properties)[:, :3], np.array(plain.tri_verts))


def block(x: float, y: float, z: float) -> Manifold:
    return Manifold.cube((x, y, z), True)


def hull(points: list[tuple[float, float, float]]) -> Manifold:
    return Manifold.hull_points(np.array(points))


def torus() -> Manifold:
    made = trimesh.creation.torus(15, 4, major_sections=24, minor_sections=12)
    return manifold_of(made.vertices, made.faces)


def shell() -> Manifold:
    return block(20, 20, 20) - block(16, 16, 16)


def frame() -> Manifold:
    return block(30, 30, 4) - block(20, 20, 8)


number = st.integers(-20, 20).map(float)
points = st.lists(st.tuples(number, number, number), min_size=6, max_size=20, unique=True)
hulls = points.map(hull).filter(lambda made: made.volume() > 10.0)
fixed = st.sampled_from([torus, shell, frame]).map(lambda make: make())
meshes = st.one_of(hulls, fixed)
angle = st.one_of(st.sampled_from([0.0, 90.0, 45.0]), st.floats(0.0, 360.0, allow_nan=False))
place = st.one_of(st.integers(-30, 30).map(float), st.floats(-30.0, 30.0, allow_nan=False))
poses = st.builds(lambda *v: Pose.at(v[:3], v[3:]), place, place, place, angle, angle, angle)
size = st.integers(1, 40).map(float)
solids = st.one_of(
    st.builds(lambda x, y, z: (Box((x, y, z)), block(x, y, z)), size, size, size),
    st.just(Plate((40, 30), 2, (RectOpening((0, 0), (20, 10)),))).map(
        lambda plate: (plate, block(40, 30, 2) - block(20, 10, 4))
    ),
    st.just(Prism(((0, 0), (20, 0), (0, 15)), 10)).map(
        lambda prism: (prism, hull([(x, y, z) for x, y in prism.corners for z in (-5, 5)]))
    ),
    meshes.map(lambda made: (mesh_of(made), made)),
)


def moved(made: Manifold, pose: Pose) -> Manifold:
    return made.transform(np.column_stack((pose.rotation, pose.origin)))


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(meshes, solids, poses)
def test_gaps_overlaps_and_moves_agree_with_the_judge(
    made: Manifold, other: tuple[Primitive, Manifold], pose: Pose
) -> None:
    mesh, (solid, judged) = mesh_of(made), other
    there = moved(judged, pose)
    found = measure(body(mesh, IDENTITY), body(solid, pose))
    shared = (made ^ there).volume()
    if shared > BLUR_MM:
        assert found.gap_mm < -1e-6
        freed = there.translate(tuple((-found.gap_mm * np.array(found.direction)).tolist()))
        assert (made ^ freed).volume() < 1e-2
        return
    gap = made.min_gap(there, 200.0)
    if gap > BLUR_MM:
        assert abs(found.gap_mm - gap) < 1e-5
        assert found.lower_mm <= gap + 1e-6
    else:
        assert found.gap_mm <= BLUR_MM + 1e-6
    back = measure(body(solid, pose), body(mesh, IDENTITY))
    assert abs(back.gap_mm - found.gap_mm) < 1e-5
