"""Which stretches of one tube are to be compared."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from layout3d.tubes.centreline import Row, end_of, from_table, length_mm, part_of, rounded, start_of
from layout3d.tubes.selfpairs import STRETCH_MM, apart_mm, cannot_return, self_pairs
from shapes.primitives import TubeRun
from tests.tubes.jobs import RIGID, SOFT

#: Comes round to cross over its own start 20 mm above it.
LOOP = (
    (0.0, 0.0, 0.0),
    (300.0, 0.0, 0.0),
    (300.0, 200.0, 0.0),
    (150.0, 200.0, 20.0),
    (150.0, -100.0, 20.0),
)


def run() -> TubeRun:
    return TubeRun(rounded(LOOP, [36.0] * 3), 14.0, 10.0)


#: Distances along the loop, and the points there.
ALONG = np.linspace(0.0, length_mm(run().pieces), 1500)[1:]
POINTS = np.array([end_of(part_of(run().pieces, 0.0, float(s))[-1])[0] for s in ALONG])


def place(stretch: TubeRun) -> tuple[float, float]:
    """From where to where a stretch lies along the loop, found by its end points, to half a mm."""
    ends = (start_of(stretch.pieces[0])[0], end_of(stretch.pieces[-1])[0])
    low, high = (float(ALONG[np.linalg.norm(POINTS - np.array(end), axis=1).argmin()]) for end in ends)
    return low, high


def test_how_far_apart() -> None:
    assert apart_mm(RIGID) == pytest.approx(36.0 * math.pi + 14.0)
    assert apart_mm(SOFT) == pytest.approx(60.0 * math.pi)


def test_a_tube_no_longer_than_that_has_no_pairs() -> None:
    short = TubeRun(rounded(LOOP[:3], [36.0]), 14.0, 10.0)
    assert list(self_pairs(short, length_mm(short.pieces))) == []
    assert len(list(self_pairs(short, length_mm(short.pieces) - 1.0))) == 1


def test_every_two_places_far_enough_apart_are_in_a_pair() -> None:
    whole, apart = run(), apart_mm(RIGID)
    total = length_mm(whole.pieces)
    spans = [(place(near), place(far)) for near, far in self_pairs(whole, apart)]
    for low in np.linspace(1.0, total - apart - 3.0, 60):
        for high in np.linspace(low + apart + 2.0, total - 0.5, 20):
            assert any(a - 1 <= low <= b + 1 and c - 1 <= high <= d + 1 for (a, b), (c, d) in spans)


def test_no_pair_is_nearer_along_the_tube_than_a_stretch_less() -> None:
    whole, apart = run(), apart_mm(RIGID)
    for near, far in self_pairs(whole, apart):
        assert length_mm(near.pieces) <= STRETCH_MM + 1e-9
        assert place(far)[0] - place(near)[1] >= apart - STRETCH_MM - 1.0


def test_the_crossing_of_the_loop_is_in_a_pair() -> None:
    whole = run()
    least = math.inf
    for near, far in self_pairs(whole, apart_mm(RIGID)):
        points = [
            np.array(
                [
                    end_of(part_of(stretch.pieces, 0.0, float(s))[-1])[0]
                    for s in np.linspace(0.5, length_mm(stretch.pieces), 80)
                ]
            )
            for stretch in (near, far)
        ]
        least = min(least, float(np.linalg.norm(points[0][:, None] - points[1][None], axis=2).min()))
    # The loop passes 20 mm above its own start.
    assert least == pytest.approx(20.0, abs=1.0)


@given(
    st.lists(st.tuples(st.floats(5.0, 85.0), st.floats(-180.0, 180.0), st.floats(0.0, 200.0)), max_size=3),
    st.floats(10.0, 300.0),
)
def test_what_turns_little_cannot_come_back(bends: list[tuple[float, float, float]], apart: float) -> None:
    """Sampled chords of runs that turn by half a circle or less, against the bound taken from Schur."""
    assume(sum(bend for bend, _, _ in bends) <= 180.0)
    rows = [Row(length, turn, bend, 36.0) for bend, turn, length in bends]
    pieces = from_table(rows, 120.0, (0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0))
    tube, total = TubeRun(pieces, 14.0, 10.0), length_mm(pieces)
    along = np.linspace(0.0, total, 160)[1:]
    points = np.array([end_of(part_of(pieces, 0.0, float(s))[-1])[0] for s in along])
    chords = np.linalg.norm(points[:, None] - points[None], axis=2)
    far = np.abs(along[:, None] - along[None]) >= apart
    nearest = float(chords[far].min(initial=np.inf))
    for distance in (17.0, 71.9, nearest * 1.001):
        if math.isfinite(distance) and cannot_return(tube, apart, distance):
            assert nearest >= distance - 1e-6
