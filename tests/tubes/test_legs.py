"""Legs left open: lengths that bring the last corner onto the far port's axis."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from layout3d.scene.paths import Leg
from layout3d.tubes.legs import leg_ends
from shapes.pose import DIRECTIONS

ROOF, FRONT, WINDOW, TRAY = (DIRECTIONS[word] for word in ("roof", "front", "window", "tray"))
FLOOR = DIRECTIONS["floor"]


def test_one_open_leg_goes_on_to_the_far_axis() -> None:
    # Up 56, to the front as far as the far port, then down onto it.
    ends = leg_ends((0, 0, 0), (200, 0, 10), FLOOR, [Leg(ROOF, 56.0), Leg(FRONT, None)])
    np.testing.assert_allclose(ends, [(0, 0, 56), (200, 0, 56)], atol=1e-12)


@given(st.floats(1, 500), st.floats(-500, -1), st.floats(-500, 500))
def test_two_open_legs_and_the_last_reach_any_place(x: float, y: float, z: float) -> None:
    ends = leg_ends((0, 0, 0), (x, y, z), ROOF, [Leg(WINDOW, None), Leg(FRONT, None)])
    np.testing.assert_allclose(ends, [(0, y, 0), (x, y, 0)], atol=1e-9)


def test_what_cannot_line_up_comes_as_near_as_it_can() -> None:
    ends = leg_ends((0, 0, 0), (200, 5, 10), FLOOR, [Leg(ROOF, 56.0), Leg(FRONT, None)])
    # Nothing here moves along y: the 5 mm stay, for the direction of the last leg to show.
    np.testing.assert_allclose(ends[-1], (200, 0, 56), atol=1e-9)


@pytest.mark.parametrize(
    "legs", [[Leg(FRONT, None)], [Leg(WINDOW, None), Leg(TRAY, None)], [Leg(ROOF, 20.0), Leg(FRONT, None)]]
)
def test_lengths_that_nothing_settles_are_not_guessed(legs: list[Leg]) -> None:
    with pytest.raises(ValueError, match="does not settle how long leg"):
        leg_ends((0, 0, 0), (200, 0, 0), FRONT, legs)


def test_an_open_leg_never_runs_backwards() -> None:
    with pytest.raises(ValueError, match=r"leg 2, left open, would have to run 200 mm toward the front"):
        leg_ends((0, 0, 0), (200, 0, 10), FLOOR, [Leg(ROOF, 56.0), Leg(DIRECTIONS["rear"], None)])
