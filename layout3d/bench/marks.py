"""Marks as a bench can set them: half millimetres and half degrees, and where they bring the tube's end.

Figures of the model have more digits than a rule or a protractor. Of the steps next to each of
them those are taken that together bring the bent tube nearest its far mouth; the tube is then
made again from just these.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from layout3d.layout import Layout, Tube
from layout3d.scene.model import Bench, RigidTubing
from layout3d.scene.paths import BendsPath, BendStep, StraightPath
from layout3d.tubes.centreline import Row
from layout3d.tubes.given_table import by_table, missed, rolled
from layout3d.tubes.job import TubeJob
from layout3d.tubes.rigid import by_points

#: What a rule and a protractor are read to: common practice, no source [mm], [degrees].
STEP = 0.5
#: A straight that the model has long enough may not get shorter than its rule by being rounded [mm].
_SLACK_MM = 1e-9
_SHORT_COST_MM = 1e3

End = Literal["from", "to"]


@dataclass(frozen=True, slots=True)
class Mark:
    """One bend on the straight piece, measured from the end it is marked from, insertion included.

    mark_mm, end_mm : where the bend starts and ends
    line_mm : where the piece is marked for the former's own line
    set_deg : what to bend to, so that ``bend_deg`` stays once the tube has sprung back
    """

    mark_mm: float
    end_mm: float
    line_mm: float
    turn_deg: float
    bend_deg: float
    set_deg: float
    radius_mm: float


@dataclass(frozen=True, slots=True)
class Marked:
    """A rigid tube in figures that a bench can set.

    marked_from, other : the ports at the end marks are measured from and at the other
    cut_mm : length with insertion, rounded; saw_mm : with what is left to trim off the other end
    miss_mm, off_deg : how far and how tilted the end of a tube bent to just these figures lies
        at its mouth
    made : the tube as these figures make it
    """

    name: str
    tubing: str
    marked_from: str
    other: str
    cut_mm: float
    saw_mm: float
    marks: tuple[Mark, ...]
    miss_mm: float
    off_deg: float
    made: Tube


def marked(layout: Layout, tube: Tube, end: End = "from") -> Marked | None:
    """The tube's marks from one end; None for a soft tube and one that has no lengths."""
    tubing = layout.scene.tubings[tube.tubing]
    if tube.bends is None or tube.cut_mm is None or not isinstance(tubing, RigidTubing):
        return None
    bench = layout.scene.bench.get(tube.tubing, Bench())
    job = TubeJob(
        spec=layout.scene.tubes[tube.name],
        tubing=tubing,
        mouths=tube.mouths,
        insertions=tube.insertions,
        near=tube.near,
        scene=layout.scene,
    )
    piece = _Piece(job, tubing, tube, end == "to")
    figures = piece.rounded()
    rows, last = piece.rows(figures)
    return Marked(
        name=tube.name,
        tubing=tube.tubing,
        marked_from=tube.end if piece.backward else tube.start,
        other=tube.start if piece.backward else tube.end,
        cut_mm=figures[0],
        saw_mm=figures[0] + bench.trim,
        marks=piece.marks(figures, bench),
        miss_mm=(miss := missed(job, rolled(job, rows, last)))[0],
        off_deg=miss[1],
        made=_made(job, tubing, rows, last),
    )


def _made(job: TubeJob, tubing: RigidTubing, rows: Sequence[Row], last: float) -> Tube:
    if not rows:
        return by_points(job, tubing, StraightPath())
    steps = tuple(
        BendStep(
            straight=max(row.straight_mm, 0.0), turn=row.turn_deg, bend=row.bend_deg, radius=row.radius_mm
        )
        for row in rows
    )
    return by_table(job, tubing, BendsPath(steps, max(last, 0.0)))


class _Piece:
    """A tube's figures (cut length, then mark, turn and angle of each bend) from one of its ends."""

    def __init__(self, job: TubeJob, tubing: RigidTubing, tube: Tube, backward: bool) -> None:
        self.job, self.tubing, self.backward = job, tubing, backward
        rows = [Row(b.straight_mm, b.turn_deg, b.bend_deg, b.radius_mm) for b in tube.bends or ()]
        last = tube.last_straight_mm or 0.0
        self.given, _ = flipped(rows, last) if backward else (rows, last)
        self.insertions = tube.insertions[::-1] if backward else tube.insertions
        self.radii = [row.radius_mm for row in self.given]
        self.exact = [tube.cut_mm or 0.0]
        at = self.insertions[0]
        for row in self.given:
            at += row.straight_mm
            self.exact += [at, row.turn_deg, row.bend_deg]
            at += math.radians(row.bend_deg) * row.radius_mm
        self.least = [
            min(least, s) for least, s in zip(self._rules(), self._straights(self.exact), strict=True)
        ]

    def _rules(self) -> list[float]:
        """The least length of each straight."""
        count = len(self.given) + 1
        ends = (0, count - 1)
        between, first = self.tubing.between_bends, self.tubing.end_straight
        return [0.0] if count == 1 else [first if k in ends else between for k in range(count)]

    def _straights(self, figures: Sequence[float]) -> list[float]:
        straights, at = [], self.insertions[0]
        for k, radius in enumerate(self.radii):
            mark, bend = figures[1 + 3 * k], figures[3 + 3 * k]
            straights.append(mark - at)
            at = mark + math.radians(bend) * radius
        return [*straights, figures[0] - self.insertions[1] - at]

    def rows(self, figures: Sequence[float]) -> tuple[list[Row], float]:
        """The bend table the figures stand for, from the tube's own first end."""
        *straights, last = self._straights(figures)
        rows = [
            Row(straight, figures[2 + 3 * k], figures[3 + 3 * k], self.radii[k])
            for k, straight in enumerate(straights)
        ]
        return flipped(rows, last) if self.backward else (rows, last)

    def _cost(self, figures: Sequence[float]) -> float:
        """How far the end lies off, one degree counting as one mm; far too much for too short a straight."""
        short = math.fsum(
            max(least - straight - _SLACK_MM, 0.0)
            for least, straight in zip(self.least, self._straights(figures), strict=True)
        )
        rows, last = self.rows(figures)
        miss, off = missed(self.job, rolled(self.job, rows, last))
        return math.hypot(miss, off) + _SHORT_COST_MM * short

    def rounded(self) -> tuple[float, ...]:
        """Each figure at one of the two steps next to it: the best found by changing one or two at a time."""
        choices = [_steps(value) for value in self.exact]
        best = [nearest(value) for value in self.exact]
        least = self._cost(best)
        free = [k for k, steps in enumerate(choices) if len(steps) == 2]
        moves = [(k,) for k in free] + list(itertools.combinations(free, 2))
        better = True
        while better:
            better = False
            for move in moves:
                tried = list(best)
                for k in move:
                    low, high = choices[k]
                    tried[k] = high if best[k] == low else low
                cost = self._cost(tried)
                if cost < least - 1e-9:
                    best, least, better = tried, cost, True
        return tuple(best)

    def marks(self, figures: Sequence[float], bench: Bench) -> tuple[Mark, ...]:
        """The figures as they are set, with the former's line and what it springs back."""
        marks = []
        for k, radius in enumerate(self.radii):
            at, turn, bend = figures[1 + 3 * k : 4 + 3 * k]
            end = at + math.radians(bend) * radius
            set_deg = bend * (1.0 + bench.springback / 90.0)
            marks.append(Mark(at, end, at - bench.setback, turn, bend, set_deg, radius))
        return tuple(marks)


def nearest(value: float) -> float:
    """A figure to the nearest step."""
    return round(value / STEP) * STEP + 0.0


def _steps(value: float) -> tuple[float, ...]:
    """The steps on both sides of a figure, or the one it lies on."""
    low = math.floor(value / STEP + 1e-9) * STEP + 0.0
    return (low,) if abs(value - low) < 1e-6 else (low, low + STEP)


def flipped(rows: Sequence[Row], last_mm: float) -> tuple[list[Row], float]:
    """A bend table measured from the other end; a turn between two bends is the same from both."""
    if not rows:
        return [], last_mm
    straights = [last_mm, *(row.straight_mm for row in reversed(rows))]
    turns = [0.0, *(row.turn_deg for row in reversed(rows[1:]))]
    back = [
        replace(row, straight_mm=straight, turn_deg=turn)
        for row, straight, turn in zip(reversed(rows), straights, turns, strict=False)
    ]
    return back, straights[-1]
