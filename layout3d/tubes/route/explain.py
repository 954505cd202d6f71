"""Why there is no run: a barred end, geometry alone, or what stands in the way."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import replace

import numpy as np

from layout3d.tubes.request import NoRoute
from layout3d.tubes.route.catalogue import SURE_BENDS, Outcome, Problem, direction_sets, families_of
from layout3d.tubes.route.directions import case_directions, follows, place_of, prepared
from layout3d.tubes.route.families import FREE, Families
from layout3d.tubes.route.search import Found, Search
from layout3d.tubes.route.words import searched
from shapes.pose import Array, Vec3, as_vec3

_END_NAMES = ("first", "last")
_RADIUS_STEP_MM = 0.5
_NAMED = 3


def no_route(problem: Problem, outcome: Outcome) -> NoRoute:
    """The answer for a search that found nothing."""
    complete = outcome.found.given_up == np.inf
    listed = problem.request.directions == "case"
    proved = complete and listed
    words = searched(problem.request, complete)
    for end in (0, 1):
        barred = _barred_end(problem, end, listed)
        if barred is not None:
            return replace(barred, searched=words)
    if not outcome.families:
        return _by_geometry(problem, words, proved)
    return _in_the_way(problem, outcome.found, words, proved)


def _barred_end(problem: Problem, end: int, listed: bool) -> NoRoute | None:
    """An end out of which no straight, or no first bend of a listed kind, is possible."""
    tubing, state, mouth = problem.request.tubing, problem.ends[end], problem.request.mouths[end]
    name = f"the tube's {_END_NAMES[end]} end"
    if state.reach < tubing.end_straight:
        part = () if state.barred_by is None else (problem.around.hindrances[state.barred_by].name,)
        what = part[0] if part else "an obstacle"
        return NoRoute(
            reason=(
                f"in front of {name} only {state.reach:.2f} mm are free before {what}; "
                f"its straight needs {tubing.end_straight:g} mm"
            ),
            searched="",
            proved=True,
            parts=part,
            at_mm=as_vec3(mouth.origin + state.reach * mouth.z_axis),
        )
    if not listed:
        return None
    blocks = _first_bend_blocks(problem, end, tubing.bend_radius)
    if blocks is None:
        return None
    parts, at = _culprits(problem, blocks)
    parts = parts or _barring(problem, end)
    fits = _largest_first_bend(problem, end)
    fitting = "no bend of any radius fits" if fits is None else f"a bend of radius {fits:g} mm would fit"
    return NoRoute(
        reason=f"no first bend of radius {tubing.bend_radius:g} mm fits at {name}: each is {_blocked(parts)}",
        searched="",
        proved=True,
        parts=parts,
        at_mm=at,
        remedy=f"at that end {fitting}; or turn the fitting, or move {parts[0] if parts else 'the part'}",
    )


def _first_bend_blocks(problem: Problem, end: int, radius: float) -> list[Array] | None:
    """Points where every first bend out of an end is blocked; None if one is free."""
    lenient = problem.room.lenient if end == 0 else problem.room.lenient[::-1]
    search = Search(replace(problem.room, lenient=lenient), SURE_BENDS)
    search.add(_first_bends(problem, end, radius), problem.limit)
    search.run(np.inf)
    return search.found.blocks if search.found.run is None else None


def _first_bends(problem: Problem, end: int, radius: float) -> Families:
    """One bend after a straight of free length, for each way to bend."""
    request = problem.request
    known = prepared(case_directions(request.mouths))
    mouth, state = request.mouths[end], problem.ends[end]
    leave = place_of(mouth.z_axis, known.vectors)
    ways = np.flatnonzero(follows(known, request.angles)[leave])
    count, least = len(ways), request.tubing.end_straight
    along = np.broadcast_to(mouth.z_axis, (count, 3))
    directions = np.stack((along, known.vectors[ways]), axis=1)
    angle = np.radians(known.angle[leave, ways])[:, None]
    Z, moves = np.zeros((count, 2, FREE)), np.zeros((count, 2, 3, FREE))
    Z[:, 0, 0], moves[:, :, :, 0] = 1.0, mouth.z_axis[:, None].T
    bend_start = mouth.origin + least * mouth.z_axis
    over = (radius * np.tan(0.5 * angle))[..., None] * (directions[:, :1] + directions[:, 1:])
    bend_end = bend_start + over[:, 0]
    start_moves = moves.copy()
    start_moves[:, 0] = 0.0
    return Families(
        bends=1,
        radius=radius,
        directions=directions,
        angle=angle,
        least=np.tile([least, 0.0], (count, 1)),
        most=np.tile([state.reach - least, 0.0], (count, 1)),
        u0=np.zeros((count, 2)),
        Z=Z,
        cost=np.zeros(count),
        rate=np.tile([1.0, 0.0, 0.0], (count, 1)),
        starts=np.stack((np.broadcast_to(mouth.origin, (count, 3)), bend_end), axis=1),
        ends=np.stack((np.broadcast_to(bend_start, (count, 3)), bend_end), axis=1),
        start_moves=start_moves,
        end_moves=moves,
    )


def _largest_first_bend(problem: Problem, end: int) -> float | None:
    """The largest bend radius a first bend has room for, to half a millimetre; None for none at all."""
    tubing = problem.request.tubing
    low = math.ceil(0.5 * tubing.outside / _RADIUS_STEP_MM)
    high = math.ceil(tubing.bend_radius / _RADIUS_STEP_MM)
    if _first_bend_blocks(problem, end, _RADIUS_STEP_MM * low) is not None:
        return None
    while high - low > 1:
        middle = (low + high) // 2
        free = _first_bend_blocks(problem, end, _RADIUS_STEP_MM * middle) is None
        low, high = (middle, high) if free else (low, middle)
    return _RADIUS_STEP_MM * low


def _by_geometry(problem: Problem, words: str, proved: bool) -> NoRoute:
    tubing = problem.request.tubing
    listed = problem.request.directions == "case"
    radius = _largest_radius(problem) if listed else None
    remedy = None if radius is None else f"with a bend radius of {radius:g} mm the figures allow a run"
    return NoRoute(
        reason=(
            f"even without obstacles no run {'' if listed else 'that was tried '}joins the two ends: "
            "the bends, straights of at least "
            f"{tubing.end_straight:g} mm at the ends and {tubing.between_bends:g} mm between bends of radius "
            f"{tubing.bend_radius:g} mm do not add up"
        ),
        searched=words,
        proved=proved,
        remedy=remedy,
    )


def _largest_radius(problem: Problem) -> float | None:
    """The largest bend radius, in half millimetres below the tubing's, for which anything reaches."""
    steps = np.arange(
        problem.request.tubing.bend_radius, 0.5 * problem.request.tubing.outside, -_RADIUS_STEP_MM
    )
    for radius in steps[1:]:
        for bends in range(1, problem.bends + 1):
            sets = direction_sets(problem.request, bends)
            if any(len(families_of(problem, known, bends, radius)) for known in sets):
                return float(radius)
    return None


def _in_the_way(problem: Problem, found: Found, words: str, proved: bool) -> NoRoute:
    parts, at = _culprits(problem, found.blocks)
    every = "every run" if proved else "every run that was tried"
    if not parts and found.crossed:
        reason = f"{every} that would reach comes too near to itself"
    elif not parts:
        parts = _barring(problem, 0, 1)
        reason = (
            f"the straights out of the ends are too short for {every} that would reach, {_blocked(parts)}"
        )
    else:
        reason = f"{every} that would reach is {_blocked(parts)}"
    return NoRoute(
        reason=reason,
        searched=words,
        proved=proved,
        parts=parts,
        at_mm=at,
    )


def _barring(problem: Problem, *ends: int) -> tuple[str, ...]:
    """Names of what the straights out of these ends run into."""
    barred = [what for end in ends if (what := problem.ends[end].barred_by) is not None]
    return tuple(dict.fromkeys(problem.around.hindrances[i].name for i in barred))


def _culprits(problem: Problem, blocks: list[Array]) -> tuple[tuple[str, ...], Vec3 | None]:
    """Names of what blocks most of these points, and one such point."""
    points = np.vstack(blocks) if blocks else np.empty((0, 3))
    if not len(points) or not len(problem.around.obstacles):
        return (), None
    which = problem.around.tightest(points)
    names = [problem.around.hindrances[i].name for i in which]
    ranked = [name for name, _ in Counter(names).most_common(_NAMED)]
    return tuple(ranked), as_vec3(points[names.index(ranked[0])])


def _blocked(parts: tuple[str, ...]) -> str:
    if not parts:
        return "blocked"
    return "blocked by " + (parts[0] if len(parts) == 1 else ", ".join(parts[:-1]) + " or " + parts[-1])
