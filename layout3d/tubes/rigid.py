"""Rigid tubes: each form a path can be given in, made a tube with its findings."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from typing import TYPE_CHECKING

from layout3d.findings import Finding
from layout3d.layout import Search, Tube
from layout3d.scene.model import RigidTubing, SoftTubing
from layout3d.scene.paths import CornersPath, LegsPath, StraightPath
from layout3d.tubes.centreline import Piece, bend_table, corners_of, length_mm, rounded
from layout3d.tubes.complaints import Given, complaints
from layout3d.tubes.faults import judged
from layout3d.tubes.job import TubeJob
from layout3d.tubes.legs import leg_ends
from shapes.pose import Vec3
from shapes.primitives import Arc, TubeRun

if TYPE_CHECKING:
    from layout3d.tubes.request import RouteSearch


def by_points(job: TubeJob, tubing: RigidTubing, path: StraightPath | CornersPath | LegsPath) -> Tube:
    """A tube whose path is given by corners, legs, or nothing between its mouths."""
    start, end = job.ends
    if isinstance(path, LegsPath):
        try:
            corners = leg_ends(start, end, job.axes[1], path.legs)
        except ValueError as error:
            return dataclasses.replace(job.blank(), findings=(job.finding("path-legs", str(error), end=1),))
        return _by_corners(job, tubing, (start, *corners, end), legs=True)
    given = path.corners if isinstance(path, CornersPath) else ()
    return _by_corners(job, tubing, (start, *given, end))


def by_search(job: TubeJob, tubing: RigidTubing, search: RouteSearch) -> Tube:
    """A tube whose corners a search finds."""
    # What a search is asked with is loaded only for the tubes that need one.
    from layout3d.tubes.request import NoRoute, RouteRequest

    spec = job.spec
    answer = search(
        RouteRequest(
            name=spec.name,
            tubing=tubing,
            mouths=job.mouths,
            near=job.near,
            angles=spec.angles,
            directions=spec.directions,
            bend_cost=spec.bend_cost,
            most_bends=spec.most_bends,
            gap=spec.gap,
            touches=spec.touches,
        )
    )
    if isinstance(answer, NoRoute):
        finding = job.finding(
            "no-path",
            f"no run from {spec.start} to {spec.end} was found: {answer.reason}. Searched: {answer.searched}",
            parts=answer.parts,
            at_mm=answer.at_mm,
            remedy=answer.remedy,
        )
        searched = Search(answer.searched, None, None, answer.proved)
        return dataclasses.replace(job.blank(), search=searched, findings=(finding,))
    tube = _by_corners(job, tubing, (job.ends[0], *answer.corners, job.ends[1]))
    searched = Search(answer.searched, answer.cost_mm, answer.bound_mm, answer.proved)
    return dataclasses.replace(tube, search=searched)


def _by_corners(job: TubeJob, tubing: RigidTubing, points: tuple[Vec3, ...], legs: bool = False) -> Tube:
    given = Given(points, "the end of leg" if legs else "corner", len(points) - 1)
    verdict = judged(points, job.axes, tubing)
    findings = complaints(job, tubing, given, verdict.faults)
    if not verdict.can_be_bent:
        return dataclasses.replace(job.blank(), findings=findings)
    pieces = rounded(verdict.points, verdict.radii)
    if any(fault.rule == "bend-radius" for fault in verdict.faults):
        # Nobody may cut by the figures of a run that cannot be bent; it is there to be checked.
        return dataclasses.replace(job.blank(), run=run_of(tubing, pieces), findings=findings)
    return measured(job, tubing, pieces, findings=findings)


def measured(
    job: TubeJob, tubing: RigidTubing, pieces: Sequence[Piece], *, findings: Sequence[Finding] = ()
) -> Tube:
    """The tube along ``pieces``, with its lengths, bends and corners."""
    bends, last = bend_table(pieces, job.insertions[0])
    return dataclasses.replace(
        job.blank(),
        run=run_of(tubing, pieces),
        path_mm=length_mm(pieces),
        least_bend_radius_mm=least_radius_mm(pieces),
        corners=corners_of(pieces),
        bends=bends,
        last_straight_mm=last,
        findings=tuple(findings),
    )


def run_of(tubing: RigidTubing | SoftTubing, pieces: Sequence[Piece]) -> TubeRun:
    """The solid tube along ``pieces``."""
    return TubeRun(tuple(pieces), tubing.outside, tubing.inside)


def least_radius_mm(pieces: Sequence[Piece]) -> float | None:
    """The least centreline radius [mm]; None for a straight run."""
    return min((piece.radius for piece in pieces if isinstance(piece, Arc)), default=None)
