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

    A curve of length s that turns by less than half a circle in all has a chord of at least
    s cos(turn / 2): Schur's comparison with the two-sided path that turns at once.
    """
    turn = sum(piece.angle for piece in run.pieces if isinstance(piece, Arc))
    return turn < math.pi and apart * math.cos(turn / 2.0) >= distance


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
