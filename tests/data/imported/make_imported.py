"""Writes the files beside this script: `python make_imported.py` where bd_warehouse 0.4.0 is installed.

It needs another version of OCCT than the project's own library, so it has an environment of its own.
"""

from __future__ import annotations

from pathlib import Path

from bd_warehouse.fastener import CounterSunkScrew, HexNut, PlainWasher, SocketHeadCapScrew
from build123d import export_step, export_stl

HERE = Path(__file__).parent

#: Of each, the file's name, the part, and how coarse its STL may be: chord [mm] and angle [rad].
MADE = {
    "cap_screw_m4x20": SocketHeadCapScrew("M4-0.7", 20, "iso4762", simple=True),
    "countersunk_screw_m3x30": CounterSunkScrew("M3-0.5", 30, "iso10642", simple=True),
    "washer_m6": PlainWasher("M6", "iso7089"),
    "nut_m6": HexNut("M6-1", "iso4032", simple=True),
}

if __name__ == "__main__":
    for name, part in MADE.items():
        export_step(part, str(HERE / f"{name}.step"), timestamp="2025-01-01T00:00:00")
    for name in ("washer_m6", "cap_screw_m4x20"):
        export_stl(MADE[name], str(HERE / f"{name}.stl"), tolerance=0.02, angular_tolerance=0.5)
