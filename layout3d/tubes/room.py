"""Whether a hose's shape keeps its gaps: the same measure the checker takes, asked while shapes are tried."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from layout3d.kernels.bodies import Body, body
from layout3d.kernels.measure import CONTACT_MM, measure_pairs
from layout3d.tubes.route.scenery import Scenery
from shapes.pose import IDENTITY
from shapes.primitives import Straight, TubeRun


def keeps_clear(run: TubeRun, scenery: Scenery) -> bool:
    """Whether a run keeps every gap asked of it; its straight ends may be near what they end on."""
    pairs: list[tuple[Body, Body]] = []
    gaps: list[float] = []
    there = [body(one.primitive, one.solid2scene) for one in scenery.hindrances]
    for stretch, ends in _stretches(run):
        moving = body(stretch, IDENTITY)
        for one, other in zip(scenery.hindrances, there, strict=True):
            near = any(close and end for close, end in zip(one.near, ends, strict=True))
            gap = 0.0 if near else one.required_mm
            if np.all(moving.low < other.high + gap) and np.all(other.low < moving.high + gap):
                pairs.append((moving, other))
                gaps.append(gap)
    if not pairs:
        return True
    measured = measure_pairs(pairs, np.array(gaps))
    return all(found.gap_mm >= gap - CONTACT_MM for found, gap in zip(measured, gaps, strict=True))


def _stretches(run: TubeRun) -> Iterator[tuple[TubeRun, tuple[bool, bool]]]:
    """First straight, middle and last straight; at which ends each may be near what the tube ends on."""
    pieces = run.pieces
    if len(pieces) == 1:
        yield run, (isinstance(pieces[0], Straight),) * 2
        return
    head = 1 if isinstance(pieces[0], Straight) else 0
    tail = 1 if isinstance(pieces[-1], Straight) else 0
    for part, ends in (
        (pieces[:head], (True, False)),
        (pieces[head : len(pieces) - tail], (False, False)),
        (pieces[len(pieces) - tail :], (False, True)),
    ):
        if part:
            yield TubeRun(part, run.outside, run.inside, run.deviation), ends
