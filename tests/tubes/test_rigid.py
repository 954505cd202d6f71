"""Rigid tubes from corners, legs, a straight and a search: values, findings, remedies."""

from __future__ import annotations

import dataclasses
import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from layout3d.errors import SceneErrors
from layout3d.layout import Tube
from layout3d.scene.model import RigidTubing
from layout3d.scene.paths import AutoPath, CornersPath, CutPath, Leg, LegsPath, StraightPath
from layout3d.tubes.request import NoRoute, RouteAnswer, RouteRequest
from shapes.pose import DIRECTIONS, Vec3
from shapes.primitives import Arc
from tests.tubes.jobs import RIGID, SOFT, End, mouth, rules_of, scene_of, tube_of

START: End = ((0.0, 0.0, 0.0), "front")
END: End = ((320.0, 150.0, 180.0), "rear")
CORNERS = ((200.0, 0.0, 0.0), (200.0, 150.0, 0.0), (200.0, 150.0, 180.0))


#: Poses are equal only to themselves.
MOUTHS = (mouth(START), mouth(END))


def by_corners(*corners: Vec3, start: End = START, end: End = END, tubing: RigidTubing = RIGID) -> Tube:
    return tube_of(CornersPath(corners), start, end, tubing)


def legs(*steps: tuple[str, float]) -> LegsPath:
    return LegsPath(tuple(Leg(DIRECTIONS[word], length) for word, length in steps))


def test_corners_give_all_figures() -> None:
    tube = tube_of(CornersPath(CORNERS), START, END, insertions=(9.0, 11.0))
    assert tube.findings == ()
    assert tube.run is not None
    assert tube.bends is not None
    assert tube.path_mm == pytest.approx(603.646003, abs=1e-6)
    assert tube.cut_mm == pytest.approx(603.646003 + 20.0, abs=1e-6)
    assert tube.least_bend_radius_mm == 36.0
    assert tube.corners == CORNERS
    assert tube.last_straight_mm == pytest.approx(84.0)
    # The mark is where the bend starts on the cut piece: insertion, then the straight.
    assert tube.bends[0].mark_mm == pytest.approx(9.0 + 164.0)
    assert tube.bends[1].mark_mm == pytest.approx(9.0 + 164.0 + 18.0 * math.pi + 78.0)


def test_legs_are_the_corners_they_lead_to() -> None:
    tube = tube_of(legs(("front", 200.0), ("tray", 150.0), ("roof", 180.0)), START, END)
    assert dataclasses.replace(tube, mouths=MOUTHS) == dataclasses.replace(
        by_corners(*CORNERS), mouths=MOUTHS
    )


def test_legs_move_with_their_end() -> None:
    tube = tube_of(
        legs(("front", 200.0), ("tray", 150.0), ("roof", 180.0)), START, ((350.0, 150.0, 180.0), "rear")
    )
    assert tube.findings == ()
    assert tube.last_straight_mm == pytest.approx(114.0)


def test_a_straight_tube() -> None:
    tube = tube_of(StraightPath(), START, ((15.0, 0.0, 0.0), "rear"))
    assert tube.findings == ()
    assert (tube.path_mm, tube.bends, tube.corners) == (15.0, (), ())
    assert tube.last_straight_mm == 15.0
    assert tube.least_bend_radius_mm is None


def test_a_straight_tube_off_both_axes() -> None:
    tube = tube_of(StraightPath(), START, ((100.0, 10.0, 0.0), "rear"))
    assert rules_of(tube) == ["port-direction", "port-direction"]
    assert [finding.parts for finding in tube.findings] == [("left", "over"), ("right", "over")]
    assert "5.71 degrees" in tube.findings[0].message


def test_end_straight_short() -> None:
    tube = by_corners((50.0, 0.0, 0.0), (50.0, 150.0, 0.0), (50.0, 150.0, 180.0))
    (finding,) = tube.findings
    assert (finding.rule, finding.parts) == ("end-straight", ("left", "over"))
    assert (finding.measured_mm, finding.required_mm) == (pytest.approx(14.0), 20.0)
    assert finding.where == "two.yaml:41"
    assert finding.remedy == "move corners 1 to 3 by 6 mm toward the front"
    mended = by_corners((56.0, 0.0, 0.0), (56.0, 150.0, 0.0), (56.0, 150.0, 180.0))
    assert mended.findings == ()


def test_last_straight_short_names_the_far_part() -> None:
    tube = by_corners((270.0, 0.0, 0.0), (270.0, 150.0, 0.0), (270.0, 150.0, 180.0))
    (finding,) = tube.findings
    assert (finding.rule, finding.parts) == ("end-straight", ("right", "over"))
    assert finding.measured_mm == pytest.approx(14.0)


def test_exactly_the_rule_is_clear() -> None:
    # End straights 20, between bends 14: legs of 56, 86, 86, 56 with two set-backs of 36 each.
    end: End = ((112.0, 86.0, 86.0), "rear")
    corners = ((56.0, 0.0, 0.0), (56.0, 86.0, 0.0), (56.0, 86.0, 86.0))
    assert by_corners(*corners, end=end).findings == ()
    shorter = tuple((x, min(y, 86.0 - 2e-6), z) for x, y, z in corners)
    near = ((112.0, 86.0 - 2e-6, 86.0), "rear")
    assert rules_of(by_corners(*shorter, end=near)) == ["bend-spacing"]


def test_bend_spacing_keeps_the_worst() -> None:
    end: End = ((320.0, 75.0, 80.0), "rear")
    tube = by_corners((200.0, 0.0, 0.0), (200.0, 75.0, 0.0), (200.0, 75.0, 80.0), end=end)
    (finding,) = tube.findings
    assert (finding.rule, finding.parts) == ("bend-spacing", ("over",))
    assert (finding.measured_mm, finding.required_mm) == (pytest.approx(3.0), 14.0)
    assert tube.path_mm is not None


def test_bend_radius_says_what_fits_and_checks_that_run() -> None:
    end: End = ((320.0, 60.0, 180.0), "rear")
    tube = by_corners((200.0, 0.0, 0.0), (200.0, 60.0, 0.0), (200.0, 60.0, 180.0), end=end)
    (finding,) = tube.findings
    assert finding.rule == "bend-radius"
    # Two set-backs of R tan 45 share 60 mm.
    assert (finding.measured_mm, finding.required_mm) == (pytest.approx(30.0), 36.0)
    assert finding.at_mm == (200.0, 30.0, 0.0)
    assert tube.run is not None
    assert [piece.radius for piece in tube.run.pieces if isinstance(piece, Arc)] == pytest.approx(
        [30.0, 30.0, 36.0]
    )
    assert (tube.path_mm, tube.cut_mm, tube.bends, tube.corners) == (None,) * 4
    # (60 - 14) / 2: the radius that leaves the straight between the bends as well.
    assert "a tubing that bends to 23 mm" in str(finding.remedy)
    assert (
        by_corners(
            (200.0, 0.0, 0.0),
            (200.0, 60.0, 0.0),
            (200.0, 60.0, 180.0),
            end=end,
            tubing=RIGID.model_copy(update={"bend_radius": 23.0}),
        ).findings
        == ()
    )


def test_a_fold_is_refused_in_words() -> None:
    tube = by_corners((200.0, 0.0, 0.0), (100.0, 0.0, 0.0), (100.0, 150.0, 0.0), (100.0, 150.0, 180.0))
    (finding,) = tube.findings
    assert (finding.rule, finding.measured_mm) == ("bend-radius", 0.0)
    assert "folds straight back at corner 1" in finding.message
    assert tube.run is None


@pytest.mark.parametrize(
    ("corners", "named"),
    [
        (((200.0, 0.0, 0.0), (200.0, 0.0, 0.0), *CORNERS[1:]), "corner 1 and corner 2"),
        (((0.0, 0.0, 0.0), *CORNERS), "left.out and corner 1"),
        ((*CORNERS, END[0]), "corner 4 and right.in"),
    ],
)
def test_two_points_in_one_place(corners: tuple[Vec3, ...], named: str) -> None:
    tube = by_corners(*corners)
    (finding,) = tube.findings
    assert finding.rule == "path-corners"
    assert named in finding.message
    assert tube.run is None


def test_port_direction_names_angle_and_offset() -> None:
    tube = by_corners((200.0, 5.0, 0.0), (200.0, 150.0, 0.0), (200.0, 150.0, 180.0))
    (finding,) = tube.findings
    assert (finding.rule, finding.parts, finding.at_mm) == (
        "port-direction",
        ("left", "over"),
        (0.0, 0.0, 0.0),
    )
    assert f"{math.degrees(math.atan2(5.0, 200.0)):.2f} degrees" in finding.message
    assert "5 mm beside it" in finding.message
    assert finding.remedy == "move corner 1 by 5 mm toward the window"
    assert tube.path_mm is not None


def test_port_direction_behind_the_mouth() -> None:
    tube = by_corners((-100.0, 0.0, 0.0), (-100.0, 150.0, 0.0), (-100.0, 150.0, 180.0))
    finding = next(finding for finding in tube.findings if finding.rule == "port-direction")
    assert "180 degrees" in finding.message
    assert "behind the mouth" in finding.message


def test_last_leg_off_axis_gives_the_leg_that_mends_it() -> None:
    tube = tube_of(legs(("front", 200.0), ("tray", 140.0), ("roof", 180.0)), START, END)
    (finding,) = tube.findings
    assert (finding.rule, finding.parts) == ("port-direction", ("right", "over"))
    assert finding.remedy == "make leg 2 150 mm (now 140)"
    assert tube_of(legs(("front", 200.0), ("tray", 150.0), ("roof", 180.0)), START, END).findings == ()


def test_angles_within_the_tolerance_are_none() -> None:
    aside = 200.0 * math.radians(0.9e-6)
    assert by_corners((200.0, aside, 0.0), *CORNERS[1:]).findings == ()
    assert rules_of(by_corners((200.0, 3.0 * aside, 0.0), *CORNERS[1:])) == ["port-direction"]


MOVE = re.compile(r"move corners? (\d+)(?: to (\d+))? by ([\d.]+) mm toward the (\w+)")


@given(st.tuples(*[st.integers(20, 120)] * 4))
def test_every_advised_move_of_corners_is_true(lengths: tuple[int, int, int, int]) -> None:
    a, b, c, d = lengths
    corners = ((a, 0.0, 0.0), (a, b, 0.0), (a, b, c))
    end: End = ((float(a + d), float(b), float(c)), "rear")
    tube = by_corners(*corners, end=end)
    for finding in tube.findings:
        found = MOVE.search(finding.remedy or "")
        if found is None:
            continue
        first, last = int(found[1]), int(found[2] or found[1])
        shift = [float(found[3]) * axis for axis in DIRECTIONS[found[4]]]
        moved = tuple(
            tuple(v + s for v, s in zip(corner, shift, strict=True)) if first <= k <= last else corner
            for k, corner in enumerate(corners, start=1)
        )
        after = by_corners(*moved, end=end)  # type: ignore[arg-type]
        kinds = {(f.rule, f.parts) for f in tube.findings} - {(finding.rule, finding.parts)}
        worse = {(f.rule, f.parts) for f in after.findings}
        assert worse <= kinds | {(finding.rule, finding.parts)}
        assert len(after.findings) <= len(tube.findings)
        same = [f for f in after.findings if (f.rule, f.parts) == (finding.rule, finding.parts)]
        assert all(f.at_mm != finding.at_mm for f in same)


def test_a_search_is_asked_all_it_needs_and_believed() -> None:
    asked: list[RouteRequest] = []

    def search(request: RouteRequest) -> RouteAnswer:
        asked.append(request)
        return RouteAnswer(corners=CORNERS, searched="some runs", cost_mm=723.6, bound_mm=700.0, proved=False)

    tube = tube_of(AutoPath(), START, END, search=search)
    assert (asked[0].tubing, asked[0].near, asked[0].angles) == (RIGID, (("left",), ("right",)), (45.0, 90.0))
    assert tube.path_mm == pytest.approx(603.646003, abs=1e-6)
    assert tube.search is not None
    assert (tube.search.searched, tube.search.bound_mm, tube.search.proved) == ("some runs", 700.0, False)


def test_a_search_that_finds_none_is_a_finding() -> None:
    def search(request: RouteRequest) -> NoRoute:
        return NoRoute(
            reason="the card is in the way", searched="runs of 2 bends", proved=True, parts=("card",)
        )

    tube = tube_of(AutoPath(), START, END, search=search)
    (finding,) = tube.findings
    assert (finding.rule, finding.parts) == ("no-path", ("card", "over"))
    assert "the card is in the way" in finding.message
    assert "runs of 2 bends" in finding.message
    assert tube.run is None


@pytest.mark.parametrize(("path", "tubing"), [(CutPath(300.0), RIGID), (CornersPath(CORNERS), SOFT)])
def test_a_form_of_the_other_kind_is_refused(path: CutPath | CornersPath, tubing: RigidTubing) -> None:
    with pytest.raises(SceneErrors, match=r"two.yaml:41: tubes.over.path: .*tubing 'some' is (rigid|soft)"):
        tube_of(path, START, END, tubing, scene=scene_of())
