"""Single tubes whose cheapest run has a closed form."""

import math

import numpy as np
import pytest

from layout3d.kernels.bodies import body
from layout3d.kernels.measure import measure
from layout3d.tubes.request import NoRoute, RouteAnswer
from layout3d.tubes.route.find import find_route
from shapes.pose import IDENTITY, Pose
from shapes.primitives import Box, Cylinder, Plate, RectOpening, RoundOpening
from tests.tubes.route.straightforward import by_corners, cost, request, run_of, scenery, tubing

R, OUTSIDE, GAP, END, BETWEEN = 30.0, 14.0, 3.0, 20.0, 14.0
KEEP = OUTSIDE / 2.0 + GAP
SLACK = 0.05
T45 = R * math.tan(math.pi / 8.0)
UP, ALONG = (0.0, 0.0, 1.0), (1.0, 0.0, 0.0)


def _found(asked, *solids) -> RouteAnswer:
    answer = find_route(asked, scenery(*solids))
    assert isinstance(answer, RouteAnswer), answer
    chain, straights = by_corners(asked, answer.corners)
    assert cost(chain, straights, R, asked.bend_cost) == pytest.approx(answer.cost_mm, abs=1e-6)
    assert answer.proved
    assert answer.cost_mm - 0.01 <= answer.bound_mm <= answer.cost_mm
    return answer


def test_mouths_in_line_give_a_straight_tube():
    answer = _found(request(((0, 0, 0), UP), ((0, 0, 150), (0, 0, -1))))
    assert answer.corners == ()
    assert answer.cost_mm == 150.0


def test_one_quarter_bend():
    answer = _found(request(((0, 0, 0), ALONG), ((100, 80, 0), (0, -1, 0))))
    np.testing.assert_allclose(answer.corners, [(100, 0, 0)], atol=1e-9)
    assert answer.cost_mm == pytest.approx(180.0 - 2.0 * R + 0.5 * math.pi * R + 40.0, abs=1e-9)


def test_offset_by_two_half_quarters():
    answer = _found(request(((0, 0, 0), ALONG), ((200, 40, 0), (-1, 0, 0))))
    straights = (200.0 - 40.0 - 2.0 * T45) + (40.0 * math.sqrt(2.0) - 2.0 * T45)
    assert len(answer.corners) == 2
    assert answer.cost_mm == pytest.approx(straights + 0.5 * math.pi * R + 80.0, abs=1e-9)


@pytest.mark.parametrize("wall", [0.0, 30.0, 90.0, 240.0])
def test_over_a_wall(wall):
    """Both mouths face the roof, a wall stands between: up, across just above it, down."""
    width = 160.0
    asked = request(((0, 0, 0), UP), ((width, 0, 0), UP), most_bends=2)
    block = (Box((10.0, 2000.0, 1.0 + wall)), Pose.at((width / 2.0, 0.0, wall - (1.0 + wall) / 2.0)))
    answer = _found(asked, block)

    def over(height: float) -> float:
        return 2.0 * (height - R) + (width - 2.0 * R) + math.pi * R + 80.0

    free = END + R
    assert over(max(free, wall + KEEP)) - 1e-9 <= answer.cost_mm
    assert answer.cost_mm <= over(max(free, wall + KEEP + SLACK)) + 0.01


def test_round_a_wall_when_that_is_cheaper():
    """A wall too high to go over but narrow: level, and round it by one corner to the side."""
    width = 160.0
    asked = request(((0, 0, 0), UP), ((width, 0, 0), UP))
    answer = _found(asked, (Box((10.0, 80.0, 4000.0)), Pose.at((width / 2.0, 0.0, 0.0))))
    straights = 2.0 * END + 2.0 * (width / math.sqrt(2.0) - 2.0 * R)
    assert answer.cost_mm == pytest.approx(straights + 1.5 * math.pi * R + 120.0, abs=1e-9)
    assert abs(answer.corners[1][1]) == pytest.approx(width / 2.0, abs=1e-9)


@pytest.mark.parametrize(("diameter", "clear"), [(2.0 * KEEP, True), (2.0 * KEEP - 1e-3, False)])
def test_straight_through_a_round_window(diameter, clear):
    """Exactly the rule all round is enough, a micrometre less is not."""
    asked = request(((-80, 0, 0), ALONG), ((80, 0, 0), (-1, 0, 0)), most_bends=0)
    plate = Plate((400.0, 400.0), 1.5, (RoundOpening((0.0, 0.0), diameter),))
    answer = find_route(asked, scenery((plate, Pose.facing((0, 0, 0), ALONG))))
    assert isinstance(answer, RouteAnswer) is clear


def test_through_a_window_off_the_line():
    """Two mouths face each other, the only way through a wide sheet lies to one side."""
    asked = request(((-150, 0, 0), ALONG), ((150, 60, 0), (-1, 0, 0)), most_bends=2)
    window = RectOpening((0.0, -60.0), (40.0, 2.0 * KEEP + 1.0))
    plate = Plate((900.0, 900.0), 2.0, (window,))
    answer = _found(asked, (plate, Pose.facing((0, 0, 0), ALONG, UP)))
    # Off the line by 60 it has to be level before the sheet: the offset is the free one's length.
    straights = (300.0 - 60.0 - 2.0 * T45) + (60.0 * math.sqrt(2.0) - 2.0 * T45)
    assert answer.cost_mm == pytest.approx(straights + 0.5 * math.pi * R + 80.0, abs=1e-9)
    assert all(corner[0] < 0.0 for corner in answer.corners)


def test_beside_a_block_the_later_bend_is_taken():
    """A block bars the early bend of an offset: the bend waits until its corner is past."""
    asked = request(((0, 0, 0), ALONG), ((300, 60, 0), (-1, 0, 0)), most_bends=2)
    answer = _found(asked, (Box((140.0, 40.0, 200.0)), Pose.at((70.0, 20.1 + KEEP, 0.0))))
    straights = (300.0 - 60.0 - 2.0 * T45) + (60.0 * math.sqrt(2.0) - 2.0 * T45)
    assert answer.cost_mm == pytest.approx(straights + 0.5 * math.pi * R + 80.0, abs=1e-9)
    assert answer.corners[0][0] > 100.0


@pytest.mark.parametrize("end", [2.0, 5.0, 20.0])
def test_next_to_its_own_fitting_the_flat_end_of_the_first_straight_counts(end):
    """A collar wider than the tube right behind each mouth: the bend starts one gap above it."""
    width = 160.0
    asked = request(((0, 0, 0), UP), ((width, 0, 0), UP), most_bends=2, tubing=tubing(ends=end))
    collars = [
        (name, Cylinder(24.0, 12.0), Pose.at((x, 0.0, -6.0)), GAP, near)
        for name, x, near in (("a", 0.0, (True, False)), ("b", width, (False, True)))
    ]
    answer = _found(asked, *collars)

    def over(straight: float) -> float:
        return 2.0 * straight + (width - 2.0 * R) + math.pi * R + 80.0

    assert over(max(end, GAP)) - 1e-6 <= answer.cost_mm <= over(max(end, GAP + SLACK)) + 0.01


def test_a_stranger_behind_the_mouth_is_measured_to_the_flat_end():
    """A plate one gap behind the mouth's plane does not bar it, though the tube's radius is larger."""
    asked = request(((0, 0, 0), UP), ((100, 0, 80), (-1, 0, 0)))
    below = Plate((300.0, 300.0), 2.0)
    clear = find_route(asked, scenery((below, Pose.at((0.0, 0.0, -GAP - 1.0)))))
    barred = find_route(asked, scenery((below, Pose.at((0.0, 0.0, -GAP - 0.9)))))
    assert isinstance(clear, RouteAnswer)
    assert isinstance(barred, NoRoute)
    assert barred.parts == ("part0",)


def test_own_part_may_be_near_the_first_straight_only():
    """A wall of the own part beside the mouth, 1 mm off the tube: the bend waits for its end."""
    side = OUTSIDE / 2.0 + 1.0
    wall = ("own", Box((10.0, 200.0, 60.0)), Pose.at((side + 5.0, 0.0, 30.0)), GAP, (True, False))
    asked = request(((0, 0, 0), UP), ((-160, 0, 0), UP), most_bends=2)
    answer = _found(asked, wall)
    chain, straights = by_corners(asked, answer.corners)
    run = run_of(asked, chain, straights)
    middle = type(run)(run.pieces[1:-1], run.outside, run.inside)
    assert measure(body(middle, IDENTITY), body(wall[1], wall[2])).gap_mm >= GAP - 1e-6
    # The first straight ends where its flat end's rim is one gap from the wall's upper edge.
    assert straights[0] == pytest.approx(60.0 + math.sqrt(GAP**2 - 1.0), abs=0.2)


def test_never_through_its_own_part():
    asked = request(((0, 0, 0), UP), ((-120, 0, 200), ALONG))
    lid = ("own", Box((40.0, 40.0, 4.0)), Pose.at((0.0, 0.0, 15.0)), GAP, (True, False))
    answer = find_route(asked, scenery(lid))
    assert isinstance(answer, NoRoute)
    assert answer.parts == ("own",)


def test_a_run_does_not_cross_itself():
    """Three quarter bends one way would join these mouths, back through the first straight."""
    asked = request(((0, 0, 0), ALONG), ((40, 60, 0), (0, -1, 0)), angles=(90.0,))
    answer = find_route(asked, scenery())
    assert isinstance(answer, NoRoute)
    assert answer.proved
    assert "itself" in answer.reason


def test_two_quarter_bends_need_room_for_both_radii():
    """Mouths side by side nearer than 2 R and the straight between bends: geometry alone forbids it."""
    width = 2.0 * R + BETWEEN - 1.0
    asked = request(((0, 0, 0), UP), ((width, 0, 0), UP), angles=(90.0,), most_bends=2)
    answer = find_route(asked, scenery())
    assert isinstance(answer, NoRoute)
    assert answer.proved
    assert answer.parts == ()
    assert "even without obstacles" in answer.reason
    # 2 r + 14 = 73 at most, in half millimetres: 29.5
    assert "29.5 mm" in answer.remedy
    wider = request(((0, 0, 0), UP), ((width + 1.0, 0, 0), UP), angles=(90.0,), most_bends=2)
    assert _found(wider).cost_mm == pytest.approx(2.0 * END + BETWEEN + math.pi * R + 80.0, abs=1e-9)


def test_a_barred_first_straight_names_the_part_and_the_room():
    wall = (Box((200.0, 200.0, 2.0)), Pose.at((0.0, 0.0, 16.0)))
    answer = find_route(request(((0, 0, 0), UP), ((150, 0, 0), UP)), scenery(wall))
    assert isinstance(answer, NoRoute)
    assert answer.proved
    assert answer.parts == ("part0",)
    # 15 mm to the wall less the gap and the radius, then flat: the ball's bound is what a bend needs
    assert "needs 20 mm" in answer.reason


def test_a_dead_port_states_the_radius_that_would_fit():
    """A lid over the mouth: a quarter bend fits under it up to a radius of
    height - end - keep = 14.2, and half millimetres are told."""
    height = 44.2
    wall = (Box((900.0, 900.0, 2.0)), Pose.at((0.0, 0.0, height + 1.0)))
    answer = find_route(request(((0, 0, 0), UP), ((150, 0, 0), UP), angles=(90.0,)), scenery(wall))
    assert isinstance(answer, NoRoute)
    assert answer.proved
    assert answer.parts == ("part0",)
    assert "first bend" in answer.reason
    assert "radius 14 mm would fit" in answer.remedy


def test_everything_in_the_way_is_ranked():
    """Both ends are free, but one of them stands in a closed room."""
    sides = [np.array(v) for v in ((1, 0, 0), (-1, 0, 0), (0, 1, 0), (0, -1, 0), (0, 0, 1), (0, 0, -1))]
    room = [
        (
            "case",
            Plate((302.0, 302.0), 2.0),
            Pose.facing(tuple(150.0 * side), tuple(side)),
            GAP,
            (False, False),
        )
        for side in sides
    ]
    answer = find_route(request(((0, 0, 0), UP), ((400, 0, 0), UP)), scenery(*room))
    assert isinstance(answer, NoRoute)
    assert answer.proved
    assert answer.parts == ("case",)
    assert max(np.abs(answer.at_mm)) == pytest.approx(150.0, abs=1.0 + KEEP + SLACK)
    assert "blocked by case" in answer.reason


def test_a_larger_gap_of_one_part_is_kept():
    width, wall, gap = 160.0, 60.0, 11.0
    asked = request(((0, 0, 0), UP), ((width, 0, 0), UP), most_bends=2)
    block = ("hot", Box((10.0, 2000.0, wall)), Pose.at((width / 2, 0.0, wall / 2)), gap, (False, False))
    answer = _found(asked, block)
    height = wall + gap + OUTSIDE / 2.0
    assert answer.corners[0][2] == pytest.approx(height, abs=SLACK + 0.01)
    assert answer.corners[0][2] >= height - 1e-9


@pytest.mark.parametrize("end", [2.0, 20.0])
def test_a_lip_beside_a_short_end_is_measured_too(end):
    """A rail reaches to one gap from the tube's side, 4 mm above the mouth: 0.05 mm more is too near."""
    asked = request(((0, 0, 0), UP), ((120, 0, 100), (-1, 0, 0)), tubing=tubing(ends=end))
    for spare, free in ((0.1, True), (-0.05, False)):
        rail = (Box((20.0, 60.0, 1.0)), Pose.at((-KEEP - spare - 10.0, 0.0, 4.0)))
        answer = find_route(asked, scenery(rail))
        assert isinstance(answer, RouteAnswer) is free
        if not free:
            assert answer.parts == ("part0",)
