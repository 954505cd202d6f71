"""Reservoir that slides into one or two 5.25 in drive bays.

Source of outline and holes: SFF-8551 table 5-1 by a transcription, original not read: body A5
146.05 wide, A1 at most 41.53 high, A4 at most 202.80 long; bezel A3 148.0 wide, A2 42.30 high, A17
5.00 thick; bottom holes A6 139.70 across, side holes A13 10.00 and A14 21.84 up, both A9, A10 47.40
behind the bezel and A8, A11 79.25 on.
"""

from __future__ import annotations

from types import MappingProxyType

from shapes.face_ports import FacePort, Ports, block_ports
from shapes.fields import Length, Shape, choice, count
from shapes.fields import length as mm
from shapes.part import Hole, Mount, Part
from shapes.pose import DIRECTIONS, Pose
from shapes.solids import block

WIDTH_MM, HEIGHT_MM, LENGTH_MM = 146.05, 41.53, 202.80
BEZEL_WIDTH_MM, BEZEL_HEIGHT_MM, BEZEL_MM = 148.0, 42.30, 5.0
HOLES_BEHIND_MM = (47.40, 47.40 + 79.25)
HOLES_ACROSS_MM, SIDE_HOLES_UP_MM = 139.70, (10.0, 21.84)
#: #6 close fit, drill #23; the drive's own thread is M3, the case's screw decides.
_HOLE_MM = 3.912
_LEAST_LENGTH_MM = HOLES_BEHIND_MM[1] + 8.0
_PORTS = {"in": FacePort(face="rear", at=(40.0, 0.0)), "out": FacePort(face="rear", at=(-40.0, 0.0))}


class BayReservoir(Shape):
    """A box behind a bezel in the front of the case.

    Origin in the middle of the floor face, at the bezel's back; x to the front, y across, z up: the
    body lies toward the rear. Ports open where stated, by default both in the rear face. Mounts of
    kind drive, row 5.25: ``bottom`` (floor face), ``window`` and ``tray`` (sides). A port in the
    roof face, stated beside the others, is where it is filled.
    """

    bays: int = count(1, "bays it takes, one above the other", source="SFF-8551", least=1, most=2)
    length: Length = mm(
        150.0,
        "length of the body behind the bezel",
        source="SFF-8551 A4: at most 202.80; common practice which",
        least=_LEAST_LENGTH_MM,
        most=LENGTH_MM,
    )
    wall: Length = mm(5.0, "wall round the coolant", source="common practice, no source", least=1, most=15)
    ports: Ports = choice(_PORTS, "name of each port and where it opens", source="common practice; measure")

    def build(self) -> Part:
        """The part in its own frame. ValueError for ports that do not fit."""
        for name, port in self.ports.items():
            if port.face == "front":
                raise ValueError(f"port {name} opens into the bezel, {BEZEL_MM:g} mm thick; use another face")
        rise = (self.bays - 1) * BEZEL_HEIGHT_MM
        half, height = WIDTH_MM / 2, HEIGHT_MM + rise
        low, high = (-self.length, -half, 0.0), (0.0, half, height)
        ports, bores = block_ports(self.ports, low, high, "body")
        bezel_low = (0.0, -BEZEL_WIDTH_MM / 2, (height - rise - BEZEL_HEIGHT_MM) / 2)
        bezel_high = (BEZEL_MM, BEZEL_WIDTH_MM / 2, bezel_low[2] + BEZEL_HEIGHT_MM + rise)
        inner = [b - a - 2 * self.wall for a, b in zip(low, high, strict=True)]
        return Part(
            solids=(block("body", low, high, "clear"), block("bezel", bezel_low, bezel_high)),
            ports=MappingProxyType(ports),
            mounts=MappingProxyType(_mounts()),
            bores=bores,
            coolant_ml=inner[0] * inner[1] * inner[2] / 1000.0,
        )


def side_holes() -> tuple[Hole, ...]:
    """The four holes of one side about their own middle, x along the device, y up or down."""
    return _holes((SIDE_HOLES_UP_MM[1] - SIDE_HOLES_UP_MM[0]) / 2)


def _holes(across: float) -> tuple[Hole, ...]:
    half = (HOLES_BEHIND_MM[1] - HOLES_BEHIND_MM[0]) / 2
    corners = ((-half, -across), (half, -across), (half, across), (-half, across))
    return tuple(Hole(corner, _HOLE_MM) for corner in corners)


def _mounts() -> dict[str, Mount]:
    """Bottom and side holes; each mount's origin lies on the middle between its first and last hole."""
    middle, up = -sum(HOLES_BEHIND_MM) / 2, sum(SIDE_HOLES_UP_MM) / 2
    places = {
        "bottom": ((middle, 0.0, 0.0), "floor", _holes(HOLES_ACROSS_MM / 2)),
        "window": ((middle, -WIDTH_MM / 2, up), "window", side_holes()),
        "tray": ((middle, WIDTH_MM / 2, up), "tray", side_holes()),
    }
    mounts = {}
    for name, (at, facing, holes) in places.items():
        pose = Pose.facing(at, DIRECTIONS[facing], DIRECTIONS["front"])
        mounts[name] = Mount(pose, "drive", MappingProxyType({"5.25": holes}))
    return mounts
