"""Moves of corners that mend a fault, each tried before it is told."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from layout3d.scene.model import RigidTubing
from layout3d.tubes.centreline import NO_TURN
from layout3d.tubes.faults import Fault, judged, off_axis_by
from layout3d.tubes.vectors import add, angle, minus, norm, times, unit
from layout3d.words import mm, number, rounded_up, toward
from shapes.pose import Vec3


@dataclass(frozen=True, slots=True)
class Move:
    """Corners ``first`` to ``last`` (numbered from 1) moved together by ``shift`` [mm]."""

    first: int
    last: int
    shift: Vec3

    def applied(self, points: Sequence[Vec3]) -> tuple[Vec3, ...]:
        """The points with the move made."""
        return tuple(
            add(point, self.shift) if self.first <= k <= self.last else point
            for k, point in enumerate(points)
        )

    def legs_turned(self, points: Sequence[Vec3]) -> list[int]:
        """The legs that run another way after the move, by number, 0 for the first."""
        legs = zip(pairwise(points), pairwise(self.applied(points)), strict=True)
        return [
            k
            for k, ((a, b), (c, d)) in enumerate(legs)
            if angle(unit(minus(b, a)), unit(minus(d, c))) > NO_TURN
        ]

    def in_corners(self) -> str:
        """The move in words for a path given by corners."""
        who = f"corner {self.first}" if self.first == self.last else f"corners {self.first} to {self.last}"
        return f"move {who} by {mm(norm(self.shift))} {toward(unit(self.shift))}"

    def in_legs(self, points: Sequence[Vec3]) -> str | None:
        """The move as new lengths of the given legs (all but the last); None where it would turn one."""
        given = len(points) - 2
        if any(leg < given for leg in self.legs_turned(points)):
            return None
        after = self.applied(points)
        changes = []
        for k in range(given):
            old, new = math.dist(points[k], points[k + 1]), math.dist(after[k], after[k + 1])
            if abs(new - old) > 1e-9:
                changes.append(f"leg {k + 1} {number(new, 6)} mm (now {number(old, 6)})")
        return f"make {' and '.join(changes)}"


def mending_move(
    points: Sequence[Vec3], axes: tuple[Vec3, Vec3], tubing: RigidTubing, fault: Fault
) -> Move | None:
    """A move of neighbouring corners that ends this fault and brings no other; None if none is known.

    It minds the path's own rules only: what the moved tube may hit is for the checker to say.
    """
    before = {(found.rule, found.places) for found in judged(points, axes, tubing).faults}
    mending = []
    for move in _candidates(points, axes, fault):
        after = {(found.rule, found.places) for found in judged(move.applied(points), axes, tubing).faults}
        if after <= before - {(fault.rule, fault.places)}:
            mending.append(move)
    return min(mending, key=lambda move: len(move.legs_turned(points)), default=None)


def _candidates(points: Sequence[Vec3], axes: tuple[Vec3, Vec3], fault: Fault) -> Iterator[Move]:
    last = len(points) - 2
    if fault.rule == "port-direction":
        at_start = fault.end == 0
        corner = 1 if at_start else last
        shift = off_axis_by(points[corner], points[0 if at_start else -1], axes[0 if at_start else 1])
        if norm(shift) > 1e-9 and last >= 1:
            for size in range(last):
                yield Move(1, 1 + size, shift) if at_start else Move(last - size, last, shift)
    elif len(fault.places) == 2 and math.isfinite(fault.short_mm) and fault.short_mm > 0.0:
        a, b = fault.places
        shift = times(unit(minus(points[b], points[a])), rounded_up(fault.short_mm))
        for size in range(last):
            if b + size <= last:
                yield Move(b, b + size, shift)
            if a - size >= 1:
                yield Move(a - size, a, times(shift, -1.0))
