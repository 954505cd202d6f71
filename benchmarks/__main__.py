"""``python -m benchmarks``: every figure, with the limit it is held to."""

from __future__ import annotations

import os
import platform
import sys

from benchmarks.distances import occt_distances, tower, warm_check
from benchmarks.processes import CHECK, RIVAL, alternating, peak_megabytes


def main() -> None:
    machine = f"{platform.system()} {platform.machine()}, {os.cpu_count()} cores"
    print(f"Python {platform.python_version()}, {machine}")
    cold, rival = alternating(CHECK, RIVAL)
    layout = tower()
    warm = warm_check(layout)
    occt, pairs = occt_distances(layout)
    memory = peak_megabytes(CHECK)
    rows = [
        ("cold check of the editing tower", f"{cold:.3f} s", ""),
        ("`import cadquery`", f"{rival:.3f} s", ""),
        ("cold check / import cadquery", f"{cold / rival:.3f}", "at most 0.17"),
        ("warm check of the editing tower", f"{warm * 1e3:.1f} ms", ""),
        (f"OCCT distances of the same {pairs} near pairs", f"{occt:.2f} s", ""),
        ("OCCT / warm check", f"{occt / warm:.0f}", "at least 50"),
        ("peak memory of a cold check", "not told" if memory is None else f"{memory:.0f} MB", "below 150 MB"),
    ]
    print("\n| figure | measured | held to |\n|---|---|---|")
    for row in rows:
        print("| " + " | ".join(row) + " |")


if __name__ == "__main__":
    sys.exit(main())
