"""Families of runs: the shortest by a general solver, the room by brute force, proofs by samples."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from layout3d.kernels.obstacles import Obstacles
from layout3d.kernels.points import distance_to
from layout3d.tubes.route.directions import case_directions, follows, place_of, prepared, sequences
from layout3d.tubes.route.families import families
from layout3d.tubes.route.field import ClearanceField
from layout3d.tubes.route.hulls import box_corners, held
from layout3d.tubes.route.motion import samples
from layout3d.tubes.route.proof import Run
from shapes.pose import Pose
from shapes.primitives import Box, Cylinder
from tests.kernels.test_obstacles import scattered
from tests.tubes.route.straightforward import SQUARE, chains, over_bends

R, END, BETWEEN = 30.0, 20.0, 14.0


def _families(seed: int, bends: int, turned: bool = False):
    rng = np.random.default_rng(seed)
    facing = rng.normal(size=3) if turned else SQUARE[rng.integers(6)]
    mouths = (Pose.facing((0, 0, 0), facing), Pose.facing(rng.uniform(-200, 200, 3), SQUARE[rng.integers(6)]))
    known = prepared(case_directions(mouths))
    leave, arrive = (place_of(way, known.vectors) for way in (mouths[0].z_axis, -mouths[1].z_axis))
    found = sequences(follows(known, (45.0, 90.0)), leave, arrive, bends)
    least = np.array([END, *[BETWEEN] * (bends - 1), END])
    most = np.full(bends + 1, np.inf)
    made = families(known, found, mouths[0].origin, mouths[1].origin, R, least, most, 40.0)
    return mouths, known.vectors[found], least, made


@pytest.mark.parametrize("bends", [1, 2, 3, 4])
def test_sequences_are_all_there_are(bends):
    mouths, found, _, _ = _families(1, bends)
    plain = chains(mouths[0].z_axis, -mouths[1].z_axis, (45, 90), bends)
    assert len(found) == len(plain)
    assert {tuple(np.round(c, 6).ravel() + 0.0) for c in found} == {
        tuple(np.round(c, 6).ravel() + 0.0) for c in plain
    }


@pytest.mark.parametrize("bends", [1, 2, 3, 4])
@pytest.mark.parametrize("seed", range(3))
def test_the_shortest_of_each_sequence_by_a_general_lp_solver(bends, seed):
    """scipy's HiGHS on every sequence, feasible or not."""
    mouths, found, least, made = _families(seed, bends)
    by_directions = {made.directions[n].tobytes(): n for n in range(len(made))}
    way = mouths[1].origin - mouths[0].origin
    for chain in found[:: max(1, len(found) // 60)]:
        solved = linprog(
            np.ones(bends + 1),
            A_eq=chain.T,
            b_eq=way - over_bends(chain, R),
            bounds=[(low, None) for low in least],
        )
        row = by_directions.get(chain.tobytes())
        assert (row is not None) == (solved.status == 0)
        if row is not None:
            expected = solved.fun + R * made.angle[row].sum() + 40.0 * bends
            assert made.cost[row] == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize("bends", [2, 3, 4])
def test_every_run_of_a_family_ends_at_the_mouth_and_costs_what_it_says(bends):
    mouths, _, _, made = _families(5, bends)
    rng = np.random.default_rng(6)
    for row in range(len(made)):
        f = rng.uniform(0.0, 30.0, 3)
        run = Run(made, row, f)
        lengths = run.lengths()
        last = len(lengths) - 1
        np.testing.assert_allclose(
            run.points(np.array([last]), np.array([1.0]))[0], mouths[1].origin, atol=1e-6
        )
        cost = lengths.sum() + 40.0 * bends
        assert cost == pytest.approx(made.cost[row] + made.rate[row] @ f, abs=1e-6)
        for piece in range(last):
            here = run.points(np.array([piece, piece + 1]), np.array([1.0, 0.0]))
            np.testing.assert_allclose(here[0], here[1], atol=1e-6)


@settings(max_examples=60, deadline=None)
@given(seed=st.integers(0, 10_000))
def test_samples_move_no_further_than_their_node_lets_them(seed):
    """Every run of a node has a point within the stated travel of each sample."""
    rng = np.random.default_rng(seed)
    _, _, _, made = _families(seed % 7, 3 + seed % 2)
    if not len(made):
        return
    row = np.array([rng.integers(len(made))])
    low = rng.uniform(0.0, 40.0, (1, 3))
    half = rng.uniform(0.0, 12.0, (1, 3))
    f = low + half
    f[:, 0] = low[:, 0]
    sampled = samples(made, row, f, half)
    ahead = rng.uniform(0.0, 10.0)
    other = f[0] + np.array([ahead, *(rng.uniform(-1.0, 1.0, 2) * half[0, 1:])])
    run = Run(made, int(row[0]), other)
    if run.lengths().min() < 0.0:
        return
    pieces = np.repeat(np.arange(1, 2 * made.bends), 400)
    line = run.points(pieces, np.tile(np.linspace(0.0, 1.0, 400), 2 * made.bends - 1))
    between = run.lengths().max() / 400.0
    for n in np.flatnonzero(sampled.usable[0]):
        nearest = math.sqrt(((line - sampled.points[0, n]) ** 2).sum(axis=1).min())
        assert nearest <= sampled.rest[0, n] + sampled.speed[0, n] * ahead + between
        if 0.0 < ahead <= sampled.room[0, n]:
            assert nearest <= sampled.side_rest[0, n] + sampled.side_speed[0, n] * ahead + between


@settings(max_examples=60, deadline=None)
@given(seed=st.integers(0, 10_000))
def test_what_blocks_a_boxs_corners_blocks_the_box(seed):
    rng = np.random.default_rng(seed)
    _, _, _, made = _families(seed % 7, 3 + seed % 2)
    if not len(made):
        return
    row = np.array([rng.integers(len(made))])
    low = rng.uniform(0.0, 20.0, (1, 3))
    high = low + rng.uniform(0.0, 60.0, (1, 3))
    sampled = samples(made, row, low, np.zeros((1, 3)))
    sample = np.array([rng.integers(sampled.points.shape[1])])
    shape = Box((60.0, 50.0, 1.0)) if seed % 2 else Cylinder(30.0, 90.0)
    pose = Pose.at(sampled.points[0, sample[0]], tuple(rng.uniform(-180.0, 180.0, 3)))
    obstacles = Obstacles([(shape, pose)])
    corners, first = box_corners(low, high)
    faces = held(made, row, sample, corners, obstacles, np.array([0]), np.array([10.0]))[0]
    if not faces[0] or not faces[1:].any():
        return
    end = first[0][faces[1:]][0]
    for _ in range(20):
        f = rng.uniform(low[0], high[0])
        f[0] = rng.uniform(low[0, 0], end)
        run = Run(made, int(row[0]), f)
        if run.lengths().min() >= 0.0:
            pieces = np.repeat(np.arange(1, 2 * made.bends), 200)
            line = run.points(pieces, np.tile(np.linspace(0.0, 1.0, 200), 2 * made.bends - 1))
            assert distance_to(line, shape, pose).min() < 10.0 + run.lengths().max() / 200.0


def test_the_field_is_exact_below_its_horizon_and_its_bounds_hold():
    solids = scattered(11, 50)
    required = np.random.default_rng(12).uniform(0.0, 6.0, len(solids))
    field = ClearanceField(Obstacles(solids), required, 15.0)
    points = np.random.default_rng(13).uniform(-330.0, 330.0, (4000, 3))
    every = np.array([distance_to(points, *solid) for solid in solids]) - required[:, None]
    room, least = field.at(points), every.min(axis=0)
    outside = least > 0.0
    np.testing.assert_allclose(room[outside], np.minimum(least[outside], 15.0), atol=1e-9)
    value, off = field.bounds(points)
    assert (room <= value + off + 1e-9).all()
    assert (room >= value - off - 1e-9).all()
    which = field.tightest(points)
    near = outside & (room < 15.0)
    np.testing.assert_allclose(every[which[near], np.flatnonzero(near)], least[near], atol=1e-9)


def test_a_field_of_nothing_has_room_everywhere():
    field = ClearanceField(Obstacles([]), np.empty(0), 15.0)
    assert field.at(np.zeros((2, 3))).tolist() == [15.0, 15.0]
    assert field.tightest(np.zeros((2, 3))).tolist() == [-1, -1]
