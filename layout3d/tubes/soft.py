"""Soft tubes: the shape a hose takes, and what a cut length allows.

Each end first runs straight out of its fitting, just far enough that the bend behind it keeps
the gap to what the tube ends on. Between those it hangs as an elastic rod does. No hose that
keeps its least radius is shorter than the curve of arcs of that radius and straights, which
decides what is too short and where the search for a shape begins.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from layout3d.findings import Finding
from layout3d.gaprule import gap_between
from layout3d.layout import Tube
from layout3d.scene.model import SoftTubing
from layout3d.scene.paths import AutoPath, CutPath
from layout3d.tubes.centreline import Piece, length_mm, straight_between
from layout3d.tubes.detour import way_round
from layout3d.tubes.faults import TOLERANCE_MM
from layout3d.tubes.hose import Clear, Hose, loads, sag_mm
from layout3d.tubes.hung import Hung
from layout3d.tubes.job import TubeJob
from layout3d.tubes.request import KeepsClear
from layout3d.tubes.rigid import run_of
from layout3d.tubes.turns import Ray, shortest_turns
from layout3d.tubes.vectors import along, middle
from layout3d.words import mm, mm_pair, rounded_up
from shapes.pose import Vec3
from shapes.primitives import Arc, TubeRun

#: Beyond the gap itself [mm], so that rounding never takes a curve below it.
_SPARE_MM = 0.05


def by_curve(job: TubeJob, tubing: SoftTubing, path: AutoPath | CutPath, keeps_clear: KeepsClear) -> Tube:
    """The shortest hose that is not kinked and keeps its gaps, or the shape of one cut to a length."""
    curves = Curves.of(job, tubing.bend_radius)
    shortest = curves.shortest()
    if shortest is None:
        return _refused(job, _no_curve(job, tubing))
    least = length_mm(shortest)
    wanted = path.cut - sum(job.insertions) if isinstance(path, CutPath) else least
    if wanted < least - TOLERANCE_MM:
        assert isinstance(path, CutPath)
        tube = _refused(job, _too_short(job, path.cut, least))
        return dataclasses.replace(tube, run=run_of(tubing, shortest))
    if wanted <= least + TOLERANCE_MM and not any(isinstance(piece, Arc) for piece in shortest):
        return dataclasses.replace(job.blank(), run=run_of(tubing, shortest), path_mm=least)
    hose = Hose(curves.start, curves.end, tubing, curves.between())

    def clear(shape: Hung) -> bool:
        return keeps_clear(_run(tubing, curves, shape))

    stems = least - hose.least_mm
    shape = hose.shortest(clear) if isinstance(path, AutoPath) else hose.of_length(wanted - stems, clear)
    if shape is None:
        return _refused(job, _no_shape(job, tubing, path))
    tube = dataclasses.replace(
        job.blank(),
        run=_run(tubing, curves, shape),
        path_mm=length_mm(shape.pieces) + stems,
        least_bend_radius_mm=shape.least_radius if math.isfinite(shape.least_radius) else None,
        loads=loads(shape, hose, (stem_mm(job, 0), stem_mm(job, 1))),
        sag_mm=(sag := sag_mm(shape, hose)),
    )
    findings = [] if hose.is_open(shape.least_radius) else [_kink(job, hose, shape, clear, stems)]
    if sag is not None and sag > job.scene.rules.tube_sag + TOLERANCE_MM:
        findings.append(_sags(job, sag))
    return dataclasses.replace(tube, findings=tuple(findings))


def length_windows(
    job: TubeJob, tubing: SoftTubing, keeps_clear: KeepsClear
) -> tuple[tuple[float, float], ...]:
    """Stretches of cut lengths, insertion included, at which the hose is neither kinked nor in a way [mm]."""
    curves = Curves.of(job, tubing.bend_radius)
    shortest = curves.shortest()
    if shortest is None:
        return ()
    hose = Hose(curves.start, curves.end, tubing, curves.between())
    beside = length_mm(shortest) - hose.least_mm + sum(job.insertions)
    windows = hose.windows(lambda shape: keeps_clear(_run(tubing, curves, shape)))
    return tuple((low + beside, high + beside) for low, high in windows)


def _run(tubing: SoftTubing, curves: Curves, shape: Hung) -> TubeRun:
    return TubeRun(curves.whole(shape.pieces), tubing.outside, tubing.inside, shape.deviation)


def _refused(job: TubeJob, finding: Finding) -> Tube:
    return dataclasses.replace(job.blank(), findings=(finding,))


def stem_mm(job: TubeJob, end: Literal[0, 1]) -> float:
    """How far a soft tube runs straight out of a fitting: the widest gap to what it ends on [mm]."""
    scene, own = job.scene, job.spec.gap
    gaps = [scene.parts[name].gap if name in scene.parts else None for name in job.near[end]]
    widest = max((gap_between(scene.rules.tube_gap, own, gap) for gap in gaps), default=scene.rules.tube_gap)
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
        return None if curve is None else self.whole(curve)

    def between(self) -> tuple[Piece, ...]:
        """The shortest between the straight ends; where there is one."""
        curve = self._between()
        assert curve is not None
        return curve

    def _between(self) -> tuple[Piece, ...] | None:
        ends = (self.start, self.end, self.radius)
        direct = shortest_turns(*ends)
        if direct is not None and all(piece.angle <= math.pi for piece in direct if isinstance(piece, Arc)):
            return direct
        # Ends so near that a bend goes the long way round may have a shorter way by a bulb.
        curves = [curve for curve in (direct, way_round(*ends)) if curve is not None]
        return min(curves, key=length_mm, default=None)

    def whole(self, curve: tuple[Piece, ...]) -> tuple[Piece, ...]:
        """A curve between the straight ends, with these."""
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


def _kink(job: TubeJob, hose: Hose, shape: Hung, clear: Clear, stems: float) -> Finding:
    mended = hose.shortest(clear)
    longer = None if mended is None else length_mm(mended.pieces) + stems + sum(job.insertions)
    measured, required = mm_pair(shape.least_radius, hose.tubing.bend_radius)
    return job.finding(
        "kink",
        f"at this length it bends to a radius of {measured}, {required} wanted: it would kink",
        measured_mm=shape.least_radius,
        required_mm=hose.tubing.bend_radius,
        at_mm=middle(*job.ends),
        remedy="move or turn what it ends on, or use other ports"
        if longer is None
        else f"cut it to {mm(rounded_up(longer))}",
    )


def _sags(job: TubeJob, sag: float) -> Finding:
    allowed = job.scene.rules.tube_sag
    measured, required = mm_pair(sag, allowed)
    found = job.finding(
        "tube-sags",
        f"its weight and the coolant's move it by {measured}, {required} allowed; in the warm it gives more",
        measured_mm=sag,
        required_mm=allowed,
        at_mm=middle(*job.ends),
        remedy="hold it with a clip half way, cut it shorter, or take stiffer tubing (`modulus:`); if it may "
        "hang, raise `tube_sag` in `rules:`",
    )
    return dataclasses.replace(found, severity="warning")


def _no_shape(job: TubeJob, tubing: SoftTubing, path: AutoPath | CutPath) -> Finding:
    cut = f" cut to {mm(path.cut)}" if isinstance(path, CutPath) else ""
    return job.finding(
        "kink",
        f"no shape{cut} was found that bends no tighter than {mm(tubing.bend_radius)}",
        measured_mm=None,
        required_mm=tubing.bend_radius,
        at_mm=middle(*job.ends),
        remedy="move or turn what it ends on, or use other ports"
        + ("" if isinstance(path, AutoPath) else ", or write `path: auto`"),
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
