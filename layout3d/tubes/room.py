"""Whether a hose's shape keeps its gaps: the same measure the checker takes, asked while shapes are tried."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from layout3d.kernels.bodies import Body, body
from layout3d.kernels.measure import CONTACT_MM, measure_pairs
from layout3d.kernels.obstacles import Obstacles
from layout3d.tubes.centreline import Piece, length_mm, part_of, start_of
from layout3d.tubes.route.scenery import Scenery
from shapes.pose import IDENTITY, Pose
from shapes.primitives import Primitive, Straight, TubeRun

#: How far apart the points are that are looked at first [mm].
_POINT_MM = 4.0


class Room:
    """What is about a hose that is to be found, asked again and again."""

    def __init__(self, scenery: Scenery) -> None:
        self.hindrances = scenery.hindrances
        self.bodies = [body(one.primitive, one.solid2scene) for one in scenery.hindrances]
        by_gap: dict[float, list[tuple[Primitive, Pose]]] = {}
        for one in scenery.hindrances:
            by_gap.setdefault(one.required_mm, []).append((one.primitive, one.solid2scene))
        self.by_gap = {gap: Obstacles(solids) for gap, solids in by_gap.items()}

    def keeps_clear(self, run: TubeRun) -> bool:
        """Whether a run keeps every gap asked of it; its straight ends may be near what they end on."""
        stretches = list(_stretches(run))
        if any(self._surely_near(stretch) for stretch, ends in stretches if not any(ends)):
            return False
        pairs: list[tuple[Body, Body]] = []
        gaps: list[float] = []
        for stretch, ends in stretches:
            moving = body(stretch, IDENTITY)
            for one, other in zip(self.hindrances, self.bodies, strict=True):
                near = any(close and end for close, end in zip(one.near, ends, strict=True))
                gap = 0.0 if near else one.required_mm
                if np.all(moving.low < other.high + gap) and np.all(other.low < moving.high + gap):
                    pairs.append((moving, other))
                    gaps.append(gap)
        if not pairs:
            return True
        measured = measure_pairs(pairs, np.array(gaps))
        return all(found.gap_mm >= gap - CONTACT_MM for found, gap in zip(measured, gaps, strict=True))

    def _surely_near(self, run: TubeRun) -> bool:
        """Whether some point of the centreline alone shows the run too near: quick, and never wrongly so.

        A point as far from both ends as the tube is thick at least has a ball of tube round it.
        """
        radius = 0.5 * run.outside
        inner = part_of(run.pieces, radius, length_mm(run.pieces) - radius)
        points = np.array([start_of(part)[0] for piece in inner for part in _chopped(piece)])
        return len(points) > 0 and any(
            bool((obstacles.nearest(points)[0] < radius + gap - CONTACT_MM).any())
            for gap, obstacles in self.by_gap.items()
        )


def _chopped(piece: Piece) -> Iterator[Piece]:
    """A piece in lengths of about 4 mm."""
    count = max(1, round(piece.length / _POINT_MM))
    for k in range(count):
        yield from part_of((piece,), piece.length * k / count, piece.length * (k + 1) / count)


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
