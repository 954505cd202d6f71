"""Tube runs as the eye sees them: facets that hide, and the exact outlines of straights and bends."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from layout3d.drawing.seen import EDGE_ON, Round, rounded
from shapes.pose import Array, Pose, unit
from shapes.primitives import Arc, Straight, TubeRun

_LEAST_SIDES = 16
#: A bend is painted in slices of at most this angle, each nearly convex.
_SLICE_RAD = math.radians(5.0)
_LEAST_STRETCH_MM = 1e-6
#: A bend's outline is drawn this much outside its facets, and nearer, lest they hide it.
_PROUD_MM, _LIFT_SHARE = 0.03, 0.05


@dataclass(frozen=True, slots=True, eq=False)
class TubePiece:
    """A straight or a slice of a bend, in the picture's frame.

    points : of both rims, (n, 3); faces : corners (4, 3) of facets that look to the eye
    outlines : exact lines (n, 3) where the skin turns away; rims : closed rings at the tube's ends
    ends : corners (n, 3) and normal of flat ends that look to the eye
    shading : normal of its middle line and how it turns; None seen along it
    """

    points: Array
    faces: tuple[Array, ...]
    outlines: tuple[Array, ...]
    rims: tuple[Array, ...]
    ends: tuple[tuple[Array, Array], ...]
    shading: tuple[Array, Round] | None


def ring_steps(radius: float, chord_mm: float) -> int:
    """How many sides a drawn round has, none further than ``chord_mm`` from it; a multiple of 4."""
    half_step = math.acos(max(1.0 - chord_mm / radius, 0.5))
    return max(_LEAST_SIDES, 4 * math.ceil(math.pi / half_step / 4.0))


def circle(radius: float, chord_mm: float) -> Array:
    """A circle's polygon about the origin, counter-clockwise, (n, 2)."""
    angles = np.linspace(0.0, 2.0 * math.pi, ring_steps(radius, chord_mm) + 1)[:-1]
    return radius * np.column_stack((np.cos(angles), np.sin(angles)))


def tube_sketch_pieces(run: TubeRun, pose: Pose, chord_mm: float) -> Iterator[TubePiece]:
    """The run cut into pieces that are each nearly convex, with what is seen of each."""
    radius = run.outside / 2.0
    ring = circle(radius, chord_mm)
    pieces = [piece for piece in run.pieces if piece.length >= _LEAST_STRETCH_MM]
    for number, piece in enumerate(pieces):
        stations, travel, spokes = _stations(piece, pose)
        rings = (
            stations[:, None]
            + ring[:, 0, None] * spokes[:, None]
            + ring[:, 1, None] * np.cross(travel, spokes)[:, None]
        )
        outlines = _outlines(stations, travel, radius)
        for here in range(len(stations) - 1):
            first, last = number == here == 0, number == len(pieces) - 1 and here == len(stations) - 2
            shut = [(rings[here][::-1], -travel[here])] if first else []
            shut += [(rings[here + 1], travel[here + 1])] if last else []
            yield TubePiece(
                np.concatenate((rings[here], rings[here + 1])),
                _facets(rings[here], rings[here + 1]),
                outlines if here == 0 else (),
                tuple(corners for corners, _ in shut),
                tuple((corners, normal) for corners, normal in shut if normal[2] > EDGE_ON),
                rounded(stations[here : here + 2].mean(axis=0), travel[here] + travel[here + 1], radius),
            )


def _stations(piece: Straight | Arc, pose: Pose) -> tuple[Array, Array, Array]:
    """Middles, directions of travel and one axis of the ring at each cut, all (n, 3) in the picture."""
    if isinstance(piece, Straight):
        ends = pose.apply(np.array((piece.start, piece.end)))
        travel = unit(ends[1] - ends[0])
        spoke = unit(np.cross(travel, np.eye(3)[np.abs(travel).argmin()]))
        return ends, np.tile(travel, (2, 1)), np.tile(spoke, (2, 1))
    angles = np.linspace(0.0, piece.angle, math.ceil(piece.angle / _SLICE_RAD - 1e-9) + 1)
    travel, radial = piece.direction_at(angles), piece.spoke_at(angles)
    return pose.apply(piece.point_at(angles)), pose.turn(travel), pose.turn(radial)


def _facets(one: Array, other: Array) -> tuple[Array, ...]:
    after, other_after = np.roll(one, -1, axis=0), np.roll(other, -1, axis=0)
    normals = np.cross(after - other, other_after - one)
    size = np.linalg.norm(normals, axis=1)
    seen = np.flatnonzero(normals[:, 2] > EDGE_ON * size)
    return tuple(np.array((one[k], after[k], other_after[k], other[k])) for k in seen)


def _outlines(stations: Array, travel: Array, radius: float) -> tuple[Array, ...]:
    """Where the round skin turns away from the eye: its normal is square to the sight.

    Of a ring at right angles to ``travel`` those are the two points square to the sight's part in
    the ring; none where the sight runs along the tube.
    """
    beside = np.cross(travel, np.array((0.0, 0.0, 1.0)))
    size = np.linalg.norm(beside, axis=1)
    good = size > 1e-4
    spoke = (radius + _PROUD_MM) * beside / np.where(good, size, 1.0)[:, None]
    lift = np.array((0.0, 0.0, _LIFT_SHARE * radius)) if len(stations) > 2 else 0.0
    lines = []
    for run in np.split(np.arange(len(size)), np.flatnonzero(np.diff(good)) + 1):
        if good[run[0]] and len(run) > 1:
            lines += [stations[run] + spoke[run] + lift, stations[run] - spoke[run] + lift]
    return tuple(lines)
