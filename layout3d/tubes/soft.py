"""Soft tubes: the curve they take, as arcs and straights, and what a cut length allows.

Each end first runs straight out of its fitting, just far enough that the bend behind it keeps
the gap to what the tube ends on. Between those the curve is made of arcs of the tubing's bend
radius and straights, so its least radius is exact and it deviates from its pieces by nothing.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from layout3d.findings import Finding
from layout3d.layout import Tube
from layout3d.scene.model import AutoPath, CutPath, SoftTubing
from layout3d.tubes.centreline import Piece, length_mm, straight_between
from layout3d.tubes.detour import of_length, way_round
from layout3d.tubes.faults import TOLERANCE_MM
from layout3d.tubes.job import TubeJob
from layout3d.tubes.rigid import least_radius_mm, run_of
from layout3d.tubes.turns import Ray, shortest_turns
from layout3d.tubes.vectors import along, middle
from layout3d.words import mm, mm_pair, rounded_up
from shapes.pose import Vec3
from shapes.primitives import Arc

#: Beyond the gap itself [mm], so that rounding never takes a curve below it.
_SPARE_MM = 0.05


def by_curve(job: TubeJob, tubing: SoftTubing, path: AutoPath | CutPath) -> Tube:
    """The shortest curve, or one of the given cut length."""
    curves = Curves.of(job, tubing.bend_radius)
    shortest = curves.shortest()
    if shortest is None:
        return _refused(job, _no_curve(job, tubing))
    if isinstance(path, AutoPath):
        return _tube(job, tubing, shortest)
    wanted, least = path.cut - sum(job.insertions), length_mm(shortest)
    if wanted < least - TOLERANCE_MM:
        tube = _refused(job, _too_short(job, path.cut, least))
        return dataclasses.replace(tube, run=run_of(tubing, shortest))
    curve = curves.of_length(wanted)
    if curve is None:
        return _refused(job, _no_curve_of_length(job, tubing, path.cut, wanted))
    return _tube(job, tubing, curve)


def _tube(job: TubeJob, tubing: SoftTubing, pieces: tuple[Piece, ...]) -> Tube:
    return dataclasses.replace(
        job.blank(),
        run=run_of(tubing, pieces),
        path_mm=length_mm(pieces),
        least_bend_radius_mm=least_radius_mm(pieces),
    )


def _refused(job: TubeJob, finding: Finding) -> Tube:
    return dataclasses.replace(job.blank(), findings=(finding,))


def stem_mm(job: TubeJob, end: Literal[0, 1]) -> float:
    """How far a soft tube runs straight out of a fitting: the widest gap to what it ends on [mm]."""
    scene, own = job.scene, job.spec.gap
    gaps = [scene.parts[name].gap if name in scene.parts else None for name in job.near[end]]
    stated = [[gap for gap in (own, part) if gap is not None] for part in gaps] or [[]]
    widest = max(max(pair, default=scene.rules.tube_gap) for pair in stated)
    return widest + _SPARE_MM if widest > 0.0 else 0.0


@dataclass(frozen=True, slots=True)
class Curves:
    """The curves of one radius a soft tube may take; ``start`` and ``end`` lie past the straight ends."""

    mouths: tuple[Vec3, Vec3]
    start: Ray
    end: Ray
    radius: float

    @staticmethod
    def of(job: TubeJob, radius: float) -> Curves:
        """The curves of a tube that bend to ``radius`` [mm]."""
        start = (along(job.ends[0], job.axes[0], stem_mm(job, 0)), job.axes[0])
        end = (along(job.ends[1], job.axes[1], -stem_mm(job, 1)), job.axes[1])
        return Curves(job.ends, start, end, radius)

    def shortest(self) -> tuple[Piece, ...] | None:
        """The shortest that was found, mouth to mouth."""
        curve = self._between()
        return None if curve is None else self._whole(curve)

    def of_length(self, length: float) -> tuple[Piece, ...] | None:
        """One of this length from mouth to mouth [mm], or None."""
        shortest = self._between()
        if shortest is None:
            return None
        wanted = length - math.dist(self.mouths[0], self.start[0]) - math.dist(self.end[0], self.mouths[1])
        if abs(wanted - length_mm(shortest)) <= TOLERANCE_MM:
            return self._whole(shortest)
        curve = of_length(self.start, self.end, self.radius, shortest, wanted)
        return None if curve is None else self._whole(curve)

    def _between(self) -> tuple[Piece, ...] | None:
        ends = (self.start, self.end, self.radius)
        direct = shortest_turns(*ends)
        if direct is not None and all(piece.angle <= math.pi for piece in direct if isinstance(piece, Arc)):
            return direct
        # Ends so near that a bend goes the long way round may have a shorter way by a bulb.
        curves = [curve for curve in (direct, way_round(*ends)) if curve is not None]
        return min(curves, key=length_mm, default=None)

    def _whole(self, curve: tuple[Piece, ...]) -> tuple[Piece, ...]:
        first = straight_between(self.mouths[0], self.start[0])
        return (*first, *curve, *straight_between(self.end[0], self.mouths[1]))


def _too_short(job: TubeJob, cut: float, least: float) -> Finding:
    shortest_cut = least + sum(job.insertions)
    has, needs = mm_pair(cut, shortest_cut)
    return job.finding(
        "tube-too-short",
        f"cut to {has}; the shortest curve that leaves and enters along the ports takes {needs}",
        measured_mm=cut,
        required_mm=shortest_cut,
        at_mm=middle(*job.ends),
        remedy=f"cut it to {mm(rounded_up(shortest_cut))} or more, or write `path: auto`",
    )


def _no_curve_of_length(job: TubeJob, tubing: SoftTubing, cut: float, wanted: float) -> Finding:
    return _finding_for_radius(
        job,
        tubing,
        f"no curve cut to {mm(cut)} was found that bends no tighter than",
        _largest_radius(tubing, lambda radius: Curves.of(job, radius).of_length(wanted)),
        "cut it to another length, or write `path: auto`",
    )


def _no_curve(job: TubeJob, tubing: SoftTubing) -> Finding:
    largest = _largest_radius(tubing, lambda radius: Curves.of(job, radius).shortest())
    message = "no curve was found that bends no tighter than"
    return _finding_for_radius(
        job, tubing, message, largest, "move or turn what it ends on, or use other ports"
    )


def _finding_for_radius(
    job: TubeJob, tubing: SoftTubing, message: str, largest: float | None, remedy: str
) -> Finding:
    would_do = f"; {mm(largest)} would do" if largest is not None else ""
    return job.finding(
        "bend-radius",
        f"{message} {mm(tubing.bend_radius)}{would_do}",
        measured_mm=largest,
        required_mm=tubing.bend_radius,
        at_mm=middle(*job.ends),
        remedy=remedy,
    )


def _largest_radius(tubing: SoftTubing, curve: Callable[[float], tuple[Piece, ...] | None]) -> float | None:
    """The first smaller radius with a curve, in 12 steps down to half the outside diameter [mm]."""
    least = tubing.outside / 2.0
    for k in range(1, 12):
        radius = math.floor(10.0 * (tubing.bend_radius - (tubing.bend_radius - least) * k / 12)) / 10.0
        if curve(radius) is not None:
            return radius
    return None
