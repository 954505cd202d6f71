"""Which stretches of one tube have to keep clear of each other."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterator

from layout3d.scene.model import RigidTubing, SoftTubing
from layout3d.tubes.centreline import length_mm, part_of
from shapes.primitives import Arc, TubeRun

#: Length of the stretches a run is cut into: so much less than asked two places of a pair may be
#: apart along the tube [mm]. Less than the straight between two bends is usually long.
STRETCH_MM = 10.0


def apart_mm(tubing: RigidTubing | SoftTubing) -> float:
    """How far along a tube two places must be apart before they have to keep clear [mm].

    A half-turn and the straight between two bends: nearer places are beside each other because
    the tube bends as it may.
    """
    between = tubing.between_bends if isinstance(tubing, RigidTubing) else 0.0
    return math.pi * tubing.bend_radius + between


def cannot_return(run: TubeRun, apart: float, distance: float) -> bool:
    """Whether places further apart along a run than ``apart`` surely keep their axes ``distance`` apart [mm].

    Of a stretch that turns by t <= 180 degrees, with bends of radius R or more, the chord is at
    least what the stretch covers along the direction half way through its turn, if all its bends
    turned the same way (Schur's comparison): 2 R sin(t/2) + (length - R t) cos(t/2). For a length
    of at least pi R that is least, 2 R, where t is a half-turn.
    """
    bends = [piece for piece in run.pieces if isinstance(piece, Arc)]
    radius = min((bend.radius for bend in bends), default=math.inf)
    turn = sum(bend.angle for bend in bends)
    if not bends:
        return apart >= distance
    return turn <= math.pi + 1e-9 and apart >= math.pi * radius and 2.0 * radius >= distance


def self_pairs(run: TubeRun, apart: float) -> Iterator[tuple[TubeRun, TubeRun]]:
    """Pairs of stretches of one run that hold every two places further apart along it than ``apart``.

    Nothing where the run is no longer than that [mm].
    """
    total = length_mm(run.pieces)
    for k in range(math.ceil((total - apart) / STRETCH_MM)):
        begin = k * STRETCH_MM
        near = part_of(run.pieces, begin, min(begin + STRETCH_MM, total - apart))
        far = part_of(run.pieces, begin + apart, total)
        if near and far:
            yield dataclasses.replace(run, pieces=near), dataclasses.replace(run, pieces=far)
