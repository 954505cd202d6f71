"""The faults of a rigid path, put into words."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from layout3d.findings import Finding
from layout3d.scene.model import RigidTubing
from layout3d.tubes.faults import Fault, judged, off_axis_by
from layout3d.tubes.job import TubeJob
from layout3d.tubes.remedies import mending_move
from layout3d.tubes.vectors import norm
from layout3d.words import degrees, mm, mm_pair
from shapes.pose import Vec3


@dataclass(frozen=True, slots=True)
class Given:
    """How a path was given: its points [mm], and what a message calls the k-th of them."""

    points: tuple[Vec3, ...]
    called: Literal["corner", "the end of leg", "bend"]
    last: int

    def name(self, job: TubeJob, place: int) -> str:
        """ "left.out" for the tube's start, "corner 2" for its second corner."""
        if place in (0, self.last):
            return job.port(0 if place == 0 else 1)
        return f"{self.called} {place}"


def complaints(
    job: TubeJob, tubing: RigidTubing, given: Given, faults: Sequence[Fault]
) -> tuple[Finding, ...]:
    """One finding per rule and parts, the worst."""
    worst: dict[tuple[str, int | None], Fault] = {}
    for fault in faults:
        key = (fault.rule, fault.end if fault.rule in ("end-straight", "port-direction") else None)
        if key not in worst or _shortfall(fault) > _shortfall(worst[key]):
            worst[key] = fault
    return tuple(_complaint(job, tubing, given, fault) for fault in worst.values())


def _shortfall(fault: Fault) -> float:
    return abs(fault.required - fault.measured)


def _complaint(job: TubeJob, tubing: RigidTubing, given: Given, fault: Fault) -> Finding:
    in_mm = fault.rule not in ("port-direction", "path-corners")
    return job.finding(
        fault.rule,
        _message(job, given, fault),
        end=fault.end if fault.rule in ("end-straight", "port-direction") else None,
        measured_mm=fault.measured if in_mm else None,
        required_mm=fault.required if in_mm else None,
        at_mm=fault.at,
        remedy=_remedy(job, tubing, given, fault),
    )


def _message(job: TubeJob, given: Given, fault: Fault) -> str:
    names = [given.name(job, place) for place in fault.places]
    has, needs = mm_pair(fault.measured, fault.required)
    tubing = f"tubing '{job.spec.tubing}'"
    if fault.rule == "path-corners":
        return f"{names[0]} and {names[1]} are in one place, so the tube has no direction there"
    if fault.rule == "port-direction":
        return _direction_message(job, given, fault)
    if fault.rule == "end-straight":
        which, bend = ("first", names[1]) if fault.end == 0 else ("last", names[0])
        port = names[0] if fault.end == 0 else names[1]
        return (
            f"the {which} straight, between {port} and the bend at {bend}, is {has}; {tubing} needs {needs}"
        )
    if fault.rule == "bend-spacing":
        return (
            f"the straight between {names[0]} and {names[1]} is {has}; {tubing} needs {needs} between bends"
        )
    if len(names) == 1:
        return f"the tube folds straight back at {names[0]}; no bend radius fits such a turn"
    return (
        f"between {names[0]} and {names[1]} a bend radius of at most {has} fits; {tubing} bends to {needs} "
        "(clearances are checked with the smaller radius)"
    )


def _direction_message(job: TubeJob, given: Given, fault: Fault) -> str:
    at_start = fault.end == 0
    verb = "leaves" if at_start else "arrives at"
    text = f"the tube {verb} {job.port(0 if at_start else 1)} {degrees(fault.measured)} off its axis"
    if given.called == "bend" or len(given.points) < 2:
        return text
    place = fault.places[1 if at_start else 0]
    end = 0 if at_start else 1
    aside = norm(off_axis_by(given.points[place], job.ends[end], job.axes[end]))
    if fault.measured > 90.0:
        return f"{text}: {given.name(job, place)} lies behind the mouth"
    return f"{text}: {given.name(job, place)} lies {mm(aside)} beside it"


def _remedy(job: TubeJob, tubing: RigidTubing, given: Given, fault: Fault) -> str | None:
    ways = []
    if given.called != "bend":
        move = mending_move(given.points, job.axes, tubing, fault)
        if move is not None:
            words = move.in_corners() if given.called == "corner" else move.in_legs(given.points)
            ways += [words] if words else []
    if fault.rule == "bend-radius" and len(fault.places) == 2:
        ways += _tighter_tubing(job, tubing, given, fault)
    return ", or ".join(ways) or None


def _tighter_tubing(job: TubeJob, tubing: RigidTubing, given: Given, fault: Fault) -> list[str]:
    """The largest radius, in tenths of a millimetre, with which the whole path is sound."""
    leg = math.dist(*(given.points[place] for place in fault.places))
    radius = math.floor(10.0 * (tubing.bend_radius - fault.short_mm * fault.measured / leg)) / 10.0
    if radius < tubing.outside / 2.0:
        return []
    tighter = tubing.model_copy(update={"bend_radius": radius})
    sound = not judged(given.points, job.axes, tighter).faults
    return [f"take a tubing that bends to {mm(radius)}"] if sound else []
