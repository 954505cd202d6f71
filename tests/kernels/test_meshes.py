"""Distances of meshes against closed forms and against trimesh."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh

from layout3d.kernels.bodies import body
from layout3d.kernels.measure import measure, measure_pairs
from layout3d.kernels.points import distance_to
from shapes.pose import IDENTITY, Pose
from shapes.primitives import Arc, Box, Cylinder, Mesh, Primitive, TubeRun


def mesh_of(made: trimesh.Trimesh, **stated: float) -> Mesh:
    return Mesh(np.asarray(made.vertices), np.asarray(made.faces), **stated)


BLOCK = mesh_of(trimesh.creation.box((10, 20, 30)))
RING = mesh_of(trimesh.creation.torus(30, 8, major_sections=64, minor_sections=32))
BALL = mesh_of(trimesh.creation.icosphere(3, 20))


@pytest.mark.parametrize(
    ("a", "b", "at", "gap"),
    [
        (BLOCK, Box((10, 10, 10)), (15, 0, 0), 5.0),
        (BLOCK, Box((10, 10, 10)), (10, 0, 0), 0.0),
        (BLOCK, Box((10, 10, 10)), (8, 0, 0), -2.0),
        (BLOCK, BLOCK, (15, 0, 0), 5.0),
        (BLOCK, BLOCK, (10, 0, 0), 0.0),
        (BLOCK, Cylinder(6, 40), (9, 0, 0), 1.0),
        (BALL, BALL, (40.5, 0, 0), 0.5),
    ],
)
def test_gaps_and_depths_known_by_hand(a: Mesh, b: Primitive, at: tuple[float, ...], gap: float) -> None:
    for found in (
        measure(body(a, IDENTITY), body(b, Pose.at(at))),
        measure(body(b, Pose.at(at)), body(a, IDENTITY)),
    ):
        assert found.gap_mm == pytest.approx(gap, abs=1e-6)


@pytest.mark.parametrize(
    ("a", "b", "at"),
    [
        (BALL, Box((1, 1, 1)), (1, 0, 0)),
        (BALL, BLOCK, (0, 0, 0)),
        (BLOCK, BALL, (0, 0, 0)),
        (BLOCK, BLOCK, (0, 0, 0)),
        (BLOCK, BLOCK, (0, 0, 2)),
        (BLOCK, Box((100, 100, 100)), (0, 0, 0)),
        (BLOCK, Box((5, 20, 30)), (0, 0, 0)),
        (RING, TubeRun((Arc((0, 0, 0), (1, 0, 0), (0, 1, 0), 30, 6),), 4, 2), (0, 0, 0)),
    ],
)
def test_one_inside_the_other_is_an_overlap(a: Mesh, b: Primitive, at: tuple[float, ...]) -> None:
    for found in (
        measure(body(a, IDENTITY), body(b, Pose.at(at))),
        measure(body(b, Pose.at(at)), body(a, IDENTITY)),
    ):
        assert found.gap_mm < -1e-6
        assert not found.exact


def test_a_body_of_several_that_faces_inward_is_solid_too() -> None:
    turned = trimesh.creation.box(
        (10, 10, 10), transform=trimesh.transformations.translation_matrix((50, 0, 0))
    )
    turned.invert()
    two = mesh_of(trimesh.util.concatenate([trimesh.creation.box((20, 20, 20)), turned]))
    for guest in (Box((1, 1, 1)), mesh_of(trimesh.creation.box((1, 1, 1)))):
        assert measure(body(two, IDENTITY), body(guest, Pose.at((50, 0, 0)))).gap_mm < -1e-6
    assert distance_to(np.array([[50.0, 0.0, 0.0]]), two, IDENTITY)[0] == pytest.approx(-5.0)


def test_what_stands_in_a_meshs_hollow_is_clear() -> None:
    hollow = trimesh.creation.box((10, 10, 10))
    hollow.invert()
    shell = mesh_of(trimesh.util.concatenate([trimesh.creation.box((20, 20, 20)), hollow]))
    for guest in (Box((4, 4, 4)), mesh_of(trimesh.creation.box((4, 4, 4)))):
        assert measure(body(shell, IDENTITY), body(guest, IDENTITY)).gap_mm == pytest.approx(3.0)


def test_a_bar_through_the_hole_of_a_ring_is_clear() -> None:
    found = measure(body(RING, IDENTITY), body(Cylinder(10, 100), IDENTITY))
    # Facets of 64 sides stand in the chord's height at most inside the round hole of radius 22.
    assert 22.0 * np.cos(np.pi / 64) - 5.0 - 1e-6 <= found.gap_mm <= 17.0


def test_the_deviation_is_taken_off_the_gap() -> None:
    loose = mesh_of(trimesh.creation.box((10, 20, 30)), deviation=0.25)
    assert measure(
        body(loose, IDENTITY), body(Box((10, 10, 10)), Pose.at((15, 0, 0)))
    ).gap_mm == pytest.approx(4.75)


@pytest.mark.parametrize("mesh", [BLOCK, RING, BALL], ids=["block", "ring", "ball"])
def test_point_distances_agree_with_trimesh(mesh: Mesh) -> None:
    judge = trimesh.Trimesh(mesh.vertices, mesh.triangles, process=False)
    points = np.random.default_rng(1).uniform(judge.bounds[0] - 5, judge.bounds[1] + 5, (300, 3))
    told = -trimesh.proximity.signed_distance(judge, points)
    assert np.abs(distance_to(points, mesh, IDENTITY) - told).max() < 1e-9


@pytest.mark.parametrize("required", [0.0, 1.0])
@pytest.mark.parametrize("footed", [False, True])
def test_a_bar_through_a_block_is_found_where_they_may_touch(required: float, footed: bool) -> None:
    """No corner of either is inside the other, and a foot of the bar stands on the block."""
    bar = trimesh.creation.box((100, 6, 6))
    foot = trimesh.creation.box((6, 6, 10))
    foot.apply_translation((-10, 0, 25))
    first = mesh_of(trimesh.creation.box((40, 40, 40)))
    second = mesh_of(trimesh.util.concatenate([bar, foot]) if footed else bar)
    for number in range(12):
        pose = Pose.at((3.0 * number, -7.0, 11.0), (31.0 * number, 17.0 * number, 5.0 * number))
        for pair in ((first, second), (second, first)):
            [found] = measure_pairs([(body(pair[0], pose), body(pair[1], pose))], np.array([required]))
            assert found.gap_mm < -1e-3, number


def test_a_block_flush_in_the_corner_of_a_hollow_stands_in_contact() -> None:
    """No plane parts the two; sunk in by 0.001 mm they overlap."""
    outer, inner = trimesh.creation.box((200, 200, 200)), trimesh.creation.box((196, 196, 196))
    inner.invert()
    hollow = mesh_of(trimesh.util.concatenate([outer, inner]))
    block = mesh_of(trimesh.creation.box((20, 20, 20)))
    for at in ((88.0, 0.0, 0.0), (88.0, 88.0, -88.0)):
        assert measure(body(hollow, IDENTITY), body(block, Pose.at(at))).gap_mm == pytest.approx(
            0.0, abs=1e-6
        )
        sunk = Pose.at((88.001, *at[1:]))
        assert measure(body(hollow, IDENTITY), body(block, sunk)).gap_mm < -1e-4
