"""Rigid tubes given by a bend table.

A table says how a tube is bent, not how it is rolled in its first fitting: it is rolled about
the first mouth's axis to bring its end to the far mouth. Figures read off a rule and a
protractor are rounded, so an end within half a millimetre and half a degree of the mouth is
taken as there: the figures stay those of the table, and the solid is cut off at the mouth.
"""

from __future__ import annotations

import cmath
import dataclasses
import math
from collections.abc import Sequence

from layout3d.findings import Finding
from layout3d.layout import Tube
from layout3d.scene.model import RigidTubing
from layout3d.scene.paths import BendsPath
from layout3d.tubes.centreline import NO_TURN, Piece, Row, end_of, from_table
from layout3d.tubes.complaints import Given, complaints
from layout3d.tubes.faults import TOLERANCE_MM, Fault, straight_faults
from layout3d.tubes.job import TubeJob
from layout3d.tubes.rigid import measured, run_of
from layout3d.tubes.vectors import angle, cross, dot, middle, minus, norm, turned, unit
from layout3d.words import degrees, mm, toward
from shapes.pose import Vec3, as_vec3
from shapes.primitives import Arc

#: How far the end of a given table may miss the far mouth [mm], [degrees]: common practice,
#: tubes are measured and bent to about half a millimetre and half a degree.
MISS_MM = 0.5
MISS_DEG = 0.5


def by_table(job: TubeJob, tubing: RigidTubing, path: BendsPath) -> Tube:
    """The tube of a bend table, rolled to the far mouth."""
    rows = [
        Row(step.straight, step.turn, step.bend, tubing.bend_radius if step.radius is None else step.radius)
        for step in path.bends
    ]
    pieces = rolled(job, rows, path.last)
    findings = (*_misfits(job, pieces), *_table_findings(job, tubing, rows, path.last, pieces))
    if not pieces:
        nothing = job.finding("path-corners", "the bend table has neither a bend nor a straight", end=0)
        return dataclasses.replace(job.blank(), findings=findings or (nothing,))
    solid = rolled(job, rows, path.last, _last_to_mouth(job, pieces, path.last))
    tube = measured(job, tubing, pieces, findings=findings)
    return dataclasses.replace(tube, run=run_of(tubing, solid or pieces))


def rolled(
    job: TubeJob, rows: Sequence[Row], last: float, drawn_last: float | None = None
) -> tuple[Piece, ...]:
    """The centreline of a bend table, rolled in its first mouth to bring its end to the far one.

    drawn_last : the last straight where another is drawn than the one it is rolled by [mm]
    """
    start, axis = job.ends[0], job.axes[0]
    normal = as_vec3(job.mouths[0].x_axis)
    turned_normal = turned(normal, axis, _roll_deg(job, rows, last, normal))
    unrolled = [dataclasses.replace(row, turn_deg=0.0) if k == 0 else row for k, row in enumerate(rows)]
    return from_table(unrolled, last if drawn_last is None else drawn_last, start, axis, turned_normal)


def missed(job: TubeJob, pieces: tuple[Piece, ...]) -> tuple[float, float]:
    """How far the end of a centreline lies from the far mouth [mm], and its tilt there [degrees]."""
    place, direction = _end(pieces, job.ends[0], job.axes[0])
    return math.dist(place, job.ends[1]), math.degrees(angle(direction, job.axes[1]))


def _roll_deg(job: TubeJob, rows: Sequence[Row], last: float, normal: Vec3) -> float:
    """The roll about the first mouth's axis that brings the table's end nearest the far mouth [degrees].

    Places and directions are compared square to the axis, one degree counting as one mm; where
    neither says anything the first row's own turn stands, counted from the mouth's x axis.
    """
    start, axis = job.ends[0], job.axes[0]
    side = cross(axis, normal)
    own_turn = rows[0].turn_deg if rows else 0.0
    unrolled = [dataclasses.replace(row, turn_deg=0.0) if k == 0 else row for k, row in enumerate(rows)]
    place, direction = _end(from_table(unrolled, last, start, axis, normal), start, axis)

    def flat(vector: Vec3) -> complex:
        return complex(dot(vector, normal), dot(vector, side))

    match = flat(minus(job.ends[1], start)) * flat(minus(place, start)).conjugate()
    match += math.degrees(1.0) ** 2 * flat(job.axes[1]) * flat(direction).conjugate()
    return math.degrees(cmath.phase(match)) if abs(match) > MISS_MM * MISS_MM else own_turn


def _end(pieces: tuple[Piece, ...], start: Vec3, axis: Vec3) -> tuple[Vec3, Vec3]:
    return end_of(pieces[-1]) if pieces else (start, axis)


def _last_to_mouth(job: TubeJob, pieces: tuple[Piece, ...], last: float) -> float:
    """The last straight of the solid: its flat end, however tilted, stays before the mouth [mm]."""
    place, direction = _end(pieces, job.ends[0], job.axes[0])
    miss = minus(job.ends[1], place)
    off = angle(direction, job.axes[1])
    if norm(miss) > MISS_MM or off > math.radians(MISS_DEG):
        return last
    dip = 0.5 * job.tubing.outside * math.sin(off) if off > 1e-9 else 0.0
    return max(last + dot(miss, job.axes[1]) / math.cos(off) - dip, 0.0)


def _misfits(job: TubeJob, pieces: tuple[Piece, ...]) -> tuple[Finding, ...]:
    place, _ = _end(pieces, job.ends[0], job.axes[0])
    mouth = job.ends[1]
    findings = []
    miss, off = missed(job, pieces)
    if miss > MISS_MM:
        way = unit(minus(mouth, place))
        message = f"the bend table ends {mm(miss)} from {job.port(1)}, which lies {toward(way)}"
        findings.append(
            job.finding(
                "tube-misfit",
                message,
                end=1,
                measured_mm=miss,
                required_mm=MISS_MM,
                at_mm=middle(place, mouth),
                direction=way,
            )
        )
    if off > MISS_DEG + math.degrees(NO_TURN):
        message = f"the bend table arrives at {job.port(1)} {degrees(off)} off its axis"
        findings.append(job.finding("port-direction", message, end=1, at_mm=place))
    return tuple(findings)


def _table_findings(
    job: TubeJob, tubing: RigidTubing, rows: list[Row], last: float, pieces: tuple[Piece, ...]
) -> tuple[Finding, ...]:
    if not rows:
        return ()
    count = len(rows) + 1
    bends = [piece for piece in pieces if isinstance(piece, Arc)]
    middles = [job.ends[0], *(_middle_of(bend) for bend in bends), job.ends[1]]
    faults: list[Fault] = []
    for k, straight in enumerate([*(row.straight_mm for row in rows), last]):
        at = middle(middles[k], middles[k + 1])
        faults += straight_faults(k, count, straight, tubing, (k, k + 1), at)
    found = complaints(job, tubing, Given(tuple(middles), "bend", count), faults)
    return (*found, *_too_tight(job, tubing, rows, middles))


def _middle_of(bend: Arc) -> Vec3:
    return end_of(dataclasses.replace(bend, angle=bend.angle / 2.0))[0]


def _too_tight(
    job: TubeJob, tubing: RigidTubing, rows: list[Row], middles: list[Vec3]
) -> tuple[Finding, ...]:
    k, row = min(enumerate(rows), key=lambda entry: entry[1].radius_mm)
    least = tubing.outside / 2.0
    if row.radius_mm >= least - TOLERANCE_MM:
        return ()
    message = (
        f"bend {k + 1} has radius {mm(row.radius_mm)}, below half the outside diameter ({mm(least)}) "
        f"of tubing '{job.spec.tubing}'"
    )
    return (
        job.finding(
            "bend-radius",
            message,
            measured_mm=row.radius_mm,
            required_mm=least,
            at_mm=middles[k + 1],
            remedy=f"bend to at least {mm(least)}; the tubing states {mm(tubing.bend_radius)}",
        ),
    )
