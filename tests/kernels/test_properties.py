"""What must hold for every pair: geometry itself is the oracle."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from layout3d.kernels.bodies import Body, body
from layout3d.kernels.measure import CONTACT_MM, measure, measure_pairs
from shapes.pose import IDENTITY, Pose, about_z, compose
from shapes.primitives import (
    Arc,
    Box,
    Cylinder,
    Plate,
    Primitive,
    Prism,
    RectOpening,
    RoundOpening,
    Straight,
    TubeRun,
)

lengths = st.floats(1.0, 40.0).map(lambda value: round(value, 3))
angles = st.floats(-180.0, 180.0).map(lambda value: round(value, 3))
places = st.floats(-45.0, 45.0).map(lambda value: round(value, 3))
poses = st.builds(Pose.at, st.tuples(places, places, places), st.tuples(angles, angles, angles))


def prism(corners: int, radius: float, height: float) -> Prism:
    turns = [2.0 * math.pi * n / corners for n in range(corners)]
    return Prism(tuple((radius * math.cos(turn), radius * math.sin(turn)) for turn in turns), height)


def bend(radius: float, bend_radius: float, angle: float) -> TubeRun:
    arc = Arc((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), radius + bend_radius, angle)
    return TubeRun((arc,), outside=2.0 * radius, inside=radius)


def hooked(radius: float, bend_radius: float, angle: float, ends: float) -> TubeRun:
    (arc,) = bend(radius, bend_radius, angle).pieces
    assert isinstance(arc, Arc)
    end = np.array([math.cos(angle), math.sin(angle), 0.0]) * arc.radius
    out = end + ends * np.array([-math.sin(angle), math.cos(angle), 0.0])
    first = Straight((arc.radius, -ends, 0.0), (arc.radius, 0.0, 0.0))
    return TubeRun((first, arc, Straight(tuple(end.tolist()), tuple(out.tolist()))), 2.0 * radius, radius)


def sheet(width: float, height: float, thickness: float, hole: float, window: float) -> Plate:
    openings = (
        RoundOpening((-0.3 * width, 0.2 * height), hole),
        RectOpening((0.3 * width, 0.0), (window, 9.0)),
    )
    return Plate((2.0 * width, 2.0 * height), thickness, openings)


convexes: st.SearchStrategy[Primitive] = st.one_of(
    st.builds(Box, st.tuples(lengths, lengths, lengths)),
    st.builds(Cylinder, lengths, lengths),
    st.builds(prism, st.integers(3, 8), lengths, lengths),
)
primitives: st.SearchStrategy[Primitive] = st.one_of(
    convexes,
    st.builds(hooked, st.floats(2.0, 8.0), st.floats(1.0, 40.0), st.floats(0.2, 3.1), lengths),
    st.builds(sheet, st.floats(20.0, 60.0), st.floats(20.0, 60.0), st.floats(0.5, 4.0), lengths, lengths),
)


@settings(max_examples=100, deadline=None)
@given(convexes, convexes, poses, st.tuples(places, places, places))
def test_a_move_changes_the_distance_by_at_most_its_length(
    first: Primitive, second: Primitive, pose: Pose, by: tuple[float, float, float]
) -> None:
    a, b = body(first, IDENTITY), body(second, pose)
    before, after = measure(a, b).gap_mm, measure(a, b.moved(by)).gap_mm
    assert abs(after - before) <= math.dist(by, (0.0, 0.0, 0.0)) + 1e-6


@settings(max_examples=40, deadline=None)
@given(primitives, primitives, poses, poses)
def test_order_and_place_do_not_matter(first: Primitive, second: Primitive, pose: Pose, scene: Pose) -> None:
    here = measure(body(first, IDENTITY), body(second, pose))
    back = measure(body(second, pose), body(first, IDENTITY))
    there = measure(body(first, scene), body(second, compose(pose, scene)))
    for other in (back, there):
        assert (other.gap_mm < -CONTACT_MM) == (here.gap_mm < -CONTACT_MM)
        if here.gap_mm >= -CONTACT_MM or here.exact:
            assert other.gap_mm == pytest.approx(here.gap_mm, abs=1e-6)


@settings(max_examples=40, deadline=None)
@given(primitives, primitives, poses)
def test_nearest_points_and_bounds_agree(first: Primitive, second: Primitive, pose: Pose) -> None:
    a, b = body(first, IDENTITY), body(second, pose)
    found = measure(a, b)
    assert np.linalg.norm(found.direction) == pytest.approx(1.0)
    if found.gap_mm > 1e-3:
        assert found.point_a is not None
        assert found.point_b is not None
        assert math.dist(found.point_a, found.point_b) == pytest.approx(found.gap_mm, abs=1e-6)
        assert found.gap_mm - 1e-6 <= found.lower_mm <= found.gap_mm + 1e-9
        # drawn together by less than the gap they are apart, by a little more they are not
        towards = -np.array(found.direction)
        assert measure(a, b.moved(towards * (0.9 * found.gap_mm))).gap_mm >= 0.1 * found.gap_mm - 1e-6


@settings(max_examples=40, deadline=None)
@example(  # nearly parallel bars
    Cylinder(1.0, 1.0), Cylinder(2.0, 2.0), Pose.at((0.0, 1.0, 0.0), (1.0, 3.0, 0.0)), (0.0, 0.0, 0.0)
)
@given(convexes, convexes, poses, st.tuples(places, places, places))
def test_depth_is_the_least_move_that_parts(
    first: Primitive, second: Primitive, pose: Pose, way: tuple[float, float, float]
) -> None:
    a, b = body(first, IDENTITY), body(second, Pose(pose.rotation, 0.3 * pose.origin))
    found = measure(a, b)
    if found.gap_mm >= -1e-3:
        return
    assert found.exact
    assert abs(measure(a, b.moved(np.array(found.direction) * -found.gap_mm)).gap_mm) <= CONTACT_MM
    length = math.dist(way, (0.0, 0.0, 0.0))
    if length > 0.0:
        shorter = np.array(way) * (-0.98 * found.gap_mm / length)
        assert measure(a, b.moved(shorter)).gap_mm < 0.0


def flat_ends(run: TubeRun) -> list[Body]:
    """The two ends of a ``bend``, as discs a thousandth of a millimetre thick."""
    (arc,) = run.pieces
    assert isinstance(arc, Arc)
    ends = []
    for turn in (0.0, arc.angle):
        spoke, along = (math.cos(turn), math.sin(turn)), (-math.sin(turn), math.cos(turn))
        at = (arc.radius * spoke[0], arc.radius * spoke[1], 0.0)
        ends.append(body(Cylinder(run.outside, 1e-3), Pose.facing(at, (*along, 0.0))))
    return ends


@settings(max_examples=30, deadline=None)
@given(st.floats(2.0, 8.0), st.floats(1.0, 40.0), st.floats(0.2, 3.1), convexes, poses)
def test_stated_move_frees_a_bend(
    radius: float, bend_radius: float, angle: float, other: Primitive, pose: Pose
) -> None:
    run = bend(radius, bend_radius, angle)
    a, b = body(run, IDENTITY), body(other, pose)
    # The depth is that of the deepest pair of pieces: the flat ends are pieces of their own, and off
    # one of them b may go into the bend.
    if any(measure(end, b).gap_mm < 1e-3 for end in flat_ends(run)):
        return
    found = measure(a, b)
    if found.gap_mm < -1e-3:
        assert measure(a, b.moved(np.array(found.direction) * -found.gap_mm)).gap_mm >= -CONTACT_MM


@settings(max_examples=40, deadline=None)
@given(primitives, primitives, poses, st.floats(0.0, 20.0))
def test_stopping_early_changes_no_verdict(
    first: Primitive, second: Primitive, pose: Pose, required: float
) -> None:
    a, b = body(first, IDENTITY), body(second, pose)
    full = measure(a, b)
    (quick,) = measure_pairs([(a, b)], np.array([required]))
    assert (quick.gap_mm < required - CONTACT_MM) == (full.gap_mm < required - CONTACT_MM)
    assert quick.lower_mm <= full.gap_mm + 1e-6


def random_poses(count: int, seed: int) -> list[Pose]:
    rng = np.random.default_rng(seed)
    return [
        Pose.at(tuple(rng.uniform(-300.0, 300.0, 3)), tuple(rng.uniform(-180.0, 180.0, 3)))
        for _ in range(count)
    ]


def test_boxes_exactly_as_far_apart_as_required_are_clear_at_every_pose() -> None:
    """A rule that a scene keeps exactly must not fail by rounding."""
    required, pairs = 3.0, []
    for pose in random_poses(1000, seed=1):
        beside = compose(Pose.at((20.0 + required, 7.0, -4.0)), pose)
        pairs.append((body(Box((20.0, 30.0, 10.0)), pose), body(Box((20.0, 14.0, 25.0)), beside)))
    for found in measure_pairs(pairs, np.full(len(pairs), required)):
        assert found.gap_mm >= required - CONTACT_MM
    for found in measure_pairs(pairs, np.full(len(pairs), required + 2e-6)):
        assert found.gap_mm == pytest.approx(required, abs=1e-9)


half_turn = hooked(6.0, 30.0, math.pi / 2, 40.0)
block, panel = Box((20.0, 30.0, 10.0)), sheet(40.0, 30.0, 1.0, 20.0, 9.0)
post, drum, disc = Cylinder(12.0, 30.0), Cylinder(20.0, 90.0), Cylinder(12.0, 8.0)
holed = Plate((80.0, 80.0), 1.0, (RoundOpening((5.0, 0.0), 12.0),))
through = TubeRun((Straight((5.0, 0.0, -30.0), (5.0, 0.0, 30.0)),), 12.0, 8.0)
on_edge = Pose.at((3.0, 4.0, 5.0 + 4.0 * math.sqrt(2.0)), (45.0, 0.0, 0.0))
FLUSH: dict[str, tuple[Primitive, Primitive, Pose]] = {
    "box on box": (block, Box((8.0, 50.0, 6.0)), Pose.at((3.0, 4.0, 8.0), (0.0, 0.0, 17.0))),
    "edge on box": (block, Box((8.0, 8.0, 8.0)), on_edge),
    "cylinder stands": (block, disc, Pose.at((3.0, 4.0, 9.0))),
    "cylinder lies": (block, disc, Pose.at((3.0, 4.0, 11.0), (0.0, 90.0, 33.0))),
    "cylinders side by side": (post, Cylinder(20.0, 9.0), Pose.at((16.0, 0.0, 5.0))),
    "cylinders crossed": (post, drum, Pose.at((16.0, 0.0, 5.0), (90.0, 0.0, 0.0))),
    "prism on plate": (panel, prism(6, 9.0, 7.0), Pose.at((30.0, -20.0, 4.0), (0.0, 0.0, 9.0))),
    "plate over opening": (panel, Box((90.0, 70.0, 1.0)), Pose.at((0.0, 0.0, 1.0))),
    "tube on plate": (sheet(60.0, 60.0, 1.0, 30.0, 9.0), half_turn, Pose.at((0.0, 0.0, 6.5))),
    "tube end on box": (Box((50.0, 20.0, 50.0)), half_turn, Pose.at((-36.0, 50.0, 0.0))),
}
#: Contact all along a curve: a move eases it on one side and deepens it on the other.
HUGGING: dict[str, tuple[Primitive, Primitive, Pose]] = {
    "edge to edge": (block, block, Pose.at((20.0, 30.0, 3.0))),
    "tube in round opening": (holed, through, IDENTITY),
    "bend round a post": (Cylinder(60.0, 20.0), bend(6.0, 30.0, 2.0), IDENTITY),
    "bend along a bend": (bend(6.0, 30.0, 2.0), bend(4.0, 42.0, 2.0), about_z(20.0)),
}


@pytest.mark.parametrize("name", FLUSH | HUGGING)
def test_flush_contact_is_neither_overlap_nor_gap(name: str) -> None:
    first, second, second2first = (FLUSH | HUGGING)[name]
    scenes = random_poses(20, seed=2)
    pairs = [(body(first, scene), body(second, compose(second2first, scene))) for scene in scenes]
    for found in measure_pairs(pairs, np.full(len(pairs), np.inf), stop_when_decided=False):
        assert abs(found.gap_mm) <= CONTACT_MM
    for found in measure_pairs(pairs, np.zeros(len(pairs))):
        assert found.gap_mm >= -CONTACT_MM


@pytest.mark.parametrize("name", FLUSH)
@pytest.mark.parametrize("by", [1e-4, -1e-4])
def test_a_tenth_of_a_micrometre_off_contact_is_seen(name: str, by: float) -> None:
    first, second, second2first = FLUSH[name]
    a, b = body(first, IDENTITY), body(second, second2first)
    away = np.array(measure(a, b).direction)
    assert measure(a, b.moved(away * by)).gap_mm == pytest.approx(by, abs=1e-6)


@pytest.mark.parametrize("turn_deg", [0.0, 1e-11, 1e-9, 1e-7])
def test_nearest_points_of_a_tilted_end_lie_in_the_cylinder(turn_deg: float) -> None:
    """What rounding leaves of a direction along the axis must not be blown up to the radius."""
    pose = Pose.at((30.0, 2.0, 3.0), (0.0, 90.0 + turn_deg, 0.0))
    found = measure(body(Box((40.0, 30.0, 20.0)), IDENTITY), body(Cylinder(12.0, 10.0), pose))
    assert found.point_b is not None
    assert found.gap_mm == pytest.approx(5.0, abs=1e-7)
    assert abs(pose.inverse.apply(np.array(found.point_b))[2]) <= 5.0 + 1e-9


def test_containment_is_always_found() -> None:
    """A part wholly inside another meets none of its faces, and must still be found."""
    rng = np.random.default_rng(3)
    hosts: list[tuple[Primitive, Pose]] = [
        (Box((40.0, 50.0, 60.0)), IDENTITY),
        (Cylinder(40.0, 60.0), IDENTITY),
        (prism(6, 25.0, 60.0), IDENTITY),
        (bend(12.0, 30.0, 3.0), Pose.at((0.0, -42.0, 0.0), (0.0, 0.0, 0.0))),
        (Plate((80.0, 80.0), 30.0, (RoundOpening((30.0, 30.0), 30.0),)), IDENTITY),
    ]
    pairs: list[tuple[Body, Body]] = []
    for host, host2scene in hosts:
        for size in (6.0, 1.0, 0.05):
            at = np.array([0.0, 0.0, 0.0])
            if isinstance(host, TubeRun):
                angle = rng.uniform(0.3, 2.7)
                at = host2scene.apply(42.0 * np.array([math.cos(angle), math.sin(angle), 0.0]))
            guests: list[Primitive] = [
                Box((size, size, size)),
                Cylinder(size, size),
                prism(5, 0.5 * size, size),
                Plate((size, size), 0.2 * size, (RoundOpening((0.0, 0.0), 0.5 * size),)),
                bend(0.1 * size, 0.2 * size, 2.0),
            ]
            for guest in guests:
                turned = Pose.at(at + rng.uniform(-2.0, 2.0, 3), tuple(rng.uniform(-180.0, 180.0, 3)))
                pairs.append((body(host, host2scene), body(guest, turned)))
    for forth, back in zip(
        measure_pairs(pairs, np.zeros(len(pairs))),
        measure_pairs([(b, a) for a, b in pairs], np.zeros(len(pairs))),
        strict=True,
    ):
        assert forth.gap_mm < -0.001
        assert back.gap_mm < -0.001


def test_many_pairs_at_once_measure_as_one_by_one() -> None:
    rng = np.random.default_rng(4)
    kinds: list[Primitive] = [
        Box((9.0, 20.0, 5.0)),
        Cylinder(14.0, 9.0),
        half_turn,
        sheet(40.0, 30.0, 1.0, 20.0, 9.0),
    ]
    pairs = []
    for _ in range(60):
        first, second = rng.choice(4, 2)
        pose = Pose.at(tuple(rng.uniform(-60.0, 60.0, 3)), tuple(rng.uniform(-180.0, 180.0, 3)))
        pairs.append((body(kinds[first], IDENTITY), body(kinds[second], pose)))
    together = measure_pairs(pairs, np.full(len(pairs), 5.0))
    for pair, found in zip(pairs, together, strict=True):
        (alone,) = measure_pairs([pair], np.array([5.0]))
        assert (alone.gap_mm < 5.0 - CONTACT_MM) == (found.gap_mm < 5.0 - CONTACT_MM)
        if alone.gap_mm < 5.0 and alone.gap_mm > 0.0:
            assert found.gap_mm == pytest.approx(alone.gap_mm, abs=1e-6)


def test_nothing_to_measure() -> None:
    assert measure_pairs([], np.empty(0)) == []


def test_moved_body_keeps_its_box() -> None:
    here = body(half_turn, Pose.at((1.0, 2.0, 3.0), (10.0, 20.0, 30.0)))
    there = here.moved((5.0, -6.0, 7.0))
    assert there.low == pytest.approx(here.low + np.array([5.0, -6.0, 7.0]))
    assert measure(here, there).gap_mm < -CONTACT_MM
