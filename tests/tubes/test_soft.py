"""Soft tubes: automatic curves, cut lengths, and what they refuse."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layout3d.layout import Tube
from layout3d.scene.model import AutoPath, CutPath, SoftTubing
from layout3d.tubes.centreline import length_mm
from layout3d.tubes.turns import shortest_turns
from shapes.pose import Vec3
from shapes.primitives import Arc, Straight
from tests.tubes.jobs import SOFT, End, mouth, rules_of, scene_of, tube_of
from tests.tubes.test_turns import sound

START: End = ((0.0, 0.0, 0.0), "front")
CORNER: End = ((200.0, 160.0, 60.0), "floor")
NO_GAP = scene_of(tube_gap=0.0)


def curved(tube: Tube, start: End, end: End, radius: float = 60.0) -> None:
    assert tube.run is not None
    first, last = mouth(start), mouth(end)
    begin: Vec3 = tuple(first.origin.tolist())
    finish: Vec3 = tuple(last.origin.tolist())
    rays = ((begin, tuple(first.z_axis.tolist())), (finish, tuple((-last.z_axis).tolist())))
    sound(tube.run.pieces, rays[0], rays[1], radius)  # type: ignore[arg-type]


def test_auto_is_the_shortest_curve_where_no_gap_is_asked() -> None:
    tube = tube_of(
        AutoPath(),
        START,
        ((100.0, 80.0, 60.0), "floor"),
        SOFT.model_copy(update={"bend_radius": 20.0}),
        scene=NO_GAP,
    )
    # Worked out independently: 147.960697591.
    assert tube.path_mm == pytest.approx(147.960697591, abs=1e-6)
    assert tube.least_bend_radius_mm == 20.0
    assert (tube.bends, tube.corners, tube.last_straight_mm) == (None, None, None)
    assert tube.findings == ()
    curved(tube, START, ((100.0, 80.0, 60.0), "floor"), 20.0)


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


def test_ports_nearer_than_two_radii_take_the_bulb() -> None:
    # Both up, 40 apart, radius 60: in a plane three arcs about the corners of a triangle of sides 120, 120
    # and 160 are the shortest (Dubins 1957): a half-turn, and four times the angle at its base.
    start, end = ((0.0, 0.0, 0.0), "roof"), ((40.0, 0.0, 0.0), "roof")
    tube = tube_of(AutoPath(), start, end, SOFT, scene=NO_GAP)
    side = math.acos(80.0 / 120.0)
    three_arcs = 60.0 * (math.pi + 4.0 * side)
    assert tube.path_mm is not None
    assert three_arcs - 1e-6 <= tube.path_mm <= three_arcs * 1.002
    curved(tube, start, end)


def test_a_cut_length_is_met_insertion_included() -> None:
    tube = tube_of(CutPath(400.0), START, CORNER, SOFT, insertions=(9.0, 11.0))
    assert tube.findings == ()
    assert tube.cut_mm == pytest.approx(400.0, abs=1e-6)
    assert tube.path_mm == pytest.approx(380.0, abs=1e-6)
    assert tube.least_bend_radius_mm == 60.0


def test_a_cut_too_short_says_what_it_takes() -> None:
    shortest = tube_of(AutoPath(), START, CORNER, SOFT, insertions=(9.0, 11.0))
    assert shortest.cut_mm is not None
    tube = tube_of(CutPath(200.0), START, CORNER, SOFT, insertions=(9.0, 11.0))
    (finding,) = tube.findings
    assert (finding.rule, finding.measured_mm) == ("tube-too-short", 200.0)
    assert finding.required_mm == pytest.approx(shortest.cut_mm, abs=1e-6)
    assert (tube.path_mm, tube.cut_mm) == (None, None)
    assert tube.run == shortest.run
    enough = math.ceil(shortest.cut_mm * 100.0) / 100.0
    assert f"cut it to {enough:.2f}".rstrip("0").rstrip(".") in str(finding.remedy)
    assert tube_of(CutPath(enough), START, CORNER, SOFT, insertions=(9.0, 11.0)).findings == ()


def test_exactly_the_shortest_is_enough() -> None:
    shortest = tube_of(AutoPath(), START, CORNER, SOFT)
    assert shortest.path_mm is not None
    assert tube_of(CutPath(shortest.path_mm), START, CORNER, SOFT).findings == ()
    assert rules_of(tube_of(CutPath(shortest.path_mm - 1e-5), START, CORNER, SOFT)) == ["tube-too-short"]


def test_slack_in_a_straight_hangs_down() -> None:
    end: End = ((300.0, 0.0, 0.0), "rear")
    tube = tube_of(CutPath(310.0), START, end, SOFT)
    assert tube.cut_mm == pytest.approx(310.0, abs=1e-6)
    assert tube.run is not None
    curved(tube, START, end)
    lowest = min(piece.end[2] for piece in tube.run.pieces if isinstance(piece, Straight))
    highest = max(piece.end[2] for piece in tube.run.pieces if isinstance(piece, Straight))
    assert lowest < -5.0
    assert highest <= 1e-9


def test_a_length_no_curve_has_says_which_radius_would_do() -> None:
    # Ends little more than a radius apart: one corner, or a whole detour, and no length between the two.
    start, end = ((0.0, 0.0, 0.0), "front"), ((100.0, 80.0, 60.0), "floor")
    tube = tube_of(CutPath(300.0), start, end, SOFT)
    (finding,) = tube.findings
    assert (finding.rule, finding.required_mm) == ("bend-radius", 60.0)
    assert finding.measured_mm is not None
    would_do = SOFT.model_copy(update={"bend_radius": finding.measured_mm})
    mended = tube_of(CutPath(300.0), start, end, would_do)
    assert mended.findings == ()
    assert mended.cut_mm == pytest.approx(300.0, abs=1e-6)


places = st.tuples(*[st.integers(-250, 250)] * 3).map(lambda place: tuple(float(v) for v in place))
words = st.sampled_from(("front", "rear", "roof", "floor", "window", "tray"))


@settings(max_examples=30, deadline=None)
@given(places, words, words)
def test_auto_always_finds_a_sound_curve(place: Vec3, leave: str, arrive: str) -> None:
    start, end = ((0.0, 0.0, 0.0), leave), (place, arrive)
    tube = tube_of(AutoPath(), start, end, SOFT)
    assert tube.findings == ()
    assert tube.path_mm is not None
    assert tube.path_mm >= math.hypot(*place) - 1e-9
    curved(tube, start, end)


@settings(max_examples=12, deadline=None)
@given(places, words, words, st.floats(1.001, 2.5))
def test_a_cut_is_met_or_refused(place: Vec3, leave: str, arrive: str, slack: float) -> None:
    start, end = ((0.0, 0.0, 0.0), leave), (place, arrive)
    shortest = tube_of(AutoPath(), start, end, SOFT).path_mm
    assert shortest is not None
    tube = tube_of(CutPath(slack * shortest), start, end, SOFT)
    if tube.findings:
        assert rules_of(tube) == ["bend-radius"]
        assert tube.path_mm is None
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


def test_only_arcs_and_straights_and_no_deviation() -> None:
    tubing = SoftTubing(kind="soft", outside=16, inside=10, bend_radius=45)
    tube = tube_of(AutoPath(), START, CORNER, tubing)
    assert tube.run is not None
    assert {type(piece) for piece in tube.run.pieces} == {Arc, Straight}
    assert tube.run.deviation == 0.0
