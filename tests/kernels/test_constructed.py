"""Pairs of every kind whose gap, depth or containment is known by how they were set up.

The full campaign of 80,000 is ``python -m benchmarks.campaign``; the same draws, fewer of them.
Reaches are found from corners, discs and sampled bends, and the meshes by qhull (scipy).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np
import pytest

from layout3d.kernels.bodies import body
from layout3d.kernels.measure import measure
from shapes.pose import IDENTITY, Pose
from shapes.primitives import Arc, Box, Straight, TubeRun

from .campaign import tallied
from .constructed import Known, draw_apart, draw_deep, draw_in_openings, draw_inside

TIGHT_MM = 1e-6


@pytest.mark.parametrize(
    "draw",
    [
        pytest.param(lambda: draw_apart(360, 101, structured=True), id="near-touching"),
        pytest.param(lambda: draw_apart(360, 102, structured=False), id="random"),
        pytest.param(lambda: draw_in_openings(180, 103), id="in-an-opening"),
    ],
)
def test_gaps_are_those_the_pairs_were_set_up_with(draw: Callable[[], Iterator[Known]]) -> None:
    told = tallied(list(draw()))
    assert not told.wrong
    assert told.gap_error_mm <= TIGHT_MM


@pytest.mark.parametrize(("count", "structured"), [(180, True), (30, False)])
def test_depths_are_the_least_translation_and_never_less(count: int, structured: bool) -> None:
    told = tallied(list(draw_deep(count, 104, structured)))
    assert not told.wrong
    assert told.depth_error_mm <= TIGHT_MM
    assert told.understated_mm <= TIGHT_MM


def test_what_is_inside_another_solid_is_found() -> None:
    assert tallied(list(draw_inside(90, 105))).missed_inside == 0


@pytest.mark.parametrize("end", [(-1.0, 0.0, 0.0), (0.0, -1.0, 0.0)], ids=["last", "first"])
@pytest.mark.parametrize("gap", [0.5, 1e-4, -1e-5, -1e-3, -0.1])
def test_a_bend_that_ends_on_a_face_ends_in_a_whole_disc(end: tuple[float, ...], gap: float) -> None:
    """A quarter bend's two end discs lie in the planes x = 0 and y = 0; a box's face is ``gap`` off."""
    run = TubeRun((Arc((0, 0, 0), (1, 0, 0), (0, 1, 0), 30.0, np.pi / 2),), 16.0, 12.0)
    at = (20.0 + gap) * np.array(end) + 30.0 * np.array((-end[1], -end[0], 0.0))
    found = measure(body(run, IDENTITY), body(Box((40, 40, 40)), Pose.at(at)))
    if gap > 0.0:
        assert found.gap_mm == pytest.approx(gap, abs=TIGHT_MM)
    else:
        assert found.gap_mm <= gap + TIGHT_MM


@pytest.mark.parametrize("gap", [0.5, 1e-4, -1e-3])
def test_a_tubes_deviation_is_taken_off_its_gap(gap: float) -> None:
    straight = Straight((-50, 0, 0), (50, 0, 0))
    bend = Arc((0, 0, -30.0), (0, 0, 1), (1, 0, 0), 30.0, 1.0)
    for piece in (straight, bend):
        run = TubeRun((piece,), 16.0, 12.0, deviation=0.3)
        box = body(Box((40, 40, 40)), Pose.at((10.0 if piece is bend else 0.0, 0.0, 28.3 + gap)))
        found = measure(body(run, IDENTITY), box)
        assert found.gap_mm == pytest.approx(gap, abs=TIGHT_MM) if gap > 0 else found.gap_mm <= gap + TIGHT_MM


def test_the_points_of_an_overlap_meet_when_it_is_undone() -> None:
    """Box faces overlap by 2 mm along x: the point of each lies in its own face and box."""
    first, second = Box((40, 40, 40)), Box((10, 10, 10))
    found = measure(body(first, IDENTITY), body(second, Pose.at((23.0, 1.0, 2.0))))
    assert found.point_a is not None
    assert found.point_b is not None
    np.testing.assert_allclose(found.direction, (1.0, 0.0, 0.0), atol=1e-9)
    np.testing.assert_allclose(np.subtract(found.point_a, found.point_b), (2.0, 0.0, 0.0), atol=TIGHT_MM)
    assert found.point_a[0] == pytest.approx(20.0, abs=TIGHT_MM)
