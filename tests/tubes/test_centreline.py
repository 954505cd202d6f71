"""Corners to centrelines to bend tables, against published examples, handbook rows and OCCT."""

from __future__ import annotations

import math
from itertools import pairwise

import cadquery as cq
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from layout3d.tubes.centreline import (
    Piece,
    Row,
    bend_table,
    corners_of,
    end_of,
    from_table,
    length_mm,
    part_of,
    reversed_pieces,
    rounded,
    start_of,
)
from layout3d.tubes.vectors import angle, cross, minus, unit
from shapes.pose import Pose, Vec3
from shapes.primitives import Arc, Straight

#: Published on both sides in the examples "Bend Location Report" and "Bend Machine Report" of a CAD help.
PUBLISHED = (
    (0.0, 0.0, 0.0),
    (0.0, 0.0, 1495.39),
    (0.0, 10100.0, 1495.39),
    (0.0, 10100.0, 3989.39),
    (5718.30, 10136.89, 3989.39),
)
#: Points published in a thread of a maths forum; the radius is ours.
FORUM = (
    (38.5202, -14.0264, 0.0),
    (45.3142, -14.0264, 0.0),
    (45.3142, -17.5214, 0.9654),
    (48.6822, -17.5214, 0.9654),
)
#: Our own, its length worked out by hand and by OCCT's fillet of the same polyline.
SQUARE = (
    (0.0, 0.0, 0.0),
    (200.0, 0.0, 0.0),
    (200.0, 150.0, 0.0),
    (200.0, 150.0, 180.0),
    (320.0, 150.0, 180.0),
)


def rows_of(pieces: tuple[Piece, ...]) -> tuple[list[float], list[float], list[float], float]:
    bends, last = bend_table(pieces)
    return [b.straight_mm for b in bends], [b.turn_deg for b in bends], [b.bend_deg for b in bends], last


def test_the_published_bend_report() -> None:
    straights, turns, bends, last = rows_of(rounded(PUBLISHED, [560.0] * 3))
    assert [*straights, last] == pytest.approx([935.39, 8980.00, 1374.00, 5158.41], abs=0.01)
    # The report prints magnitudes of the turns, to two decimals.
    assert [abs(turn) for turn in turns] == pytest.approx([0.0, 180.00, 90.37], abs=0.005)
    assert bends == pytest.approx([90.0] * 3, abs=0.005)
    # Cut length worked out by hand from the published points.
    assert length_mm(rounded(PUBLISHED, [560.0] * 3)) == pytest.approx(19086.746820, abs=1e-6)


def test_the_published_forum_points() -> None:
    straights, turns, bends, last = rows_of(rounded(FORUM, [1.0] * 2))
    # The thread gives legs 6.7940, 3.6259, 3.3680, bends of 90 degrees, the second turned by 180.
    assert straights == pytest.approx([5.7940, 3.625882 - 2.0], abs=1e-6)
    assert last == pytest.approx(2.3680, abs=1e-6)
    assert turns == pytest.approx([0.0, 180.0], abs=1e-6)
    assert bends == pytest.approx([90.0, 90.0], abs=1e-4)


def test_the_published_table_with_a_half_turn() -> None:
    # Lengths 100, 50, 150; turn 90; bends 90 at 30 and 180 at 50: the README of a public LRA converter.
    rows = (Row(100.0, 0.0, 90.0, 30.0), Row(50.0, 90.0, 180.0, 50.0))
    pieces = from_table(rows, 150.0, (0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0))
    assert length_mm(pieces) == pytest.approx(100 + 15 * math.pi + 50 + 50 * math.pi + 150, abs=1e-9)
    assert corners_of(pieces) is None
    bends, last = bend_table(pieces)
    assert [bend.bend_deg for bend in bends] == pytest.approx([90.0, 180.0], abs=1e-9)
    assert bends[1].turn_deg == pytest.approx(90.0, abs=1e-9)
    assert last == pytest.approx(150.0, abs=1e-9)
    assert end_of(pieces[-1])[0] == pytest.approx((130.0, -70.0, 100.0), abs=1e-9)


def test_the_square_run() -> None:
    straights, turns, bends, last = rows_of(rounded(SQUARE, [36.0] * 3))
    assert [*straights, last] == pytest.approx([164.0, 78.0, 108.0, 84.0], abs=1e-9)
    assert turns == pytest.approx([0.0, 90.0, 90.0], abs=1e-9)
    assert bends == pytest.approx([90.0] * 3, abs=1e-9)
    assert length_mm(rounded(SQUARE, [36.0] * 3)) == pytest.approx(603.646003, abs=1e-6)


@pytest.mark.parametrize(
    ("radius", "bend_deg", "arc", "setback"),
    # Set-back R tan(theta/2) and arc R theta of tube bending, worked out by hand.
    [(36.0, 90.0, 56.548668, 36.0), (48.0, 90.0, 75.398224, 48.0), (36.0, 45.0, 28.274334, 14.911688)],
)
def test_set_back_and_arc(radius: float, bend_deg: float, arc: float, setback: float) -> None:
    turn = math.radians(bend_deg)
    corner, end = (100.0, 0.0, 0.0), (100.0 + 100.0 * math.cos(turn), 100.0 * math.sin(turn), 0.0)
    first, bend, last = rounded(((0.0, 0.0, 0.0), corner, end), [radius])
    assert bend.length == pytest.approx(arc, abs=1e-6)
    assert [first.length, last.length] == pytest.approx([100.0 - setback] * 2, abs=1e-6)


def test_marks_by_the_published_logic() -> None:
    # Straight 10, arc 5, straight 10, 2 extra at the start: the bend starts at 12 and the tube ends at 27
    # (tests of an open bend-mark calculator); its second row, 10/4/8/6/12, has marks at 10 and 22 before its
    # die offset of 1 is taken off.
    def table(straights: list[float], arcs: list[float]) -> list[Row]:
        rows = zip(straights, arcs, strict=False)
        return [Row(straight, 0.0, 90.0, arc / (math.pi / 2.0)) for straight, arc in rows]

    start = ((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0))
    one = from_table(table([10.0], [5.0]), 10.0, *start)
    assert [bend.mark_mm for bend in bend_table(one, 2.0)[0]] == pytest.approx([12.0])
    assert length_mm(one) + 2.0 == pytest.approx(27.0)
    two = from_table(table([10.0, 8.0], [4.0, 6.0]), 12.0, *start)
    assert [bend.mark_mm for bend in bend_table(two)[0]] == pytest.approx([10.0, 22.0])


def test_pappus_volumes() -> None:
    # Pappus: area times path of its centre. Quarter bend R 30, r 6: a quarter of the torus 2 pi^2 R r^2.
    quarter = rounded(((0.0, 0.0, 0.0), (30.0, 0.0, 0.0), (30.0, 30.0, 0.0)), [30.0])
    assert math.pi * 6.0**2 * length_mm(quarter) == pytest.approx(5329.586377, abs=1e-6)
    run = length_mm(rounded(SQUARE, [36.0] * 3))
    assert math.pi * 4.0**2 * run == pytest.approx(30342.557589, abs=1e-5)
    assert math.pi * (6.0**2 - 4.0**2) * run == pytest.approx(37928.196986, abs=1e-5)


SKEW = ((0.0, 0.0, 0.0), (90.0, 0.0, 0.0), (130.0, 70.0, 20.0), (130.0, 170.0, 120.0), (10.0, 200.0, 140.0))


@pytest.mark.parametrize(
    ("points", "radius"), [(SQUARE, 36.0), (PUBLISHED, 560.0), (FORUM, 1.0), (SKEW, 25.0)]
)
def test_length_against_occt(points: tuple[Vec3, ...], radius: float) -> None:
    wire = cq.Wire.makePolygon([cq.Vector(*point) for point in points]).fillet(radius, None)
    ours = length_mm(rounded(points, [radius] * (len(points) - 2)))
    assert ours == pytest.approx(wire.Length(), rel=1e-9)


places = st.tuples(*[st.floats(-400.0, 400.0)] * 3)


@st.composite
def bendable(draw: st.DrawFn) -> tuple[list[Vec3], list[float]]:
    """Points that neither crowd nor fold, with radii that leave every straight at least 1 mm."""
    points = draw(st.lists(places, min_size=3, max_size=7))
    legs = [minus(b, a) for a, b in pairwise(points)]
    lengths = [math.hypot(*leg) for leg in legs]
    assume(min(lengths) > 10.0)
    turns = [angle(unit(a), unit(b)) for a, b in pairwise(legs)]
    assume(all(0.01 < turn < 3.0 for turn in turns))
    share = [min(a, b) / 2.0 - 0.5 for a, b in pairwise(lengths)]
    return points, [room / math.tan(turn / 2.0) for room, turn in zip(share, turns, strict=True)]


def first_normal(pieces: tuple[Piece, ...]) -> Vec3:
    arc = next(piece for piece in pieces if isinstance(piece, Arc))
    return cross(arc.outward, arc.along)


def given_rows(pieces: tuple[Piece, ...]) -> tuple[list[Row], float]:
    bends, last = bend_table(pieces)
    return [Row(b.straight_mm, b.turn_deg, b.bend_deg, b.radius_mm) for b in bends], last


@given(bendable())
def test_corners_to_table_and_back(case: tuple[list[Vec3], list[float]]) -> None:
    pieces = rounded(*case)
    rows, last = given_rows(pieces)
    again = from_table(rows, last, *start_of(pieces[0]), first_normal(pieces))
    size = max(1.0, length_mm(pieces) / 1000.0, *(row.radius_mm / 1000.0 for row in rows))
    for one, other in zip(pieces, again, strict=True):
        assert math.dist(end_of(one)[0], end_of(other)[0]) <= 1e-9 * size
    corners = corners_of(again)
    assert corners is not None
    for corner, point in zip(corners, case[0][1:-1], strict=True):
        assert math.dist(corner, point) <= 2e-9 * size


@given(bendable())
def test_pieces_follow_on_tangentially(case: tuple[list[Vec3], list[float]]) -> None:
    pieces = rounded(*case)
    for before, after in pairwise(pieces):
        (end, leaving), (start, arriving) = end_of(before), start_of(after)
        assert math.dist(end, start) <= 1e-9 * max(1.0, *(r / 1000.0 for r in case[1]))
        assert angle(leaving, arriving) <= 1e-9


@given(bendable())
def test_a_reversed_tube_has_the_mirrored_table(case: tuple[list[Vec3], list[float]]) -> None:
    pieces = rounded(*case)
    bends, last = bend_table(pieces)
    back, back_last = bend_table(reversed_pieces(pieces))
    assert length_mm(pieces) == pytest.approx(length_mm(reversed_pieces(pieces)), abs=1e-9)
    straights = [bend.straight_mm for bend in bends]
    assert [*(b.straight_mm for b in back), back_last] == pytest.approx([last, *straights[::-1]], abs=1e-8)
    assert [b.bend_deg for b in back] == pytest.approx([b.bend_deg for b in bends][::-1], abs=1e-9)
    # Seen from the other end the same turn is still a right-hand one.
    turns, back_turns = [b.turn_deg for b in bends][1:], [b.turn_deg for b in back][1:]
    for turn, other in zip(turns[::-1], back_turns, strict=True):
        assert math.remainder(turn - other, 360.0) == pytest.approx(0.0, abs=1e-6)


angles = st.tuples(*[st.floats(-180.0, 180.0)] * 3)


@given(bendable(), places, angles)
def test_moving_a_tube_changes_no_row(
    case: tuple[list[Vec3], list[float]], shift: Vec3, rotate: tuple[float, float, float]
) -> None:
    points, radii = case
    pose = Pose.at(shift, rotate)
    moved = [tuple(float(v) for v in row) for row in pose.apply(points)]
    before, after = bend_table(rounded(points, radii)), bend_table(rounded(moved, radii))  # type: ignore[arg-type]
    for one, other in zip(before[0], after[0], strict=True):
        assert one.straight_mm == pytest.approx(other.straight_mm, abs=1e-8)
        assert one.bend_deg == pytest.approx(other.bend_deg, abs=1e-8)
        assert math.remainder(one.turn_deg - other.turn_deg, 360.0) == pytest.approx(0.0, abs=1e-6)
        assert one.mark_mm == pytest.approx(other.mark_mm, abs=1e-7)


@given(bendable(), st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_a_part_of_a_run_lies_on_it(case: tuple[list[Vec3], list[float]], one: float, other: float) -> None:
    pieces = rounded(*case)
    total = length_mm(pieces)
    low, high = sorted((one * total, other * total))
    assume(high - low > 1e-3)
    part = part_of(pieces, low, high)
    assert length_mm(part) == pytest.approx(high - low, abs=1e-6)
    before = part_of(pieces, 0.0, low)
    if before:
        assert math.dist(end_of(before[-1])[0], start_of(part[0])[0]) <= 1e-6


def test_a_corner_that_does_not_turn_is_none() -> None:
    pieces = rounded(((0.0, 0.0, 0.0), (50.0, 0.0, 0.0), (120.0, 0.0, 0.0)), [36.0])
    assert pieces == (Straight((0.0, 0.0, 0.0), (120.0, 0.0, 0.0)),)
