"""The worst of what a group of parts meets, measured as the checker measures it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from layout3d.checks.broad import near_pairs
from layout3d.checks.clearance import asked_pairs
from layout3d.checks.items import Gaps, Item
from layout3d.checks.words import name_of
from layout3d.checks.zones import counts
from layout3d.kernels.bodies import Body, body
from layout3d.kernels.measure import CONTACT_MM, measure_pairs
from layout3d.layout import Layout, PlacedPart
from layout3d.words import mm, mm_pair
from shapes.part import Zone
from shapes.pose import compose

_AT_ONCE = 6


@dataclass(frozen=True, slots=True)
class Failure:
    """The worst of what a variant meets, as the checker would find it."""

    rule: str
    parts: tuple[str, str]
    measured_mm: float
    required_mm: float
    message: str


@dataclass(frozen=True, slots=True, eq=False)
class Asked:
    """A pair to measure: two solids, or a solid and the room it must not stand in."""

    first: Body
    second: Body
    gap: float
    items: tuple[Item, ...]
    room: tuple[PlacedPart, Zone] | None = None

    @property
    def owners(self) -> frozenset[str]:
        """Whose they are."""
        return frozenset([item.owner for item in self.items] + ([self.room[0].name] if self.room else []))

    @property
    def most_missing(self) -> float:
        """No more can be missing to the gap than what parts the boxes."""
        apart = np.minimum(self.first.high - self.second.low, self.second.high - self.first.low)
        return self.gap + float(apart.min())


def worst_failure(layout: Layout, items: tuple[Item, ...], movers: frozenset[str]) -> Failure | None:
    """What most is missing to, of all the checker would call an error about ``movers``; None: they clear.

    Pairs are measured in the order of what could be missing at most, so that few overlaps are
    measured to their full depth; where nothing is missing all pairs are measured.
    """
    asked = sorted(pairs_about(layout, items, movers), key=lambda pair: -pair.most_missing)
    worst: tuple[float, Asked, float] | None = None
    for start in range(0, len(asked), _AT_ONCE):
        chunk = asked[start : start + _AT_ONCE]
        if worst is not None and chunk[0].most_missing <= worst[0]:
            break
        measured = measure_pairs(
            [(pair.first, pair.second) for pair in chunk], np.array([pair.gap for pair in chunk])
        )
        for pair, result in zip(chunk, measured, strict=True):
            missing = pair.gap - result.gap_mm
            if missing > CONTACT_MM and (worst is None or missing > worst[0]):
                worst = (missing, pair, result.gap_mm)
    return None if worst is None else _told(worst[1], worst[2])


def pairs_about(
    layout: Layout, items: tuple[Item, ...], movers: frozenset[str] | None = None
) -> Iterator[Asked]:
    """Every pair the checker would call an error about ``movers``, or about anything, were it too near."""
    gaps = Gaps.of(layout)
    near = near_pairs([item.body for item in items], gaps.widest)
    for first, second, gap in asked_pairs(layout, items, near, gaps):
        if movers is None or first.owner in movers or second.owner in movers:
            yield Asked(first.body, second.body, gap, (first, second))
    for part in layout.parts.values():
        for zone in part.part.zones:
            if zone.severity != "error":
                continue
            room = body(zone.primitive, compose(zone.zone2part, part.part2scene))
            for item in items:
                about = movers is None or part.name in movers or item.owner in movers
                near_it = bool(np.all((item.body.low <= room.high) & (room.low <= item.body.high)))
                if about and near_it and counts(item, part, zone, gaps):
                    yield Asked(room, item.body, 0.0, (item,), (part, zone))


def _told(pair: Asked, measured: float) -> Failure:
    if pair.room is not None:
        (part, zone), (item,) = pair.room, pair.items
        words = f"{name_of(item)} stands {mm(-measured)} in the room for {part.name}'s {zone.name}"
        return Failure("keep-out", (part.name, item.owner), measured, 0.0, words)
    first, second = pair.items
    parts = (first.owner, second.owner)
    if measured < -CONTACT_MM:
        words = f"{name_of(first)} and {name_of(second)} overlap by {mm(-measured)}"
        return Failure("overlap", parts, measured, pair.gap, words)
    apart, wanted = mm_pair(max(measured, 0.0), pair.gap)
    words = f"{name_of(first)} and {name_of(second)} are {apart} apart, {wanted} wanted"
    return Failure("gap", parts, measured, pair.gap, words)
