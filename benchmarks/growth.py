"""How the work grows with the number of parts, and what one moved part costs."""

from __future__ import annotations

import math
import statistics
import time

import numpy as np

from layout3d.checks.again import Again
from layout3d.checks.broad import near_pairs
from layout3d.checks.items import items_of
from layout3d.kernels.bodies import Body, body
from layout3d.kernels.measure import measure_pairs
from layout3d.layout import Layout

_REACH_MM = 4.0
_COPIES = (2, 232)


def solids_in_a_row(layout: Layout, copies: int) -> list[Body]:
    """The layout's solids, stood side by side this often; bodies that were never measured."""
    items = items_of(layout)
    width = max(item.body.high[0] for item in items) - min(item.body.low[0] for item in items)
    return [
        body(item.primitive, item.solid2scene.shifted(np.array((copy * width, 0.0, 0.0))))
        for copy in range(copies)
        for item in items
    ]


def exponent(layout: Layout) -> tuple[float, tuple[int, int]]:
    """By which power of the number of parts placing, pairing and measuring grow; and the numbers."""
    owners = len({item.owner for item in items_of(layout)})
    took = [min(_seconds(layout, copies) for _ in range(2 if copies > 9 else 9)) for copies in _COPIES]
    power = math.log(took[1] / took[0]) / math.log(_COPIES[1] / _COPIES[0])
    return power, (owners * _COPIES[0], owners * _COPIES[1])


def _seconds(layout: Layout, copies: int) -> float:
    start = time.perf_counter()
    solids = solids_in_a_row(layout, copies)
    pairs = near_pairs(solids, _REACH_MM)
    measure_pairs([(solids[i], solids[j]) for i, j in pairs.tolist()], np.full(len(pairs), _REACH_MM))
    return time.perf_counter() - start


def moved_part(layout: Layout, copies: int = 20) -> float:
    """Measuring after one solid moved by 0.25 mm, as a share of measuring all."""
    solids = solids_in_a_row(layout, copies)
    pairs = near_pairs(solids, _REACH_MM)
    wanted = np.full(len(pairs), _REACH_MM)
    again, shares = Again(), []
    again.measure([(solids[i], solids[j]) for i, j in pairs.tolist()], wanted)
    # Every other solid in turn, back and forth, so that each step moves one that was measured where it was.
    for at in np.linspace(0, len(solids) - 1, 9).astype(int).tolist():
        there = list(solids)
        there[at] = solids[at].moved((0.0, 0.0, 0.25))
        started = time.perf_counter()
        again.measure([(there[i], there[j]) for i, j in pairs.tolist()], wanted)
        middle = time.perf_counter()
        # Solids are new in both, as after a rebuild: nothing they remember is used.
        fresh = [body(one.primitive, one.solid2scene) for one in there]
        begun = time.perf_counter()
        measure_pairs([(fresh[i], fresh[j]) for i, j in pairs.tolist()], wanted)
        shares.append((middle - started) / (time.perf_counter() - begun))
        again.measure([(solids[i], solids[j]) for i, j in pairs.tolist()], wanted)
    return statistics.median(shares)
