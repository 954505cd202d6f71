"""Reach of primitives against dense sampling of their surfaces."""

import math

import numpy as np
from hypothesis import example, given
from hypothesis import strategies as st

from shapes.bounds import primitive_box, primitive_span
from shapes.pose import IDENTITY, Pose, unit
from shapes.primitives import Arc, Box, Cylinder, Plate, Prism, Straight, TubeRun

DIRECTIONS = st.tuples(*[st.floats(-1, 1)] * 3).filter(lambda v: math.hypot(*v) > 0.1)
ARC = Arc((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), 36.0, math.radians(135.0))
RUN = TubeRun((Straight((36.0, -50.0, 0.0), (36.0, 0.0, 0.0)), ARC), 14.0, 10.0)


def sampled(run: TubeRun) -> np.ndarray:
    """Points of every cross-section's rim."""
    points = []
    around = np.linspace(0, 2 * np.pi, 181)
    for piece in run.pieces:
        for share in np.linspace(0, 1, 721):
            if isinstance(piece, Straight):
                start, end = np.array(piece.start), np.array(piece.end)
                centre, travel = start + share * (end - start), unit(end - start)
                side = np.array([1.0, 0.0, 0.0])
            else:
                a = share * piece.angle
                out, along = np.array(piece.outward), np.array(piece.along)
                side = np.cos(a) * out + np.sin(a) * along
                centre = np.array(piece.centre) + piece.radius * side
                travel = -np.sin(a) * out + np.cos(a) * along
            other = np.cross(travel, side)
            rim = np.outer(np.cos(around), side) + np.outer(np.sin(around), other)
            points.append(centre + run.outside / 2 * rim)
    return np.vstack(points)


SAMPLE = sampled(RUN)


@given(DIRECTIONS)
@example((0.0, 1.0, 5e-10))  # all but along the straight: 1 - cos^2 has no digits left there
def test_a_tube_reaches_as_far_as_its_sampled_surface(direction: tuple[float, float, float]) -> None:
    n = unit(direction)
    low, high = primitive_span(RUN, IDENTITY, n)
    reach = SAMPLE @ n
    # A sample never reaches further; steps of half a degree fall short by at most 5e-3 mm.
    assert reach.max() - 1e-9 <= high <= reach.max() + 5e-3
    assert low - 1e-9 <= reach.min() <= low + 5e-3


@given(DIRECTIONS, st.tuples(*[st.floats(-180, 180)] * 3))
def test_turning_a_part_turns_its_span(direction, rotate) -> None:
    n = unit(direction)
    pose = Pose.at((10.0, 20.0, 30.0), rotate)
    triangle = Prism(((0.0, 0.0), (30.0, 0.0), (0.0, 40.0)), 5.0)
    sheet = Plate((30.0, 20.0), 1.0)
    for primitive in (Box((10.0, 20.0, 30.0)), Cylinder(12.0, 40.0), sheet, triangle, RUN):
        own_low, own_high = primitive_span(primitive, IDENTITY, pose.rotation.T @ n)
        low, high = primitive_span(primitive, pose, n)
        assert math.isclose(high - low, own_high - own_low, abs_tol=1e-9)
        assert math.isclose(low, own_low + float(pose.origin @ n), abs_tol=1e-9)
        corners = primitive_box(primitive, pose)
        spans = np.array([primitive_span(primitive, pose, axis) for axis in np.eye(3)])
        np.testing.assert_allclose(np.column_stack(corners), spans, atol=1e-9)


def test_box_and_cylinder_along_their_axes() -> None:
    x = np.array([1.0, 0.0, 0.0])
    assert primitive_span(Box((10.0, 20.0, 30.0)), Pose.at((5.0, 0.0, 0.0)), x) == (0.0, 10.0)
    assert primitive_span(Cylinder(12.0, 40.0), IDENTITY, x) == (-6.0, 6.0)
    turned = Pose.at((0.0, 0.0, 0.0), (0.0, 90.0, 0.0))
    assert primitive_span(Cylinder(12.0, 40.0), turned, x) == (-20.0, 20.0)
