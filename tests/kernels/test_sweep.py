"""Moving past: what is said to pass never meets on the way, and what is refused does meet."""

from __future__ import annotations

import cadquery as cq
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layout3d.kernels.bodies import Body, body
from layout3d.kernels.measure import CONTACT_MM, measure
from layout3d.kernels.sweep import hulls, passes
from layout3d.realise import brep
from shapes.pose import IDENTITY, Array, Pose
from shapes.primitives import Box, Cylinder, Plate, Primitive, Prism, RoundOpening

from .test_properties import bend, convexes, poses


def free(a: Body, b: Body, travel: Array) -> bool:
    one, other = hulls(a.pieces), hulls(b.pieces)
    rows_a = np.repeat(np.arange(len(one)), len(other))
    rows_b = np.tile(np.arange(len(other)), len(one))
    each = np.broadcast_to(travel, (len(rows_a), 3))
    return bool(passes(one.take(rows_a), other.take(rows_b), each).all())


def at(primitive: Primitive, x: float, y: float, z: float) -> Body:
    return body(primitive, Pose.at((x, y, z)))


CUBE = Box((10.0, 10.0, 10.0))
FAR = np.array([200.0, 0.0, 0.0])


@pytest.mark.parametrize(
    ("other", "place", "can"),
    [
        (CUBE, (50.0, 0.0, 0.0), False),
        (CUBE, (50.0, 10.0, 0.0), True),  # slides along its face
        (CUBE, (50.0, 9.999, 0.0), False),
        (CUBE, (-10.0, 0.0, 0.0), True),  # in contact behind it
        (CUBE, (10.0, 0.0, 0.0), False),  # in contact before it
        (CUBE, (204.999, 0.0, 0.0), False),
        (CUBE, (210.0, 0.0, 0.0), True),  # beyond the journey's end
        (Cylinder(10.0, 40.0), (50.0, 10.0, 0.0), True),
        (Cylinder(10.0, 40.0), (50.0, 9.99, 0.0), False),
        (Prism(((-5.0, -5.0), (5.0, -5.0), (0.0, 5.0)), 40.0), (50.0, -10.0, 0.0), True),
        (Prism(((-5.0, -5.0), (5.0, -5.0), (0.0, 5.0)), 40.0), (50.0, -9.9, 0.0), False),
    ],
)
def test_a_cube_moved_to_the_front(other, place, can):
    assert free(at(CUBE, 0.0, 0.0, 0.0), at(other, *place), FAR) is can


def test_a_bar_through_a_round_opening():
    sheet = body(
        Plate((80.0, 80.0), 1.0, (RoundOpening((0.0, 0.0), 20.0),)), Pose.facing((60.0, 0.0, 0.0), (1, 0, 0))
    )
    along = Pose.facing((0.0, 0.0, 0.0), (1.0, 0.0, 0.0))
    assert free(body(Cylinder(19.8, 30.0), along), sheet, FAR)
    assert not free(body(Cylinder(20.2, 30.0), along), sheet, FAR)


ways = st.tuples(*[st.integers(-3, 3)] * 3).filter(any).map(lambda way: np.array(way, dtype=float))


@settings(max_examples=150, deadline=None)
@given(convexes, convexes, poses, ways, st.floats(1.0, 40.0))
def test_what_passes_never_meets_on_the_way(
    one: Primitive, two: Primitive, pose: Pose, way: Array, far: float
):
    a, b = body(one, IDENTITY), body(two, pose)
    travel = way / np.linalg.norm(way) * far
    if free(a, b, travel):
        for share in np.linspace(0.0, 1.0, 9):
            assert measure(a.moved(share * travel), b).gap_mm >= -10 * CONTACT_MM


@settings(max_examples=40, deadline=None)
@given(
    st.floats(2.0, 6.0),
    st.floats(7.0, 30.0),
    st.floats(0.3, 3.0),
    convexes,
    poses,
    ways,
    st.floats(1.0, 40.0),
)
def test_a_bend_that_passes_never_meets(
    radius: float, bend_radius: float, angle: float, two: Primitive, pose: Pose, way: Array, far: float
):
    a, b = body(bend(radius, bend_radius, angle), IDENTITY), body(two, pose)
    travel = way / np.linalg.norm(way) * far
    if free(a, b, travel):
        for share in np.linspace(0.0, 1.0, 9):
            assert measure(a.moved(share * travel), b).gap_mm >= -10 * CONTACT_MM


sides = st.floats(1.0, 12.0)


@settings(max_examples=60, deadline=None)
@given(st.tuples(sides, sides, sides), convexes, poses, st.sampled_from(range(3)), st.floats(1.0, 40.0))
def test_occt_agrees_on_a_box_moved_along_its_edge(size, two: Primitive, pose: Pose, axis: int, far: float):
    """A box moved along an edge covers a longer box: OCCT measures that one."""
    a, b = body(Box(size), IDENTITY), body(two, pose)
    travel = np.eye(3)[axis] * far
    longer = tuple(side + far * (axis == n) for n, side in enumerate(size))
    covered = brep.solid(Box(longer), Pose.at(tuple(travel / 2.0)))
    common = covered.intersect(brep.solid(two, pose))
    shared = common.Volume() if isinstance(common, cq.Shape) and common.isValid() else 0.0
    apart = covered.distance(brep.solid(two, pose))
    if free(a, b, travel):
        assert shared < 1e-6
    else:
        assert apart < 1e-5
