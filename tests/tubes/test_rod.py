"""Elastic rods against the elastica's closed forms and an independent boundary-value solver."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_bvp
from scipy.special import ellipe, ellipk

from layout3d.tubes.centreline import end_of, length_mm, start_of
from layout3d.tubes.hose import Hose, load, stiffness
from layout3d.tubes.hung import directions, hung
from layout3d.tubes.rod import solved
from layout3d.tubes.turns import Ray, shortest_turns
from shapes.pose import Array
from tests.tubes.jobs import SOFT

NO_WEIGHT = np.zeros(3)
ORIGIN = (0.0, 0.0, 0.0)


def bowed(angles: Array) -> Array:
    """Directions in the x-z plane at these angles from x."""
    links = np.stack([np.cos(angles), np.zeros_like(angles), np.sin(angles)], axis=1)
    return np.asarray(links / np.linalg.norm(links, axis=1)[:, None])


@pytest.mark.parametrize("turn", [90.0, 180.0])
def test_an_arc_of_the_right_length_stays_an_arc(turn: float):
    """Constant curvature is in balance without weight: no force, only equal moments 1 / R."""
    radius, angle = 60.0, math.radians(turn)
    end: Ray = (
        (radius * math.sin(angle), 0.0, radius * (1.0 - math.cos(angle))),
        (math.cos(angle), 0.0, math.sin(angle)),
    )
    start: Ray = (ORIGIN, (1.0, 0.0, 0.0))
    shape = hung(start, end, radius * angle, bowed(np.linspace(0.0, angle, 40)), NO_WEIGHT)
    assert shape is not None
    assert shape.least_radius == pytest.approx(radius, rel=3e-4)
    assert math.hypot(*shape.force) < 1e-6
    for moment in shape.moments:
        assert math.hypot(*moment) == pytest.approx(1.0 / radius, rel=1e-3)


@pytest.mark.parametrize("alpha", [20.0, 40.0, 60.0, 80.0, 100.0])
def test_a_strut_clamped_at_both_ends_bows_as_the_elliptic_integrals_say(alpha: float):
    """Timoshenko and Gere, Theory of Elastic Stability, article 2.7, as four quarter waves of a strut.

    With k = sin(alpha / 2), alpha the slope at the points without moment, and lambda = 4 K / L: thrust
    lambda^2, ends (2 E / K - 1) L apart, height 4 k / lambda, greatest curvature 2 k lambda.
    """
    length = 300.0
    k = math.sin(math.radians(alpha) / 2.0)
    whole, second = float(ellipk(k * k)), float(ellipe(k * k))
    lam = 4.0 * whole / length
    apart = (2.0 * second / whole - 1.0) * length
    start: Ray = (ORIGIN, (1.0, 0.0, 0.0))
    end: Ray = ((apart, 0.0, 0.0), (1.0, 0.0, 0.0))
    bow = math.radians(alpha) * np.sin(2.0 * np.pi * (np.arange(96) + 0.5) / 96)
    shape = hung(start, end, length, bowed(bow), NO_WEIGHT)
    assert shape is not None
    # Told no wider than it is, and at most a thousandth tighter.
    assert 1.0 - 1e-6 <= 1.0 / shape.least_radius / (2.0 * k * lam) <= 1.001
    assert math.hypot(*shape.force) == pytest.approx(lam * lam, rel=2e-3)
    height = max(end_of(piece)[0][2] for piece in shape.pieces)
    assert height == pytest.approx(4.0 * k / lam, abs=shape.deviation + 0.02)


@pytest.mark.parametrize(
    ("at", "leave", "arrive", "length"),
    [
        ((200.0, 60.0), 0.0, 0.0, 240.0),
        ((150.0, 0.0), math.pi / 2, -math.pi / 2, 320.0),
        ((180.0, -90.0), 0.0, -math.pi / 2, 260.0),
    ],
)
def test_a_hanging_hose_agrees_with_a_boundary_value_solver(at, leave, arrive, length):
    """scipy's collocation on the plane rod: x' = cos a, z' = sin a, a' = m, m' = Nx sin a - Nz cos a."""
    weight = load(SOFT) / stiffness(SOFT)
    start: Ray = (ORIGIN, (math.cos(leave), 0.0, math.sin(leave)))
    end: Ray = ((at[0], 0.0, at[1]), (math.cos(arrive), 0.0, math.sin(arrive)))
    curve = shortest_turns(start, end, 40.0)
    assert curve is not None
    rod = solved(start, end, length, directions(curve, 96), np.array([0.0, 0.0, -weight]))
    assert rod is not None
    assert np.abs(rod.joints[:, 1]).max() < 1e-6, "the plane shape is the stable one here"

    def rates(s, y, p):
        _, _, a, m = y
        up = p[1] + weight * s
        return np.stack([np.cos(a), np.sin(a), m, p[0] * np.sin(a) - up * np.cos(a)])

    def clamped(first, last, p):
        return np.array(
            [first[0], first[1], first[2] - leave, last[0] - at[0], last[1] - at[1], last[2] - arrive]
        )

    s = np.linspace(0.0, length, len(rod.joints))
    angles = np.unwrap(np.arctan2(rod.tangents[:, 2], rod.tangents[:, 0]))
    angles += leave - angles[0]
    guess = np.stack([rod.joints[:, 0], rod.joints[:, 2], angles, np.gradient(angles, s)])
    found = solve_bvp(rates, clamped, s, guess, p=-rod.force[[0, 2]], tol=1e-8, max_nodes=20000)
    assert found.success
    exact = found.sol(s)
    assert np.abs(exact[0] - rod.joints[:, 0]).max() < 0.1
    assert np.abs(exact[1] - rod.joints[:, 2]).max() < 0.1
    assert 1.0 / np.abs(exact[3]).max() == pytest.approx(
        1.0 / np.linalg.norm(rod.curvatures, axis=1).max(), rel=2e-3
    )


def test_the_shortest_u_and_corner_that_do_not_kink():
    """Without weight, by quadrature of the elastica: a U 150 mm wide, a corner of 120 by 120."""
    tubing = SOFT.model_copy(update={"bend_radius": 50.0, "modulus": 4000.0})
    for end, wanted in (
        (((150.0, 0.0, 0.0), (0.0, 0.0, -1.0)), 217.598499),
        (((120.0, 0.0, 120.0), (1.0, 0.0, 0.0)), 180.710221),
    ):
        start: Ray = (ORIGIN, (0.0, 0.0, 1.0))
        curve = shortest_turns(start, end, 50.0)
        assert curve is not None
        shape = Hose(start, end, tubing, curve).shortest(lambda shape: True)
        assert shape is not None
        assert wanted - 1e-3 <= length_mm(shape.pieces) <= wanted + 0.1


places = st.tuples(*[st.floats(-250.0, 250.0)] * 3).filter(lambda place: math.hypot(*place) > 30.0)
axes = st.tuples(*[st.integers(-2, 2)] * 3).filter(any).map(lambda way: np.array(way) / np.linalg.norm(way))


@settings(max_examples=25, deadline=None)
@given(places, axes, axes, st.floats(1.05, 1.8))
def test_arcs_follow_the_rod_and_have_its_length(place, leave, arrive, slack):
    start: Ray = (ORIGIN, tuple(leave.tolist()))
    end: Ray = (place, tuple(arrive.tolist()))
    curve = shortest_turns(start, end, 45.0)
    if curve is None:
        return
    length = slack * length_mm(curve)
    shape = hung(start, end, length, directions(curve, 96), np.array([0.0, 0.0, -1e-7]))
    if shape is None:
        return
    assert length_mm(shape.pieces) == pytest.approx(length, abs=1e-6)
    at, way = start
    for piece in shape.pieces:
        here, direction = start_of(piece)
        assert math.dist(here, at) < 1e-6
        assert math.dist(direction, way) < 1e-6
        at, way = end_of(piece)
    assert math.dist(at, end[0]) < 1e-6
    assert math.dist(way, end[1]) < 1e-6


def test_half_the_weight_or_twice_the_stiffness_is_the_same_shape():
    stiff = SOFT.model_copy(update={"modulus": 2.0 * SOFT.modulus})
    assert stiffness(stiff) == pytest.approx(2.0 * stiffness(SOFT))
    # 1/2 in by 3/4 in at 8 MPa, by E pi (D^4 - d^4) / 64 written out.
    assert stiffness(SOFT) == pytest.approx(8.0 * math.pi * (19.05**4 - 12.7**4) / 64.0)
