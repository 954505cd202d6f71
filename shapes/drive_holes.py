"""Sizes and screw holes of drives: what a drive and a case's drive places share.

Sources
-------
3.5 in: SFF-8301 table 3-1 (A2 147.0, A3 101.60, A1 26.10; bottom holes A4 95.25 across, A7 41.28
from the connector end, A6 44.45 on; #6-32). 2.5 in: SFF-8201 (A6 100.45, A4 69.85, A1 9.5; bottom
holes A28 4.07 in from each side, A52 14.0 and A53 90.6 from the connector end; M3). Both by
transcriptions, originals not read.
"""

from __future__ import annotations

from types import MappingProxyType
from typing import Literal, TypeAlias

from shapes.part import Hole

DriveSize: TypeAlias = Literal["3.5", "2.5"]

#: Size -> length, width, height.
DRIVE_SIZE_MM = MappingProxyType({"3.5": (147.0, 101.6, 26.1), "2.5": (100.45, 69.85, 9.5)})
#: Size -> bottom holes along the drive, from the connector end.
DRIVE_HOLES_ALONG_MM = MappingProxyType({"3.5": (41.28, 85.73), "2.5": (14.0, 90.6)})
#: Size -> bottom holes across the drive.
DRIVE_HOLES_ACROSS_MM = MappingProxyType({"3.5": 95.25, "2.5": 61.71})
#: Clearance holes: close fit of #6-32 (drill #23), ISO 273 fine for M3.
DRIVE_HOLE_MM = MappingProxyType({"3.5": 3.912, "2.5": 3.2})


def drive_holes(size: str) -> tuple[Hole, ...]:
    """The four bottom holes about their own middle, x along the drive."""
    along, across = DRIVE_HOLES_ALONG_MM[size], DRIVE_HOLES_ACROSS_MM[size] / 2.0
    half = (along[1] - along[0]) / 2.0
    corners = ((-half, -across), (half, -across), (half, across), (-half, across))
    return tuple(Hole(at, DRIVE_HOLE_MM[size]) for at in corners)
