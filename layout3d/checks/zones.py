"""Room that parts keep free: solids standing in it, and what would fit instead."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from layout3d.checks.items import Gaps, Item
from layout3d.checks.moves import Wanted, least_move
from layout3d.checks.words import hint_words, midpoint, name_of, where_of
from layout3d.findings import Finding
from layout3d.kernels.bodies import Body, body
from layout3d.kernels.measure import CONTACT_MM, Measured, measure_pairs
from layout3d.layout import Layout, PlacedPart
from layout3d.words import mm
from shapes.part import Zone
from shapes.pose import Array, as_vec3, compose


def zone_findings(layout: Layout, items: Sequence[Item]) -> Iterator[Finding]:
    """For each part in each zone that is not its own or its joint's: the solid deepest in it."""
    gaps = Gaps.of(layout)
    low = np.array([item.body.low for item in items]).reshape(-1, 3)
    high = np.array([item.body.high for item in items]).reshape(-1, 3)
    for part in layout.parts.values():
        rooms = [
            (zone, body(zone.primitive, compose(zone.zone2part, part.part2scene))) for zone in part.part.zones
        ]
        for zone, room in rooms:
            meets = np.all((low <= room.high) & (room.low <= high), axis=1)
            inside = [items[i] for i in np.flatnonzero(meets).tolist() if counts(items[i], part, zone, gaps)]
            for item, measured in _deepest(room, inside):
                closed = [other for kind, other in rooms if counts(item, part, kind, gaps)]
                mates = [other for other in items if other.owner == item.owner]
                yield _finding(layout, part, zone, item, measured, _way_out(closed, mates, measured))


def counts(item: Item, owner: PlacedPart, zone: Zone, gaps: Gaps) -> bool:
    """A part is let off its own zones, and those joined to it off its height limits."""
    if item.owner == owner.name:
        return False
    if zone.only_parts and item.kind != "part":
        return False
    return zone.severity == "error" or gaps.joint(item.owner, owner.name) is None


def _deepest(room: Body, inside: Sequence[Item]) -> list[tuple[Item, Measured]]:
    """Of each owner the solid deepest in a zone."""
    measured = measure_pairs([(room, item.body) for item in inside], np.zeros(len(inside)))
    worst: dict[str, tuple[Item, Measured]] = {}
    for item, result in zip(inside, measured, strict=True):
        known = worst.get(item.owner)
        if result.gap_mm < -CONTACT_MM and (known is None or result.gap_mm < known[1].gap_mm):
            worst[item.owner] = (item, result)
    return list(worst.values())


def _way_out(rooms: Sequence[Body], items: Sequence[Item], measured: Measured) -> float | None:
    """How far a part must go along its deepest solid's way out until none of it is in any zone [mm]."""

    def pairs(by: Array) -> list[Wanted]:
        return [(room, item.body.moved(by), 0.0) for item in items for room in rooms]

    return least_move(pairs, np.asarray(measured.direction), -measured.gap_mm)


def _finding(
    layout: Layout, part: PlacedPart, zone: Zone, item: Item, measured: Measured, move: float | None
) -> Finding:
    direction = as_vec3(np.asarray(measured.direction))
    depth = -measured.gap_mm
    return Finding(
        rule="keep-out",
        severity=zone.severity,
        parts=(part.name, item.owner),
        solids=(zone.name, item.solid),
        message=(
            f"{name_of(item)} stands {mm(depth)} in the room for {part.name}'s {zone.name}: {zone.reason}"
        ),
        measured_mm=measured.gap_mm,
        required_mm=0.0,
        at_mm=midpoint(measured),
        direction=direction,
        move_mm=move,
        depth_is="exact" if measured.exact else "bound",
        remedy=hint_words(item, move, layout),
        where=where_of(item.owner, layout),
    )
