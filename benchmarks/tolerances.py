"""The editing tower with what its builder measured: worst case, and the odds of 10,000 builds."""

from __future__ import annotations

import time

from benchmarks.processes import ROOT
from layout3d.build import build
from layout3d.checks.check import check
from layout3d.layout import Layout
from layout3d.scene.reader import parse_scene
from layout3d.tolerance.odds import odds

_MEASURED = {
    "board_drop: 72 ": "board_drop: 72 +- 1 ",
    "cpu_along: 119.95": "cpu_along: 119.95 +- 1",
    "terminal_at: 94.6": "terminal_at: 94.6 +- 0.8",
    "thickness: 30\n    fixed_to: {mount: case.roof, by: a": (
        "thickness: 30 +0.5 -0.2\n    fixed_to: {mount: case.roof, by: a"
    ),
    "slide: -16.5": "slide: -16.5 +- 1",
    "slide: 139, shift: 17.53": "slide: 139 +- 0.5, shift: 17.53 +- 0.5",
    "tube_length: 80": "tube_length: 80 +- 1",
}


def measured_tower() -> Layout:
    """The editing tower, eight of its lengths with a tolerance."""
    folder = ROOT / "scenes"
    text = (folder / "editing_tower.yaml").read_text("utf-8")
    for written, known in _MEASURED.items():
        assert text.count(written) == 1, written
        text = text.replace(written, known)
    return build(parse_scene(text, "editing_tower.yaml", folder))


def worst_case_and_odds(draws: int = 10_000) -> tuple[float, float]:
    """Seconds of a check with its worst cases, and of drawing and judging so many builds after it."""
    layout = measured_tower()
    start = time.perf_counter()
    checked = check(layout)
    between = time.perf_counter()
    odds(layout, checked.findings, draws)
    return between - start, time.perf_counter() - between


if __name__ == "__main__":
    print("check {:.2f} s, 10,000 builds {:.2f} s".format(*worst_case_and_odds()))
