"""A warm check of a layout against OCCT distances on the same near pairs."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable

from benchmarks.processes import ROOT
from layout3d.build import build
from layout3d.checks.broad import near_pairs
from layout3d.checks.check import check
from layout3d.checks.items import Gaps, items_of
from layout3d.layout import Layout
from layout3d.scene.reader import read_scene


def tower() -> Layout:
    """The editing tower, built."""
    return build(read_scene(ROOT / "scenes" / "editing_tower.yaml"))


def warm_check(layout: Layout, runs: int = 15) -> float:
    """Median seconds of a whole check, findings and all."""
    return _median(lambda: check(layout), runs)


def occt_distances(layout: Layout) -> tuple[float, int]:
    """Seconds OCCT takes for the near pairs that `check` measures, and how many they are.

    The solids are made beforehand; the prefilter is the checker's own.
    """
    from OCP.BRepExtrema import BRepExtrema_DistShapeShape

    from layout3d.realise.brep import solid

    items, gaps = items_of(layout), Gaps.of(layout)
    near = near_pairs([item.body for item in items], gaps.widest).tolist()
    pairs = [(i, j) for i, j in near if items[i].owner != items[j].owner]
    wanted = {i for pair in pairs for i in pair}
    solids = {i: solid(items[i].primitive, items[i].solid2scene, filled=True).wrapped for i in sorted(wanted)}
    start = time.perf_counter()
    for i, j in pairs:
        BRepExtrema_DistShapeShape(solids[i], solids[j]).Value()
    return time.perf_counter() - start, len(pairs)


def _median(call: Callable[[], object], runs: int) -> float:
    times = []
    for _ in range(runs + 1):
        start = time.perf_counter()
        call()
        times.append(time.perf_counter() - start)
    return statistics.median(times[1:])
