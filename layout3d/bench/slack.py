"""What a slip at the bench makes at the far port: by how much each figure may be off."""

from __future__ import annotations

import math
from dataclasses import dataclass

from layout3d.layout import Tube
from layout3d.tubes.centreline import Piece, end_of, reversed_pieces, start_of
from layout3d.tubes.vectors import along, cross, dot, minus, norm, times
from shapes.pose import Vec3
from shapes.primitives import Arc, Straight


@dataclass(frozen=True, slots=True)
class Slip:
    """What one millimetre or degree too much of one figure does to the tube's far end.

    what : "straight 2", "bend 1", "turn 3"; unit : "mm" or "degree"
    along_mm : how far the end moves into the far mouth
    aside_mm : how far it moves across it
    """

    what: str
    unit: str
    along_mm: float
    aside_mm: float

    @property
    def moves_mm(self) -> float:
        """How far the end moves in all [mm]."""
        return math.hypot(self.along_mm, self.aside_mm)


def slips(tube: Tube, backward: bool = False) -> tuple[Slip, ...]:
    """Every figure of a rigid tube's bend table in the order it is set; nothing without a run.

    backward : set from the tube's last end, so that its first end moves

    First derivatives: of a straight the end moves along with it; of a bend it swings about the
    bend's middle axis while the straight after it gives up what the arc takes; of a turn it
    swings about the straight before the bend.
    """
    if tube.run is None or tube.kind == "soft":
        return ()
    pieces = reversed_pieces(tube.run.pieces) if backward else tube.run.pieces
    end, arrival = end_of(pieces[-1])
    found: list[Slip] = []
    bend = 0
    for k, piece in enumerate(pieces):
        if isinstance(piece, Straight):
            found.append(_slip(f"straight {bend + 1}", "mm", start_of(piece)[1], arrival))
            continue
        bend += 1
        if bend > 1:
            found.append(_slip(f"turn {bend}", "degree", _turned(piece, end), arrival))
        later = pieces[k + 1 :]
        found.append(_slip(f"bend {bend}", "degree", _bent(piece, later, end), arrival))
    return tuple(found)


def _slip(what: str, unit: str, shift: Vec3, arrival: Vec3) -> Slip:
    into = dot(shift, arrival)
    return Slip(what, unit, into, norm(minus(shift, times(arrival, into))))


def _turned(bend: Arc, end: Vec3) -> Vec3:
    place, axis = start_of(bend)
    return times(cross(axis, minus(end, place)), math.radians(1.0))


def _bent(bend: Arc, later: tuple[Piece, ...], end: Vec3) -> Vec3:
    """The arc grows at its end; a straight behind it gives up as much, the cut piece being what it is."""
    normal = cross(bend.outward, bend.along)
    swing = cross(normal, minus(end, bend.centre))
    if any(isinstance(piece, Straight) for piece in later):
        _, leaving = end_of(bend)
        swing = along(swing, leaving, -bend.radius)
    return times(swing, math.radians(1.0))
