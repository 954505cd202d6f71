"""Free angles and free directions."""

import math

import numpy as np
import pytest

from layout3d.tubes.request import NoRoute, RouteAnswer
from layout3d.tubes.route.find import find_route
from shapes.pose import Pose
from shapes.primitives import Box
from tests.tubes.route.straightforward import by_corners, cost, request, scenery, turns
from tests.tubes.route.test_planted import check_clear, planted

R, END = 30.0, 20.0
ALONG = (1.0, 0.0, 0.0)
FREE = {"angles": "any", "directions": "any"}


def _found(asked, *solids) -> RouteAnswer:
    answer = find_route(asked, scenery(*solids))
    assert isinstance(answer, RouteAnswer), answer
    chain, straights = by_corners(asked, answer.corners)
    assert cost(chain, straights, R, asked.bend_cost) == pytest.approx(answer.cost_mm, abs=1e-6)
    assert straights[0] >= END - 1e-6
    assert straights[-1] >= END - 1e-6
    assert min(straights[1:-1], default=99.0) >= 14.0 - 1e-6
    assert answer.bound_mm <= answer.cost_mm
    return answer


@pytest.mark.parametrize(("length", "offset"), [(200.0, 60.0), (200.0, 25.0), (260.0, 110.0)])
def test_an_offset_is_the_shortest_curve_of_bounded_curvature(length, offset):
    """L. E. Dubins, Amer. J. Math. 79 (1957): left turn, inner tangent, right turn between the ends."""
    answer = _found(request(((0, 0, 0), ALONG), ((length, offset, 0), (-1, 0, 0)), most_bends=2, **FREE))
    centres = math.hypot(length - 2.0 * END, offset - 2.0 * R)
    tangent = math.sqrt(centres**2 - 4.0 * R**2)
    angle = math.atan2(2.0 * R, tangent) + math.atan2(offset - 2.0 * R, length - 2.0 * END)
    shortest = 2.0 * END + tangent + 2.0 * R * angle + 80.0
    assert shortest - 1e-6 <= answer.cost_mm <= shortest + 0.1


def test_axes_that_meet_need_one_bend_of_their_own_angle():
    slope = math.radians(25.0)
    far = (100.0 + 90.0 * math.cos(slope), 90.0 * math.sin(slope), 0.0)
    answer = _found(request(((0, 0, 0), ALONG), (far, (-math.cos(slope), -math.sin(slope), 0.0)), **FREE))
    np.testing.assert_allclose(answer.corners, [(100.0, 0.0, 0.0)], atol=1e-9)
    expected = 190.0 - 2.0 * R * math.tan(slope / 2.0) + R * slope + 40.0
    assert answer.cost_mm == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize("seed", range(6))
def test_free_runs_are_clear_and_no_dearer_than_listed_ones(seed):
    asked, hidden, solids = planted(seed, 2 + seed % 2, 25)
    answer = _found(request(*asked.mouths, **FREE), *solids)
    assert answer.cost_mm <= hidden + 0.01
    check_clear(asked, answer, solids)


def test_free_runs_of_nothing_found_are_not_called_impossible():
    lid = (Box((900.0, 900.0, 2.0)), Pose.at((0.0, 0.0, 32.0)))
    answer = find_route(request(((0, 0, 0), (0, 0, 1)), ((150, 0, 0), (0, 0, 1)), **FREE), scenery(lid))
    assert isinstance(answer, NoRoute)
    assert not answer.proved
    assert answer.parts == ("part0",)


def test_listed_angles_any_way_bend_in_the_offsets_own_plane():
    """Two mouths facing each other, offset askew to the case: two 45-degree bends in the tilted plane."""
    height, aside = 220.0, math.hypot(50.0, 30.0)
    ends = ((0, 0, 0), (0, 0, 1)), ((50, 30, height), (0, 0, -1))
    answer = _found(request(*ends, directions="any"))
    tangent = R * math.tan(math.pi / 8.0)
    straights = (height - aside - 2.0 * tangent) + (aside * math.sqrt(2.0) - 2.0 * tangent)
    assert answer.cost_mm == pytest.approx(straights + 0.5 * math.pi * R + 80.0, abs=1e-6)
    assert _found(request(*ends, most_bends=4)).cost_mm > answer.cost_mm


@pytest.mark.parametrize("seed", range(1, 4))
def test_listed_angles_any_way_join_mouths_askew(seed):
    """Mouths in odd directions that no listed direction joins by right angles alone."""
    rng = np.random.default_rng(seed)
    ends = [
        (tuple(place), tuple(rng.normal(size=3))) for place in (np.zeros(3), rng.uniform(120.0, 260.0, 3))
    ]
    asked = request(*ends, directions="any", most_bends=3)
    answer = _found(asked)
    chain, _ = by_corners(asked, answer.corners)
    assert all(min(abs(math.degrees(t) - a) for a in (45, 90)) < 1e-5 for t in turns(chain))


def test_any_angle_between_listed_directions():
    """Angles free, directions not: bends of 60 degrees between diagonals are allowed, too."""
    meeting = request(((0, 0, 0), (1, 1, 0)), ((200, 100, 100), (-1, 0, -1)), angles="any", most_bends=3)
    found = _found(meeting)
    assert found.proved
    chain, _ = by_corners(meeting, found.corners)
    allowed = {0.0, 1.0 / math.sqrt(2.0), 1.0}
    assert all(min(abs(abs(x) - a) for a in allowed) < 1e-9 for way in chain for x in way)
