"""The share of builds that clear: lengths drawn within their tolerances, only what is not proved measured."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from layout3d.checks.items import items_of
from layout3d.errors import RequestError
from layout3d.findings import Finding
from layout3d.kernels.convex import separated
from layout3d.kernels.measure import CONTACT_MM
from layout3d.kernels.pieces import Bools, Ints
from layout3d.layout import Layout
from layout3d.tolerance.interval import share_interval
from layout3d.tolerance.misfit import Miss, end_slopes, miss_as_written
from layout3d.tolerance.reach import Cells
from layout3d.tolerance.study import Study, study
from layout3d.tolerance.worst import Left
from shapes.pose import Array

CONFIDENCE = 0.95
MOST_DRAWS = 1_000_000
#: Pairs of cells measured in one go.
_BATCH = 4000
_ROOM_RULES = ("overlap", "gap", "keep-out")


@dataclass(frozen=True, slots=True)
class Failing:
    """In how many of the draws one thing fails; ``rule`` "gap" stands for an overlap too."""

    rule: str
    parts: tuple[str, ...]
    count: int


@dataclass(frozen=True, slots=True)
class Odds:
    """What was counted in ``draws`` builds, each length drawn evenly and by itself within its tolerance.

    clear : builds in which all gaps, rooms and tube ends hold
    low, high : the share that clears lies between these with confidence ``CONFIDENCE``
    failures : what fails, the most frequent first
    """

    draws: int
    seed: int
    clear: int
    low: float
    high: float
    failures: tuple[Failing, ...]

    @property
    def share(self) -> float:
        """The share of the draws that clears."""
        return self.clear / self.draws


def odds(layout: Layout, findings: Sequence[Finding], draws: int = 10_000, seed: int = 1) -> Odds:
    """Draw builds of a layout whose scene states tolerances; ``findings`` are what the check said of it.

    RequestError for a scene without tolerances, or a number of draws that makes no sense.
    """
    if not 1 <= draws <= MOST_DRAWS:
        raise RequestError(f"--draws {draws}: from 1 to {MOST_DRAWS} builds can be drawn")
    if seed < 0:
        raise RequestError(f"--seed {seed}: at least 0")
    looked = None if layout.scene.tolerances is None else study(layout, items_of(layout))
    if looked is None:
        raise RequestError(
            f"no length in {layout.scene.file} has a tolerance, so there is nothing to draw: "
            "write for instance `at: [60 +- 0.5, 0, 0]`"
        )
    unknowns = looked.unknowns
    offsets = np.random.default_rng(seed).uniform(unknowns.low, unknowns.high, (draws, len(unknowns)))
    failed = _failed(looked, offsets)
    for finding in findings:
        # What no unknown length plays a part in fails in every build.
        if finding.rule in _ROOM_RULES and finding.severity == "error" and finding.doubt_mm is None:
            failed["keep-out" if finding.rule == "keep-out" else "gap", finding.parts] = np.ones(
                draws, dtype=bool
            )
    any_ = np.any([*failed.values(), np.zeros(draws, dtype=bool)], axis=0)
    clear = int(draws - any_.sum())
    told = (Failing(rule, parts, int(each.sum())) for (rule, parts), each in failed.items() if each.any())
    low, high = share_interval(clear, draws, CONFIDENCE)
    return Odds(draws, seed, clear, low, high, tuple(sorted(told, key=lambda one: -one.count)))


def _failed(looked: Study, offsets: Array) -> dict[tuple[str, tuple[str, ...]], Bools]:
    """By rule and parts which draws (D,) fail; what is proved of all builds is not drawn."""
    failed: dict[tuple[str, tuple[str, ...]], Bools] = {}
    for n in looked.failing:
        pair, worst = looked.pairs[n], looked.worst[n]
        if pair.room is not None and pair.room[1].severity != "error":
            continue
        owners = tuple(item.owner for item in pair.items)
        key = ("gap", owners) if pair.room is None else ("keep-out", (pair.room[0].name, *owners))
        known = failed.setdefault(key, np.zeros(len(offsets), dtype=bool))
        assert worst.left is not None
        _add_nearer(worst.left, offsets, known)
    for miss in looked.misses:
        if miss.most_mm <= looked.layout.scene.rules.tube_play + CONTACT_MM:
            continue
        parts = (looked.layout.scene.tubes[miss.tube.name].end.part, miss.tube.name)
        failed["tube-misfit", parts] = _missing(miss, looked, offsets)
    return failed


def _missing(miss: Miss, looked: Study, offsets: Array) -> Bools:
    slopes = end_slopes(miss.tube, looked.follows, offsets.shape[1])
    off = miss_as_written(miss.tube) + offsets @ slopes
    play = looked.layout.scene.rules.tube_play
    return np.asarray(np.sqrt(np.einsum("dc,dc->d", off, off)) > play + CONTACT_MM)


def _add_nearer(left: Left, offsets: Array, failed: Bools) -> None:
    """Mark the draws in which any of these pairs of cells is nearer than it may be."""
    for row in np.argsort(left.room, kind="stable").tolist():
        a, b = left.a.take(np.array([row])), left.b.take(np.array([row]))
        open_ = np.flatnonzero(~failed)
        room = _rooms(a, b, left.direction[row], offsets[open_])
        open_ = open_[room < left.enough]
        for start in range(0, len(open_), _BATCH):
            draws = open_[start : start + _BATCH]
            failed[draws] = ~_proved(a, b, left.direction[row], offsets[draws], left.enough)


def _rooms(a: Cells, b: Cells, direction: Array, offsets: Array) -> Array:
    """Room between two cells along one direction in every draw (D,) [mm]."""
    reach = np.zeros(len(offsets))
    for cell, way in ((a, direction), (b, -direction)):
        base, slopes = cell.figures(way[None])
        reach += (base[0] + offsets @ slopes[0]).max(axis=1)
    return -reach


def _proved(a: Cells, b: Cells, direction: Array, offsets: Array, enough: float) -> Bools:
    """Whether two cells are at least ``enough`` apart in each draw (D,)."""
    rows: Ints = np.zeros(len(offsets), dtype=np.intp)
    start = np.broadcast_to(direction, (len(offsets), 3))
    found = separated(
        a.take(rows).at(offsets), b.take(rows).at(offsets), start, np.full(len(offsets), enough)
    )
    return np.asarray(found.lower >= enough)
