"""Runs of free angles: those along listed directions bettered, and those of two bends sampled.

The vertices of a run with b bends have 3 b - 4 freedoms beyond one along each mouth's axis:
too many to search to the end. What is found is proved clear, not proved cheapest.
"""

from __future__ import annotations

import math

import numpy as np

from layout3d.tubes.route.catalogue import Problem
from layout3d.tubes.route.directions import LEAST_TURN_DEG, SHARPEST_DEG, angles_between
from layout3d.tubes.route.families import FREE, Families
from layout3d.tubes.route.proof import Run, middle_blocked, self_gap
from shapes.pose import Array

#: Axes that pass each other this closely meet [mm].
_MEET_MM = 1e-7
_GRID = 36
_TRIED = 60
_FIRST_STEP_MM = 16.0
_LAST_STEP_MM = 0.02


def bettered(problem: Problem, run: Run | None) -> tuple[Run | None, float]:
    """The cheapest of the given run and of sampled ones of two bends, its vertices moved to better it."""
    best, cost = None, math.inf
    starts = [] if run is None else [run.families.corners(run.row, run.f)]
    starts += _of_one_bend(problem)
    if problem.bends >= 2:
        starts += _of_two_bends(problem)
    for corners in starts:
        found, value = _descended(problem, corners)
        if value < cost:
            best, cost = found, value
    return best, cost


def run_through(problem: Problem, corners: Array) -> Run | None:
    """The run with these vertices (bends, 3); None where a straight is too short or a bend too sharp."""
    request, tubing = problem.request, problem.request.tubing
    points = np.vstack((request.mouths[0].origin, corners, request.mouths[1].origin))
    legs = np.diff(points, axis=0)
    lengths = np.sqrt((legs * legs).sum(axis=1))
    if lengths.min() < 1e-6:
        return None
    directions = legs / lengths[:, None]
    degrees = angles_between(directions[:-1], directions[1:])
    if degrees.min() < LEAST_TURN_DEG or degrees.max() > SHARPEST_DEG:
        return None
    angle, bends = np.radians(degrees), len(corners)
    tangent = np.concatenate(([0.0], tubing.bend_radius * np.tan(0.5 * angle), [0.0]))
    straights = lengths - tangent[:-1] - tangent[1:]
    least = np.array([tubing.end_straight, *[tubing.between_bends] * (bends - 1), tubing.end_straight])
    too_long = straights[0] > problem.ends[0].reach or straights[-1] > problem.ends[1].reach
    if too_long or (straights < least).any():
        return None
    starts = points[:-1] + tangent[:-1, None] * directions
    still = np.zeros((1, bends + 1, 3, FREE))
    length = float(straights.sum() + tubing.bend_radius * angle.sum())
    families = Families(
        bends=bends,
        radius=tubing.bend_radius,
        directions=directions[None],
        angle=angle[None],
        least=straights[None],
        most=np.zeros((1, bends + 1)),
        u0=np.zeros((1, bends + 1)),
        Z=np.zeros((1, bends + 1, FREE)),
        cost=np.array([length + request.bend_cost * bends]),
        rate=np.zeros((1, FREE)),
        starts=starts[None],
        ends=(starts + straights[:, None] * directions)[None],
        start_moves=still,
        end_moves=still,
    )
    return Run(families, 0, np.zeros(FREE))


def is_clear(problem: Problem, run: Run) -> bool:
    """Whether the run's middle is proved clear of everything and of the run itself."""
    room = problem.room
    blocked, proved = middle_blocked(run, room.field, room.radius, room.lenient)
    if blocked is not None or (not proved and room.exact_depth(run) is not None):
        return False
    return self_gap(run, room.self_apart, room.self_distance)[0] == math.inf


def _of_one_bend(problem: Problem) -> list[Array]:
    """The vertex where the mouths' axes meet, if they do."""
    first, last = problem.request.mouths
    normal = np.cross(first.z_axis, last.z_axis)
    square, way = float(normal @ normal), last.origin - first.origin
    if problem.bends < 1 or square < 1e-12 or abs(float(way @ normal)) > _MEET_MM * math.sqrt(square):
        return []
    along = float(np.cross(way, last.z_axis) @ normal) / square
    return [(first.origin + along * first.z_axis)[None]]


def _of_two_bends(problem: Problem) -> list[Array]:
    """Vertices of the cheapest clear run of two bends on a grid of places along the mouths' axes."""
    request, tubing = problem.request, problem.request.tubing
    spans = [
        np.linspace(
            tubing.end_straight, min(end.reach, problem.limit / 2.0) + 3.0 * tubing.bend_radius, _GRID
        )
        for end in problem.ends
    ]
    first, last = (
        mouth.origin + span[:, None] * mouth.z_axis for mouth, span in zip(request.mouths, spans, strict=True)
    )
    pairs = [np.array([a, b]) for a in first for b in last]
    runs = [
        (run.families.cost[0], n) for n, p in enumerate(pairs) if (run := run_through(problem, p)) is not None
    ]
    for _, n in sorted(runs)[:_TRIED]:
        run = run_through(problem, pairs[n])
        if run is not None and is_clear(problem, run):
            return [pairs[n]]
    return []


def _descended(problem: Problem, corners: Array) -> tuple[Run | None, float]:
    """A run bettered by moving one vertex at a time by steps that get smaller."""
    best = run_through(problem, corners)
    if best is None or not is_clear(problem, best):
        return None, math.inf
    cost = float(best.families.cost[0])
    moves = _moves(problem, len(corners))
    step = _FIRST_STEP_MM
    while step > _LAST_STEP_MM:
        improved = False
        for vertex, way in moves:
            trial = corners.copy()
            trial[vertex] += step * way
            run = run_through(problem, trial)
            if run is not None and run.families.cost[0] < cost - 1e-9 and is_clear(problem, run):
                best, cost, corners, improved = run, float(run.families.cost[0]), trial, True
        if not improved:
            step *= 0.5
    return best, cost


def _moves(problem: Problem, bends: int) -> list[tuple[int, Array]]:
    """The first and the last vertex along their mouths' axes, the others any way."""
    request = problem.request
    if bends < 2:
        return []
    moves = [(0, request.mouths[0].z_axis), (bends - 1, request.mouths[1].z_axis)]
    moves += [(vertex, axis) for vertex in range(1, bends - 1) for axis in np.eye(3)]
    return [(vertex, sign * way) for vertex, way in moves for sign in (1.0, -1.0)]
