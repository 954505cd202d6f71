"""Runs whose bends and legs are chosen from lists: every one of up to three bends is considered."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from layout3d.tubes.request import RouteRequest
from layout3d.tubes.route.cones import any_way
from layout3d.tubes.route.directions import (
    Directions,
    all_diagonals,
    case_directions,
    distinct,
    follows,
    place_of,
    prepared,
    sequences,
)
from layout3d.tubes.route.ends import End, Surroundings, middle_pieces
from layout3d.tubes.route.families import Families, families
from layout3d.tubes.route.field import ClearanceField
from layout3d.tubes.route.proof import Run
from layout3d.tubes.route.room import Room
from layout3d.tubes.route.search import Found, Search
from layout3d.tubes.selfpairs import apart_mm

#: Runs of more bends are searched only as far as a fixed effort goes.
SURE_BENDS = 3
MOST_BENDS = 4
_LOOKS = 12_000
_HORIZON_MM = 8.0


@dataclass(frozen=True, slots=True, eq=False)
class Problem:
    """One tube to be found among what is there.

    limit : no straight need be longer [mm]
    """

    request: RouteRequest
    around: Surroundings
    ends: tuple[End, End]
    room: Room
    limit: float

    @property
    def bends(self) -> int:
        """Most bends searched for."""
        return most_bends(self.request)


@dataclass(frozen=True, slots=True)
class Outcome:
    """What the search found, and how many families of runs reach from mouth to mouth at all."""

    found: Found
    families: int


def is_free(request: RouteRequest) -> bool:
    """Whether both angles and directions may be any: no list holds all runs."""
    return request.angles == "any" and request.directions == "any"


def most_bends(request: RouteRequest) -> int:
    """Most bends searched for; angles that are free make too many runs of more than three."""
    return min(request.most_bends, SURE_BENDS if request.angles == "any" else MOST_BENDS)


def room_of(request: RouteRequest, around: Surroundings, ends: tuple[End, End], self_gap: float) -> Room:
    """What the middle of a run must keep clear of."""
    tubing, radius = request.tubing, around.radius

    # From here on a ball of the tube's radius does not reach back over the bend's first plane.
    past = tubing.bend_radius * math.asin(min(1.0, radius / tubing.bend_radius))

    def exact_depth(run: Run) -> float | None:
        lacks, _ = around.shortfall(middle_pieces(run), around.required)
        return lacks if lacks > 0.0 else None

    return Room(
        field=ClearanceField(around.obstacles, around.required, radius + _HORIZON_MM),
        obstacles=around.obstacles,
        required=around.required,
        radius=radius,
        lenient=(past if ends[0].near_ahead else 0.0, past if ends[1].near_ahead else 0.0),
        exact_depth=exact_depth,
        self_apart=apart_mm(tubing),
        self_distance=tubing.outside + self_gap,
    )


def cheapest(problem: Problem) -> Outcome:
    """The cheapest bent run along the listed directions with the listed angles."""
    request = problem.request
    if any(end.reach < request.tubing.end_straight for end in problem.ends):
        return Outcome(Found(), 0)
    apart = float(np.linalg.norm(request.mouths[1].origin - request.mouths[0].origin))
    search = Search(problem.room, SURE_BENDS)
    count = 0
    for bends in range(1, problem.bends + 1):
        # No run of so many bends costs less than this: with all cheaper ones settled, it may not matter.
        search.run(apart + request.bend_cost * bends)
        if bends > SURE_BENDS:
            search.limit = search.found.looked_at + _LOOKS
        for known in direction_sets(request, bends):
            of_bends = families_of(problem, known, bends)
            count += len(of_bends)
            search.add(of_bends, problem.limit)
    search.run(math.inf)
    return Outcome(search.found, count)


def direction_sets(request: RouteRequest, bends: int) -> Iterator[Directions]:
    """Sets of directions; a run of so many bends keeps to one of them."""
    listed = case_directions(request.mouths)
    if is_free(request):
        yield prepared(distinct(np.vstack((listed, all_diagonals()))))
        return
    yield prepared(listed)
    if request.directions == "any" and request.angles != "any" and bends in (2, 3):
        first, last = request.mouths
        for some in any_way(first.z_axis, -last.z_axis, last.origin - first.origin, request.angles):
            yield prepared(some)


def families_of(problem: Problem, known: Directions, bends: int, radius: float | None = None) -> Families:
    """The families of runs of so many bends; of the tubing's bend radius unless another is given."""
    request, tubing = problem.request, problem.request.tubing
    leave = place_of(request.mouths[0].z_axis, known.vectors)
    arrive = place_of(-request.mouths[1].z_axis, known.vectors)
    chains = sequences(follows(known, request.angles), leave, arrive, bends)
    least = np.array([tubing.end_straight, *[tubing.between_bends] * (bends - 1), tubing.end_straight])
    reach = np.array([problem.ends[0].reach, *[problem.limit] * (bends - 1), problem.ends[1].reach])
    return families(
        known,
        chains,
        request.mouths[0].origin,
        request.mouths[1].origin,
        tubing.bend_radius if radius is None else radius,
        least,
        reach - least,
        request.bend_cost,
    )
