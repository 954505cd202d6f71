"""Tubes given by a bend table: published tables, the roll to the far mouth, misfits."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from layout3d.layout import Tube
from layout3d.scene.model import RigidTubing
from layout3d.scene.paths import BendsPath, BendStep
from layout3d.tubes.centreline import end_of
from shapes.pose import DIRECTIONS, Vec3
from tests.tubes.jobs import RIGID, End, rules_of, tube_of

ORIGIN: End = ((0.0, 0.0, 0.0), "front")


def table(last: float, *rows: tuple[float, float, float, float]) -> BendsPath:
    steps = (BendStep(straight=s, turn=t, bend=b, radius=r) for s, t, b, r in rows)
    return BendsPath(tuple(steps), last)


HALF_TURN = table(150.0, (100.0, 0.0, 90.0, 30.0), (50.0, 90.0, 180.0, 50.0))


def wide(radius: float) -> RigidTubing:
    return RigidTubing(
        kind="rigid", outside=radius, inside=radius / 2, bend_radius=radius, end_straight=0, between_bends=0
    )


def test_the_published_table_with_a_half_turn() -> None:
    # README of a public LRA converter; the length is 100 + 30 pi/2 + 50 + 50 pi + 150.
    tube = tube_of(HALF_TURN, ORIGIN, ((130.0, -70.0, 100.0), "tray"))
    assert tube.findings == ()
    assert tube.cut_mm == pytest.approx(504.203522, abs=1e-6)
    assert tube.corners is None
    assert tube.least_bend_radius_mm == 30.0
    assert tube.bends is not None
    assert [bend.bend_deg for bend in tube.bends] == pytest.approx([90.0, 180.0])
    assert [bend.turn_deg for bend in tube.bends] == pytest.approx([0.0, 90.0])


def test_the_published_bend_machine_report() -> None:
    # CAD help, "Example: Bend Machine Report", beside the points of its "Bend Location Report".
    rows = ((935.39, 0.0, 90.0, 560.0), (8980.0, 180.0, 90.0, 560.0), (1374.0, 90.37, 90.0, 560.0))
    bottom: End = ((0.0, 0.0, 0.0), "roof")
    top: End = ((5718.30, 10136.89, 3989.39), (-5718.30, -36.89, 0.0))
    tube = tube_of(table(5158.41, *rows), bottom, top, wide(560.0))
    assert tube.findings == ()
    assert tube.run is not None
    # The report rounds to 0.01 mm and 0.01 degrees; 5.7 m on, that is a millimetre.
    assert tube.cut_mm == pytest.approx(19086.746820, abs=0.01)
    assert math.dist(end_of(tube.run.pieces[-1])[0], (5718.30, 10136.89, 3989.39)) < 0.1
    # The report prints magnitudes of the turns: the other sense does not lead to the published end.
    mirrored = table(5158.41, *((s, -t, b, r) for s, t, b, r in rows))
    assert rules_of(tube_of(mirrored, bottom, top, wide(560.0))) == ["port-direction"]


def test_the_published_forum_points() -> None:
    # Points of a maths forum thread; the table with bends of radius 1 follows from them.
    path = table(2.368, (5.794, 0.0, 90.0, 1.0), (1.625882, 180.0, 90.0, 1.0))
    tube = tube_of(
        path, ((38.5202, -14.0264, 0.0), "front"), ((48.6822, -17.5214, 0.9654), "rear"), wide(1.0)
    )
    assert tube.findings == ()
    assert tube.cut_mm == pytest.approx(12.929475, abs=1e-5)
    assert tube.corners is not None
    assert tube.corners[1] == pytest.approx((45.3142, -17.5214, 0.9654), abs=1e-4)


@given(st.floats(-180.0, 180.0), st.floats(0.0, 360.0))
def test_the_table_is_rolled_to_its_end_whatever_its_first_turn(first_turn: float, roll: float) -> None:
    # The end of the half-turn table, turned about the first mouth's axis, which runs along x.
    cos, sin = math.cos(math.radians(roll)), math.sin(math.radians(roll))
    turned: Vec3 = (130.0, -70.0 * cos - 100.0 * sin, -70.0 * sin + 100.0 * cos)
    path = table(150.0, (100.0, first_turn, 90.0, 30.0), (50.0, 90.0, 180.0, 50.0))
    tube = tube_of(path, ORIGIN, (turned, (0.0, cos, sin)))
    assert tube.findings == ()
    assert tube.bends is not None
    assert tube.bends[0].turn_deg == 0.0


def test_an_end_on_the_axis_leaves_the_roll_to_the_first_turn() -> None:
    # Out and back to the axis: an S of two bends there and two back; its plane is what the first turn says.
    later = ((30.0, 180.0, 90.0, 36.0), (30.0, 0.0, 90.0, 36.0), (30.0, 180.0, 90.0, 36.0))
    for first, expected in ((0.0, 0.0), (90.0, 1.0)):
        path = table(30.0, (30.0, first, 90.0, 36.0), *later)
        tube = tube_of(path, ORIGIN, ((234.0, 0.0, 0.0), "rear"))
        assert tube.findings == ()
        assert tube.corners is not None
        # The mouth's x axis is the roof; a bend goes right hand about it, from front toward tray.
        assert abs(tube.corners[1][2]) == pytest.approx(102.0 * expected, abs=1e-9)


def test_a_rounded_table_keeps_its_figures_and_its_solid_ends_at_the_mouth() -> None:
    path = table(149.7, (100.0, 0.0, 90.0, 30.0), (50.0, 90.0, 180.0, 50.0))
    tube = tube_of(path, ORIGIN, ((130.0, -70.0, 100.0), "tray"))
    assert tube.findings == ()
    assert tube.run is not None
    assert tube.last_straight_mm == pytest.approx(149.7)
    assert tube.path_mm == pytest.approx(504.203522 - 0.3, abs=1e-6)
    end, direction = end_of(tube.run.pieces[-1])
    assert math.dist(end, (130.0, -70.0, 100.0)) < 0.3
    # Within the tolerance the end may be tilted: then its rim, 7 mm out, just reaches the mouth's plane.
    axis = tuple(-value for value in DIRECTIONS["tray"])
    beyond = sum((e - m) * a for e, m, a in zip(end, (130.0, -70.0, 100.0), axis, strict=True))
    rim = 7.0 * math.sin(math.acos(min(1.0, sum(a * d for a, d in zip(axis, direction, strict=True)))))
    assert beyond + rim == pytest.approx(0.0, abs=1e-3)
    assert beyond + rim <= 1e-6


def test_an_end_that_misses_is_told_with_its_miss() -> None:
    tube = tube_of(HALF_TURN, ORIGIN, ((130.0, -70.0 * 0.9, 100.0 * 0.9), "tray"))
    miss = next(finding for finding in tube.findings if finding.rule == "tube-misfit")
    # Rolled as near as it goes, it ends a tenth of its distance from the axis away.
    assert miss.measured_mm is not None
    assert 0.1 * math.hypot(70.0, 100.0) - 1e-6 <= miss.measured_mm <= 0.11 * math.hypot(70.0, 100.0)
    assert miss.parts == ("right", "over")
    assert miss.direction is not None
    assert tube.run is not None


def test_an_end_that_arrives_askew() -> None:
    tube = tube_of(HALF_TURN, ORIGIN, ((130.0, -70.0, 100.0), (1.0, 1.0, 0.0)))
    assert "port-direction" in rules_of(tube)


def test_short_straights_in_a_table() -> None:
    path = table(150.0, (19.0, 0.0, 90.0, 36.0), (13.0, 0.0, 90.0, 36.0))
    tube: Tube = tube_of(path, ORIGIN, ((-131.0, 85.0, 0.0), "front"))
    found = {finding.rule: finding for finding in tube.findings}
    assert set(found) == {"end-straight", "bend-spacing"}
    assert found["end-straight"].measured_mm == 19.0
    assert found["bend-spacing"].measured_mm == 13.0
    assert "between bend 1 and bend 2" in found["bend-spacing"].message


def test_a_radius_below_the_tubes_own() -> None:
    path = table(150.0, (100.0, 0.0, 90.0, 6.0))
    tube = tube_of(path, ORIGIN, ((106.0, 156.0, 0.0), "window"))
    (finding,) = tube.findings
    assert (finding.rule, finding.measured_mm, finding.required_mm) == ("bend-radius", 6.0, RIGID.outside / 2)


def test_no_bends_and_no_length() -> None:
    tube = tube_of(BendsPath((), 0.0), ORIGIN, ((50.0, 0.0, 0.0), "rear"))
    assert rules_of(tube) == ["tube-misfit"]
    assert tube.run is None
