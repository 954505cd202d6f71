"""Orders of bends: cases worked out by hand, and every step followed with OCCT's solids as judge."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layout3d.bench.sequence import bend_order
from layout3d.realise import brep
from layout3d.scene.model import Bench
from layout3d.tubes.centreline import Row, from_table
from shapes.pose import IDENTITY, Pose
from shapes.primitives import Arc, Box, Cylinder, TubeRun

OUTSIDE = 12.0
FREE = Bench(former_height=0.0)


def order(
    rows: list[tuple[float, float, float, float]], last: float, bench: Bench = FREE
) -> list[tuple[int, bool]]:
    found = bend_order([Row(*row) for row in rows], last, OUTSIDE, bench)
    return [(one.bend, one.turned_over) for one in found.order]


def test_a_straight_piece_and_one_bend() -> None:
    assert order([], 100.0) == []
    assert order([(50.0, 0.0, 90.0, 36.0)], 50.0) == [(0, False)]


def test_a_bench_turns_the_piece_over() -> None:
    # An S in one plane: the second bend goes the other way, so the piece is laid on its other face.
    rows = [(100.0, 0.0, 90.0, 36.0), (100.0, 180.0, 90.0, 36.0)]
    assert order(rows, 100.0, Bench(bench_below=20.0)) == [(0, False), (1, False)]
    # Out of plane: seen from above, what the first bend left must point up, away from the bench.
    up = [(100.0, 0.0, 90.0, 36.0), (100.0, 90.0, 90.0, 36.0)]
    down = [(100.0, 0.0, 90.0, 36.0), (100.0, -90.0, 90.0, 36.0)]
    turned = {order(rows, 100.0, Bench(bench_below=20.0))[1][1] for rows in (up, down)}
    assert turned == {False, True}
    assert order(up, 100.0) == order(down, 100.0) == [(0, False), (1, False)]


def test_neither_way_up_clears_a_low_bench() -> None:
    # Up and down from the middle bend's plane: it must be made before its neighbours.
    rows = [(100.0, 0.0, 90.0, 36.0), (100.0, 90.0, 90.0, 36.0), (100.0, 90.0, 90.0, 36.0)]
    z = [(100.0, 0.0, 90.0, 36.0), (60.0, 90.0, 90.0, 36.0), (100.0, -90.0, 90.0, 36.0)]
    low = Bench(bench_below=10.0)
    for table in (rows, z):
        found = order(table, 100.0, low)
        assert len(found) == 3


def test_a_piece_that_closes_on_itself_is_blocked() -> None:
    # Three right angles in a plane with legs that cross: it meets itself whatever comes first.
    rows = [(200.0, 0.0, 90.0, 36.0), (50.0, 0.0, 90.0, 36.0), (50.0, 0.0, 90.0, 36.0)]
    found = bend_order([Row(*row) for row in rows], 200.0, OUTSIDE, FREE)
    assert found.order == ()
    assert {one.meets for one in found.blocked} == {"the tube itself"}
    assert "more than" in bend_order([Row(50, 0, 10, 36)] * 11, 50.0, OUTSIDE, FREE).blocked[0].meets


def test_a_former_in_the_way_puts_the_wide_bend_first() -> None:
    # A U of a tight and a wide bend, 5 mm apart: the wide one's middle lies 20 + 5 = 25 mm from the leg
    # behind the tight one, its former reaches 54 mm and the tube 6 mm.
    rows = [(100.0, 0.0, 90.0, 20.0), (5.0, 0.0, 90.0, 60.0)]
    with_former = Bench(former_height=20.0)
    assert order(rows, 100.0) == [(0, False), (1, False)]
    assert order(rows, 100.0, with_former) == [(1, False), (0, False)]
    # With two wide bends each stands in the other's leg, whichever is first.
    both = [Row(100.0, 0.0, 90.0, 60.0), Row(5.0, 0.0, 90.0, 60.0), Row(0.0, 0.0, 90.0, 20.0)]
    blocked = bend_order(both, 100.0, OUTSIDE, with_former).blocked
    assert "the former" in {one.meets for one in blocked}


rows_drawn = st.lists(
    st.tuples(
        st.sampled_from([20.0, 45.0, 80.0]),
        st.sampled_from([0.0, 45.0, 90.0, 180.0, -90.0]),
        st.sampled_from([30.0, 90.0, 135.0]),
        st.just(36.0),
    ),
    min_size=2,
    max_size=3,
)


@settings(max_examples=10, deadline=None)
@given(rows_drawn, st.sampled_from([20.0, 120.0]))
def test_every_step_of_a_told_order_is_free(
    rows: list[tuple[float, float, float, float]], last: float
) -> None:
    """The swing made again bend by bend from angles alone, its solids intersected by OCCT."""
    bench = Bench(former_height=20.0, bench_below=14.0)
    found = bend_order([Row(*row) for row in rows], last, OUTSIDE, bench)
    done: set[int] = set()
    for step in found.order:
        for share in (0.0, 0.35, 0.7, 1.0):
            _free_at(rows, last, done, step.bend, share, bench, step.turned_over)
        done.add(step.bend)


def _free_at(rows, last, done, bend, share, bench, over):  # type: ignore[no-untyped-def]
    """With ``bend`` made to a share of its angle the far straights keep off former, bench and each other."""
    table, straight, turn = [], 0.0, 0.0
    for k, (feed, roll, angle, radius) in enumerate(rows):
        straight, turn = straight + feed, turn + roll
        made = angle if k in done else angle * share if k == bend else 0.0
        if made == 0.0 and k != bend:
            straight += math.radians(angle) * radius
            continue
        if k == bend:
            at = len(table)
        table.append(Row(straight, turn, max(made, 1e-3), radius))
        straight = turn = 0.0
        if k == bend:
            straight = math.radians(angle - max(made, 1e-3)) * radius
    pieces = from_table(table, straight + last, (0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0))
    arcs = [k for k, piece in enumerate(pieces) if isinstance(piece, Arc)]
    k = arcs[at]
    arc = pieces[k]
    axis = np.cross(arc.outward, arc.along)
    behind, before = pieces[: max(k - 1, 0)], pieces[k + 2 :]
    former = solid(
        Cylinder(2.0 * (arc.radius - OUTSIDE / 2), 2.0 * bench.former_height), Pose.facing(arc.centre, axis)
    )
    up = -axis if over else axis
    floor_at = np.array(arc.centre) - up * (bench.bench_below + 500.0)
    floor = solid(Box((4000.0, 4000.0, 1000.0)), Pose.facing(floor_at, up))
    sides = [solid(TubeRun(side, OUTSIDE, 0.0), IDENTITY) for side in (behind, before) if side]
    whole = solid(TubeRun(pieces, OUTSIDE, 0.0), IDENTITY) if not sides else None
    for side in sides:
        assert shared(side, former) < 1e-3
        assert shared(side, floor) < 1e-3
    if whole is not None:
        assert shared(whole, floor) < 1e-3
    for first, second in itertools.combinations(sides, 2):
        assert shared(first, second) < 1e-3


def solid(primitive, pose):  # type: ignore[no-untyped-def]
    return brep.solid(primitive, pose, filled=True)


def shared(first, second) -> float:  # type: ignore[no-untyped-def]
    return abs(first.intersect(second).Volume())


def test_the_judge_sees_what_it_should() -> None:
    one, other = (
        solid(Box((10.0, 10.0, 10.0)), IDENTITY),
        solid(Box((10.0, 10.0, 10.0)), Pose.at((9.0, 0, 0))),
    )
    assert shared(one, other) == pytest.approx(100.0)
