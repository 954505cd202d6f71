"""``python -m benchmarks``: every figure, with the limit it is held to."""

from __future__ import annotations

import os
import platform
import sys
from collections.abc import Iterator
from dataclasses import dataclass

from benchmarks.distances import occt_distances, tower, warm_check
from benchmarks.growth import exponent, moved_part
from benchmarks.live import seconds_to_verdict
from benchmarks.processes import CHECK, RIVAL, alternating, peak_megabytes
from benchmarks.tolerances import worst_case_and_odds


@dataclass(frozen=True, slots=True)
class Figure:
    """One row: what was measured, and the limit it is held to if it has one."""

    name: str
    shown: str
    value: float | None = None
    at_most: float | None = None
    at_least: float | None = None

    @property
    def held_to(self) -> str:
        if self.at_most is not None:
            return f"at most {self.at_most:g}"
        return "" if self.at_least is None else f"at least {self.at_least:g}"

    @property
    def is_missed(self) -> bool:
        if self.value is None:
            return False
        too_much = self.at_most is not None and self.value > self.at_most
        return too_much or (self.at_least is not None and self.value < self.at_least)


def figures() -> Iterator[Figure]:
    cold, rival = alternating(CHECK, RIVAL)
    yield Figure("cold check of the editing tower", f"{cold:.3f} s")
    yield Figure("`import cadquery`", f"{rival:.3f} s")
    yield Figure("cold check / import cadquery", f"{cold / rival:.3f}", cold / rival, at_most=0.17)
    layout = tower()
    warm = warm_check(layout)
    occt, pairs = occt_distances(layout)
    yield Figure("warm check of the editing tower", f"{warm * 1e3:.1f} ms")
    yield Figure(f"OCCT distances of the same {pairs} near pairs", f"{occt:.2f} s")
    yield Figure("OCCT / warm check", f"{occt / warm:.0f}", occt / warm, at_least=50)
    share = moved_part(layout)
    yield Figure("measuring after one solid moved / measuring all", f"{share:.3f}", share, at_most=0.1)
    power, (few, many) = exponent(layout)
    yield Figure(f"growth of measuring, {few} to {many} parts: exponent", f"{power:.2f}", power, at_most=1.1)
    worst, drawn = worst_case_and_odds()
    yield Figure("check with eight tolerances: worst cases", f"{worst:.2f} s")
    yield Figure("10,000 builds drawn within them", f"{drawn:.1f} s", drawn, at_most=30)
    memory = peak_megabytes(CHECK)
    shown = "not told here" if memory is None else f"{memory:.0f} MB"
    yield Figure("peak memory of a cold check", shown, memory, at_most=150)
    live = seconds_to_verdict()
    if live is None:
        yield Figure("live view: from saving to the verdict", "no browser, or no `npm ci` in preview_page")
    else:
        yield Figure("live view: from saving to the verdict", f"{live[0]:.3f} s", live[0], at_most=0.5)
        yield Figure("live view: from saving to the picture", f"{live[1]:.3f} s")


def main() -> int:
    """Print every figure; exit status 1 where a limit is missed."""
    machine = f"{platform.system()} {platform.machine()}, {os.cpu_count()} cores"
    print(f"Python {platform.python_version()}, {machine}")
    print("\n| figure | measured | held to |\n|---|---|---|")
    missed = False
    for figure in figures():
        print(f"| {figure.name} | {figure.shown} | {figure.held_to} |", flush=True)
        missed |= figure.is_missed
    return int(missed)


if __name__ == "__main__":
    sys.exit(main())
