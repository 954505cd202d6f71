"""Gaps and overlaps between all solids that do not belong together."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from layout3d.checks.broad import Pairs, near_pairs
from layout3d.checks.items import Gaps, Item
from layout3d.checks.moves import engaged, trial_move
from layout3d.checks.words import hint_words, midpoint, name_of, where_of
from layout3d.findings import Finding
from layout3d.kernels.bodies import Body
from layout3d.kernels.measure import CONTACT_MM, Measured, measure_pairs
from layout3d.layout import Layout
from layout3d.words import mm, mm_pair
from shapes.pose import Array, as_vec3

#: Measures pairs of bodies against the gaps wanted.
Measure: TypeAlias = Callable[[Sequence[tuple[Body, Body]], Array], list[Measured]]


@dataclass(frozen=True, slots=True)
class Clash:
    """Two items nearer than they may be."""

    first: Item
    second: Item
    required: float
    measured: Measured

    @property
    def overlaps(self) -> bool:
        """The two share room, they do not only stand too close."""
        return self.measured.gap_mm < -CONTACT_MM

    @property
    def shortfall(self) -> float:
        """How much is missing to the rule [mm]."""
        return self.required - self.measured.gap_mm


@dataclass(frozen=True, slots=True)
class Clearance:
    """What was found, and how many pairs it took."""

    findings: tuple[Finding, ...]
    pairs_near: int
    pairs_measured: int


def clearance(layout: Layout, items: Sequence[Item], measure: Measure = measure_pairs) -> Clearance:
    """Every pair of owners that overlap or come nearer than the rules allow.

    measure : ``layout3d.checks.again.Again.measure`` where most pairs were measured before
    """
    gaps = Gaps.of(layout)
    near = near_pairs([item.body for item in items], gaps.widest)
    pairs = asked_pairs(layout, items, near, gaps)
    required = np.array([gap for _, _, gap in pairs])
    measured = measure([(a.body, b.body) for a, b, _ in pairs], required)
    clashes = [
        Clash(a, b, gap, result)
        for (a, b, gap), result in zip(pairs, measured, strict=True)
        if result.gap_mm < gap - CONTACT_MM
    ]
    findings = [_finding(clash, layout, items, gaps) for clash in _worst(clashes)]
    return Clearance(tuple(findings), len(near), len(pairs))


def asked_pairs(
    layout: Layout, items: Sequence[Item], near: Pairs, gaps: Gaps
) -> list[tuple[Item, Item, float]]:
    """Every pair that is measured, with the gap it must keep [mm]; joints that engage drawn apart."""
    return _asked(items, near, gaps) + _engaged(layout, items)


def _asked(items: Sequence[Item], near: Pairs, gaps: Gaps) -> list[tuple[Item, Item, float]]:
    """Near pairs that no engaging joint covers, each with the gap it must keep."""
    asked = []
    for i, j in near.tolist():
        first, second = items[i], items[j]
        if first.owner == second.owner:
            continue
        joint = gaps.joint(first.owner, second.owner)
        if joint is None or joint.engagement == 0.0:
            asked.append((first, second, gaps.required(first, second)))
    return asked


def _engaged(layout: Layout, items: Sequence[Item]) -> list[tuple[Item, Item, float]]:
    """Pairs of engaging joints: all of the second part drawn off the first by the engagement, and
    what does not go in as it stands.
    """
    by_owner: dict[str, list[Item]] = {}
    for item in items:
        by_owner.setdefault(item.owner, []).append(item)
    pairs: list[tuple[Item, Item, float]] = []
    for joint in layout.joints:
        if joint.engagement > 0.0:
            first, second = by_owner.get(joint.first, []), by_owner.get(joint.second, [])
            if not first:
                continue
            pairs += [(a, b, 0.0) for a, b in _box_pairs(first, engaged(joint, second))]
    return pairs


def _box_pairs(first: Sequence[Item], second: Sequence[Item]) -> list[tuple[Item, Item]]:
    """Every pair whose boxes meet."""
    low, high = (np.array([getattr(item.body, end) for item in first]) for end in ("low", "high"))
    return [
        (first[i], item)
        for item in second
        for i in np.flatnonzero(((low <= item.body.high) & (item.body.low <= high)).all(axis=1)).tolist()
    ]


def _worst(clashes: Sequence[Clash]) -> list[Clash]:
    """The worst clash of each pair of owners: the deepest overlap, else what is most short of its rule."""
    worst: dict[frozenset[str], Clash] = {}
    for clash in clashes:
        pair = frozenset((clash.first.owner, clash.second.owner))
        known = worst.get(pair)
        if known is None or _badness(clash) > _badness(known):
            worst[pair] = clash
    return list(worst.values())


def _badness(clash: Clash) -> tuple[bool, float]:
    return clash.overlaps, -clash.measured.gap_mm if clash.overlaps else clash.shortfall


def _finding(clash: Clash, layout: Layout, items: Sequence[Item], gaps: Gaps) -> Finding:
    first, second, measured = clash.first, clash.second, clash.measured
    direction = as_vec3(np.asarray(measured.direction))
    move = trial_move(first.owner, second.owner, direction, clash.shortfall, items, gaps)
    names = f"{name_of(first)} and {name_of(second)}"
    if clash.overlaps:
        rule = "overlap"
        depth = mm(-measured.gap_mm)
        message = f"{names} overlap by {'' if measured.exact else 'up to '}{depth}"
    else:
        rule = "gap"
        apart, wanted = mm_pair(max(measured.gap_mm, 0.0), clash.required)
        message = f"{names} are {apart} apart, {wanted} wanted"
    return Finding(
        rule=rule,
        severity="error",
        parts=(first.owner, second.owner),
        solids=(first.solid, second.solid),
        message=message,
        measured_mm=measured.gap_mm,
        required_mm=clash.required,
        at_mm=midpoint(measured),
        direction=direction,
        move_mm=move,
        depth_is=("exact" if measured.exact else "bound") if clash.overlaps else None,
        remedy=hint_words(second, move, layout),
        where=where_of(second.owner, layout),
    )
