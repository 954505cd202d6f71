"""Many solids at once give what each gives alone."""

import numpy as np
import pytest

from layout3d.kernels.obstacles import Obstacles
from layout3d.kernels.points import distance_to
from shapes.pose import IDENTITY, Pose
from shapes.primitives import Box, Cylinder, TubeRun
from tests.kernels.test_points import SOLIDS


def scattered(seed: int, count: int = 60) -> list:
    """Every kind of solid, turned and square."""
    rng = np.random.default_rng(seed)
    kinds = list(SOLIDS.values())
    solids = []
    for index in range(count):
        turn = (0.0, 90.0, 180.0) if index % 3 == 0 else tuple(rng.uniform(-180.0, 180.0, 3))
        solids.append((kinds[index % len(kinds)], Pose.at(tuple(rng.uniform(-200.0, 200.0, 3)), turn)))
    return solids


def test_pairs_give_each_solids_own_distance():
    solids = scattered(1)
    points = np.random.default_rng(2).uniform(-250.0, 250.0, (3000, 3))
    which = np.random.default_rng(3).integers(0, len(solids), len(points))
    found = Obstacles(solids).pairs(points, which)
    for index, (primitive, pose) in enumerate(solids):
        mine = which == index
        alone = distance_to(points[mine], primitive, pose)
        outside = alone > 0.0
        np.testing.assert_allclose(found[mine][outside], alone[outside], atol=1e-9)
        inside = found[mine][~outside]
        assert (inside <= 1e-9).all()
        if isinstance(primitive, TubeRun):
            assert (inside >= alone[~outside] - 1e-9).all()
        else:
            np.testing.assert_allclose(inside, alone[~outside], atol=1e-9)


def test_solids_that_all_stand_square_keep_their_turns():
    turns = [(0.0, 0.0, 0.0), (90.0, 0.0, 0.0), (0.0, 90.0, 0.0), (180.0, 0.0, 90.0)]
    solids = [(Cylinder(22.0, 14.0), Pose.at((60.0 * k, 0.0, 0.0), turn)) for k, turn in enumerate(turns)]
    points = np.random.default_rng(11).uniform(-50.0, 230.0, (2000, 3))
    obstacles = Obstacles(solids)
    for index, (primitive, pose) in enumerate(solids):
        found = obstacles.pairs(points, np.full(len(points), index))
        np.testing.assert_allclose(found, distance_to(points, primitive, pose), atol=1e-9)


def test_nearest_is_the_least_of_all():
    solids = scattered(4)
    points = np.random.default_rng(5).uniform(-250.0, 250.0, (400, 3))
    distance, which = Obstacles(solids).nearest(points)
    every = np.array([distance_to(points, primitive, pose) for primitive, pose in solids])
    outside = every.min(axis=0) > 0.0
    np.testing.assert_allclose(distance[outside], every.min(axis=0)[outside], atol=1e-9)
    assert (distance[~outside] <= 0.0).all()
    np.testing.assert_allclose(every[which, np.arange(len(points))][outside], distance[outside], atol=1e-9)


def test_the_order_of_solids_changes_no_distance():
    solids = scattered(6)
    points = np.random.default_rng(7).uniform(-250.0, 250.0, (200, 3))
    forward, _ = Obstacles(solids).nearest(points)
    backward, _ = Obstacles(solids[::-1]).nearest(points)
    np.testing.assert_array_equal(forward, backward)


def test_boxes_enclose_their_solids():
    solids = [
        (Box((10.0, 20.0, 30.0)), IDENTITY),
        (Cylinder(10.0, 40.0), Pose.at((5.0, 0.0, 0.0), (0.0, 90.0, 0.0))),
    ]
    obstacles = Obstacles(solids)
    np.testing.assert_allclose(obstacles.lower, [[-5.0, -10.0, -15.0], [-15.0, -5.0, -5.0]], atol=1e-12)
    np.testing.assert_allclose(obstacles.upper, [[5.0, 10.0, 15.0], [25.0, 5.0, 5.0]], atol=1e-12)


def test_nothing_there():
    distance, which = Obstacles([]).nearest(np.zeros((2, 3)))
    assert distance.tolist() == [np.inf, np.inf]
    assert which.tolist() == [-1, -1]


@pytest.mark.parametrize("count", [1, 7])
def test_no_points(count):
    distance, which = Obstacles(scattered(8, count)).nearest(np.empty((0, 3)))
    assert len(distance) == len(which) == 0
