"""The search behind ``path: auto`` of rigid tubes: the one door into this package."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from layout3d.tubes.request import NoRoute, RouteAnswer, RouteRequest
from layout3d.tubes.route.catalogue import Problem, cheapest, is_free, room_of
from layout3d.tubes.route.ends import Surroundings, look_ahead
from layout3d.tubes.route.explain import no_route
from layout3d.tubes.route.free import bettered
from layout3d.tubes.route.room import COST_MM
from layout3d.tubes.route.scenery import Scenery
from layout3d.tubes.route.search import Found
from layout3d.tubes.route.words import searched
from shapes.pose import as_vec3
from shapes.primitives import Straight

#: Mouths this well in line can be joined by a straight tube [mm].
_IN_LINE_MM = 1e-6


def find_route(request: RouteRequest, scenery: Scenery) -> RouteAnswer | NoRoute:
    """The cheapest run of the class the request states, or why there is none.

    Where a run of up to three bends clears everything by the rule and 0.05 mm, one is found,
    and none such costs less than the ``bound_mm`` stated. Four bends are searched as far as a
    fixed effort goes. Deterministic.
    """
    around = Surroundings(scenery.hindrances, 0.5 * request.tubing.outside)
    straight = _straight(request, around)
    if straight is not None:
        return straight
    problem = _problem(request, scenery, around)
    outcome = cheapest(problem)
    found = outcome.found
    if is_free(request):
        found = _freed(problem, found)
    if found.run is None:
        return no_route(problem, outcome)
    return _answer(request, found)


def _freed(problem: Problem, found: Found) -> Found:
    """The best run of free angles; nothing is proved of the others but that they bend once at least."""
    if any(end.reach < problem.request.tubing.end_straight for end in problem.ends):
        return found
    run, cost = bettered(problem, found.run)
    first, last = problem.request.mouths
    bound = math.dist(first.origin, last.origin) + problem.request.bend_cost
    return replace(found, run=run, cost=cost, bound=min(bound, cost))


def _problem(request: RouteRequest, scenery: Scenery, around: Surroundings) -> Problem:
    least, limit = request.tubing.end_straight, _longest(request, around)
    first, last = (look_ahead(around, mouth, end, least, limit) for end, mouth in enumerate(request.mouths))
    room = room_of(request, around, (first, last), scenery.self_gap_mm)
    return Problem(request=request, around=around, ends=(first, last), room=room, limit=limit)


def _straight(request: RouteRequest, around: Surroundings) -> RouteAnswer | None:
    """The straight tube, if the mouths face each other and it is clear: nothing is cheaper."""
    first, last = request.mouths
    way = last.origin - first.origin
    length = float(way @ first.z_axis)
    in_line = float(np.abs(way - length * first.z_axis).max()) <= _IN_LINE_MM and float(
        np.abs(first.z_axis + last.z_axis).max()
    ) <= _IN_LINE_MM / max(length, 1.0)
    if not in_line or length < request.tubing.end_straight:
        return None
    piece = Straight(as_vec3(first.origin), as_vec3(last.origin))
    lacks, _ = around.shortfall([piece], around.required_near(0, 1))
    if lacks > 0.0:
        return None
    words = searched(request, complete=True)
    return RouteAnswer(corners=(), searched=words, cost_mm=length, bound_mm=length, proved=True)


def _answer(request: RouteRequest, found: Found) -> RouteAnswer:
    run = found.run
    assert run is not None
    corners = run.families.corners(run.row, run.f)
    return RouteAnswer(
        corners=tuple(as_vec3(corner) for corner in corners),
        searched=searched(request, complete=found.given_up >= found.settled),
        cost_mm=found.cost,
        bound_mm=found.bound,
        proved=request.directions == "case" and found.cost - found.bound <= COST_MM,
    )


def _longest(request: RouteRequest, around: Surroundings) -> float:
    """No straight need be longer: twice across all there is and the room a tube needs about it."""
    obstacles, tubing = around.obstacles, request.tubing
    points = np.vstack((obstacles.lower, obstacles.upper, *(mouth.origin for mouth in request.mouths)))
    across = math.dist(points.min(axis=0), points.max(axis=0))
    about = 4.0 * (tubing.bend_radius + tubing.outside + tubing.end_straight + tubing.between_bends)
    return 2.0 * (across + about + float(around.required.max(initial=0.0)))
