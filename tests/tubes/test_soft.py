"""Soft tubes: automatic curves, cut lengths, and what they refuse."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layout3d.layout import Tube
from layout3d.scene.paths import AutoPath, CutPath
from layout3d.tubes.centreline import end_of, length_mm, start_of
from layout3d.tubes.turns import shortest_turns
from shapes.pose import Vec3
from shapes.primitives import Arc, Straight, TubeRun
from tests.tubes.jobs import SOFT, End, mouth, rules_of, scene_of, tube_of

START: End = ((0.0, 0.0, 0.0), "front")
CORNER: End = ((200.0, 160.0, 60.0), "floor")
NO_GAP = scene_of(tube_gap=0.0)


def curved(tube: Tube, start: End, end: End, radius: float = 60.0) -> None:
    """The run leaves and arrives along the mouths, goes on tangentially, and never bends below the radius."""
    assert tube.run is not None
    first, last = mouth(start), mouth(end)
    at, way = first.origin, first.z_axis
    for piece in tube.run.pieces:
        here, direction = start_of(piece)
        assert math.dist(here, at) < 1e-5
        assert math.dist(direction, way) < 1e-5
        at, way = end_of(piece)
    assert math.dist(at, last.origin) < 1e-5
    assert math.dist(way, -last.z_axis) < 1e-5
    if tube.least_bend_radius_mm is not None:
        assert tube.least_bend_radius_mm >= radius - 1e-6
        arcs = [piece.radius for piece in tube.run.pieces if isinstance(piece, Arc)]
        assert min(arcs) >= 0.97 * radius


def test_auto_is_longer_than_the_shortest_curve_that_keeps_the_radius() -> None:
    tubing = SOFT.model_copy(update={"bend_radius": 20.0})
    end: End = ((100.0, 80.0, 60.0), "floor")
    tube = tube_of(AutoPath(), START, end, tubing, scene=NO_GAP)
    curve = shortest_turns(((0.0, 0.0, 0.0), (1.0, 0.0, 0.0)), (end[0], (0.0, 0.0, 1.0)), 20.0)
    assert curve is not None
    assert tube.path_mm is not None
    assert length_mm(curve) < tube.path_mm < 1.1 * length_mm(curve)
    assert (tube.bends, tube.corners, tube.last_straight_mm) == (None, None, None)
    assert tube.findings == ()
    curved(tube, START, end, 20.0)


def test_each_end_runs_straight_until_the_gap_holds() -> None:
    tube = tube_of(AutoPath(), START, CORNER, SOFT)
    assert tube.run is not None
    first, last = tube.run.pieces[0], tube.run.pieces[-1]
    assert isinstance(first, Straight)
    assert isinstance(last, Straight)
    assert min(first.length, last.length) >= 3.0


def test_straight_across_has_no_bend() -> None:
    tube = tube_of(AutoPath(), START, ((40.0, 0.0, 0.0), "rear"), SOFT)
    assert tube.path_mm == pytest.approx(40.0)
    assert tube.least_bend_radius_mm is None


def test_a_cut_length_is_met_insertion_included() -> None:
    tube = tube_of(CutPath(400.0), START, CORNER, SOFT, insertions=(9.0, 11.0))
    assert tube.findings == ()
    assert tube.cut_mm == pytest.approx(400.0, abs=1e-6)
    assert tube.path_mm == pytest.approx(380.0, abs=1e-6)
    assert tube.least_bend_radius_mm is not None
    assert tube.least_bend_radius_mm >= 60.0


def test_a_cut_too_short_says_what_it_takes() -> None:
    tube = tube_of(CutPath(200.0), START, CORNER, SOFT, insertions=(9.0, 11.0))
    (finding,) = tube.findings
    assert (finding.rule, finding.measured_mm) == ("tube-too-short", 200.0)
    # No curve of 60 mm radius is shorter than arc, straight, arc with 3.05 mm straight at both ends.
    curve = shortest_turns(
        ((3.05, 0.0, 0.0), (1.0, 0.0, 0.0)), ((200.0, 160.0, 56.95), (0.0, 0.0, 1.0)), 60.0
    )
    assert curve is not None
    assert finding.required_mm == pytest.approx(length_mm(curve) + 6.1 + 20.0, abs=1e-6)
    assert (tube.path_mm, tube.cut_mm) == (None, None)
    assert tube.run is not None


def test_a_cut_at_which_it_kinks_says_which_length_does_not() -> None:
    shortest = tube_of(AutoPath(), START, CORNER, SOFT).path_mm
    assert shortest is not None
    tube = tube_of(CutPath(shortest - 1.0), START, CORNER, SOFT)
    (finding,) = tube.findings
    assert (finding.rule, finding.required_mm) == ("kink", 60.0)
    assert finding.measured_mm is not None
    assert 50.0 < finding.measured_mm < 60.0
    assert finding.remedy is not None
    advised = float(finding.remedy.split()[-2])
    assert tube_of(CutPath(advised), START, CORNER, SOFT).findings == ()


def test_the_length_auto_found_can_be_cut() -> None:
    shortest = tube_of(AutoPath(), START, CORNER, SOFT)
    assert shortest.path_mm is not None
    assert tube_of(CutPath(shortest.path_mm), START, CORNER, SOFT).findings == ()


def test_slack_in_a_straight_hangs_down() -> None:
    end: End = ((300.0, 0.0, 0.0), "rear")
    tube = tube_of(CutPath(310.0), START, end, SOFT)
    assert tube.cut_mm == pytest.approx(310.0, abs=1e-6)
    assert tube.run is not None
    curved(tube, START, end)
    heights = [end_of(piece)[0][2] for piece in tube.run.pieces]
    assert min(heights) < -20.0
    assert max(heights) < 1e-3


places = st.tuples(*[st.integers(-250, 250)] * 3).map(lambda place: tuple(float(v) for v in place))
words = st.sampled_from(("front", "rear", "roof", "floor", "window", "tray"))


@settings(max_examples=8, deadline=None)
@given(places, words, words)
def test_auto_finds_a_sound_curve_or_says_it_kinks(place: Vec3, leave: str, arrive: str) -> None:
    start, end = ((0.0, 0.0, 0.0), leave), (place, arrive)
    tube = tube_of(AutoPath(), start, end, SOFT)
    if tube.findings:
        assert rules_of(tube) == ["kink"]
        return
    assert tube.path_mm is not None
    assert tube.path_mm >= math.hypot(*place) - 1e-9
    curved(tube, start, end)


@settings(max_examples=6, deadline=None)
@given(places, words, words, st.floats(1.001, 2.5))
def test_a_cut_is_met_or_refused(place: Vec3, leave: str, arrive: str, slack: float) -> None:
    start, end = ((0.0, 0.0, 0.0), leave), (place, arrive)
    shortest = tube_of(AutoPath(), start, end, SOFT).path_mm
    if shortest is None:
        return
    tube = tube_of(CutPath(slack * shortest), start, end, SOFT)
    if tube.findings:
        assert rules_of(tube) == ["kink"]
    else:
        assert tube.cut_mm == pytest.approx(slack * shortest, abs=1e-6)
        curved(tube, start, end)


def test_more_slack_than_twice_the_way_is_always_met_for_a_wide_u() -> None:
    start, end = ((0.0, 0.0, 0.0), "roof"), ((200.0, 0.0, 0.0), "roof")
    for cut in (280.0, 300.0, 500.0, 1500.0):
        tube = tube_of(CutPath(cut), start, end, SOFT)
        assert tube.cut_mm == pytest.approx(cut, abs=1e-6)


def test_a_tighter_tube_is_never_longer() -> None:
    lengths = []
    for radius in (20.0, 40.0, 60.0, 80.0):
        curve = shortest_turns(
            ((0.0, 0.0, 0.0), (1.0, 0.0, 0.0)), ((200.0, 160.0, 60.0), (0.0, 0.0, 1.0)), radius
        )
        assert curve is not None
        lengths.append(length_mm(curve))
    assert lengths == sorted(lengths)


def test_a_shape_that_keeps_clear_is_taken_before_a_shorter_one() -> None:
    """A U from roof to roof with its top barred at what the shortest reaches: a longer one goes over."""
    start, end = ((0.0, 0.0, 0.0), "roof"), ((200.0, 0.0, 0.0), "roof")

    def top(tube: Tube) -> float:
        assert tube.run is not None
        return max(end_of(piece)[0][2] for piece in tube.run.pieces)

    low = top(tube_of(AutoPath(), start, end, SOFT))
    asked: list[float] = []

    def above(run: TubeRun) -> bool:
        asked.append(max(end_of(piece)[0][2] for piece in run.pieces))
        return asked[-1] > low + 20.0

    assert top(tube_of(AutoPath(), start, end, SOFT, keeps_clear=above)) > low + 20.0
    assert len(asked) > 1
