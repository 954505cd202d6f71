"""A change made to a scene, built whole and checked against everything."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from copy import copy
from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np

from layout3d.build import build
from layout3d.checks.again import Again
from layout3d.checks.check import check
from layout3d.checks.items import items_of
from layout3d.errors import SceneErrors
from layout3d.findings import Finding
from layout3d.fit.worst import Asked, pairs_about
from layout3d.kernels.bodies import Body
from layout3d.kernels.measure import CONTACT_MM, Measured, measure_pairs
from layout3d.layout import Layout, Tube
from layout3d.placing.fittings import TubeEnd
from layout3d.placing.place import place
from layout3d.remedies.change import Change
from layout3d.scene.model import Scene
from layout3d.scene.paths import AutoPath
from shapes.pose import Array

#: What an error is known by, before a change and after it.
Fault: TypeAlias = tuple[str, frozenset[str]]
#: Faults, each with what is missing to its rule [mm].
Faults: TypeAlias = Mapping[Fault, float]
#: An error that stays may not grow by more [mm].
_NO_WORSE_MM = 1e-6
#: Room left is told up to here [mm].
_TOLD_ROOM_MM = 20.0
_AT_ONCE = 8


@dataclass(frozen=True, slots=True, eq=False)
class Mended:
    """A change that was built and checked, the errors it ends, and the layout it makes."""

    change: Change
    ends: frozenset[Fault]
    layout: Layout


def fault_of(finding: Finding) -> Fault:
    """What this finding is known by."""
    return finding.rule, frozenset(finding.parts)


class Trials:
    """Changes of one layout tried; only pairs of what moved are measured again.

    made : how many were
    searches : how many more may find tubes anew, None for any number: where there is no way it takes long
    """

    def __init__(self, layout: Layout, findings: Iterable[Finding], searches: int | None) -> None:
        self.made, self._searches = 0, searches
        self._layout = layout
        self._faults = _faults(findings)
        self._measured = Again()
        asked = list(pairs_about(layout, items_of(layout)))
        self._of_room = _of_room(asked, self._measured.measure(_bodies(asked), _gaps(asked)))

    def affords(self, change: Change) -> bool:
        """Whether the change may be tried yet: it finds no tubes anew, or that many may be found still."""
        return self._searches is None or self._searches > 0 or not _searched(change.scene)

    def attempt(self, change: Change, fault: Fault) -> Mended | None:
        """What a change ends; None where it cannot be built, does not end ``fault`` or does harm elsewhere.

        Harm is an error that did not stand before, or one that stands and grows.
        """
        self.made += 1
        try:
            if self._room_faults(self._without_new_tubes(change.scene)) is None:
                return None
            if self._searches is not None and _searched(change.scene):
                self._searches -= 1
            layout = build(change.scene)
        except SceneErrors:
            return None
        of_room = self._room_faults(layout)
        if of_room is None or fault in of_room:
            return None
        faults = _faults(check(layout).findings)
        ended = frozenset(self._faults.keys() - faults.keys())
        return Mended(change, ended, layout) if fault in ended and _allowed(faults, self._faults) else None

    def _without_new_tubes(self, scene: Scene) -> Layout:
        """The changed scene with those tubes only that lie as they lay.

        To find the others takes longest, and most changes do harm among the parts alone.
        """
        layout, ends = place(scene)
        kept = [tube for tube in self._layout.tubes if _stays(tube, self._layout.scene, scene, ends)]
        return replace(layout, tubes=tuple(kept))

    def _room_faults(self, layout: Layout) -> Faults | None:
        """Which solids meet; None as soon as some do that did not, or more than they did.

        Those that could lack most are asked first, so that most harm is found long before all is asked.
        """
        asked = sorted(pairs_about(layout, items_of(layout)), key=lambda pair: -pair.most_missing)
        measured: list[Measured] = []
        for start in range(0, len(asked), _AT_ONCE):
            chunk = asked[start : start + _AT_ONCE]
            # A copy each, so that what the layout itself was measured for is there for the next.
            measured += copy(self._measured).measure(_bodies(chunk), _gaps(chunk))
            if not _allowed(_of_room(asked[: len(measured)], measured), self._of_room):
                return None
        return _of_room(asked, measured)


def _searched(scene: Scene) -> bool:
    return any(isinstance(tube.path, AutoPath) for tube in scene.tubes.values())


def _allowed(faults: Faults, before: Faults) -> bool:
    return all(missing <= before.get(fault, -np.inf) + _NO_WORSE_MM for fault, missing in faults.items())


def _bodies(asked: Sequence[Asked]) -> list[tuple[Body, Body]]:
    return [(pair.first, pair.second) for pair in asked]


def _gaps(asked: Sequence[Asked]) -> Array:
    return np.array([pair.gap for pair in asked])


def _of_room(asked: Sequence[Asked], measured: Sequence[Measured]) -> dict[Fault, float]:
    """Overlaps, gaps and keep-outs as the checks tell them: two owners that overlap have no gap besides."""
    faults: dict[Fault, float] = {}
    for pair, result in zip(asked, measured, strict=True):
        missing = pair.gap - result.gap_mm
        if missing <= CONTACT_MM:
            continue
        rule = "keep-out" if pair.room else "overlap" if result.gap_mm < -CONTACT_MM else "gap"
        fault = (rule, pair.owners)
        faults[fault] = max(missing, faults.get(fault, 0.0))
    overlapping = {owners for rule, owners in faults if rule == "overlap"}
    return {fault: each for fault, each in faults.items() if fault[0] != "gap" or fault[1] not in overlapping}


def _faults(findings: Iterable[Finding]) -> dict[Fault, float]:
    """Errors, each with what is missing to its rule."""
    return {
        fault_of(each): abs((each.required_mm or 0.0) - (each.measured_mm or 0.0))
        for each in findings
        if each.severity == "error"
    }


def _stays(tube: Tube, before: Scene, after: Scene, ends: Mapping[str, tuple[TubeEnd, TubeEnd]]) -> bool:
    """Whether a tube lies as it lay: its path is given and its mouths are where they were."""
    spec = after.tubes[tube.name]
    if spec is not before.tubes[tube.name] or isinstance(spec.path, AutoPath):
        return False
    return all(
        np.allclose(now.mouth.origin, was.origin, atol=1e-9)
        and np.allclose(now.mouth.rotation, was.rotation, atol=1e-12)
        for now, was in zip(ends[tube.name], tube.mouths, strict=True)
    )


def room_left(layout: Layout, first: str, second: str) -> float | None:
    """The least distance between two owners [mm]; None where it is more than anyone asks or one is gone."""
    items = items_of(layout)
    pairs = [(a.body, b.body) for a in items if a.owner == first for b in items if b.owner == second]
    if not pairs:
        return None
    measured = measure_pairs(pairs, np.full(len(pairs), _TOLD_ROOM_MM))
    least = min(each.gap_mm for each in measured)
    return least if 0.0 <= least < _TOLD_ROOM_MM else None
