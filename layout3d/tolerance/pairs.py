"""Pairs of bodies that unknown lengths move against each other, and the cells they are bounded by."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from layout3d.checks.broad import near_pairs
from layout3d.checks.clearance import asked_pairs
from layout3d.checks.items import Gaps, Item
from layout3d.checks.zones import counts
from layout3d.kernels.bodies import Body, body
from layout3d.kernels.sweep import hulls
from layout3d.layout import Layout, PlacedPart
from layout3d.tolerance.following import Following, Slopes, What
from layout3d.tolerance.plates import plate_cells
from layout3d.tolerance.reach import Cells, swept_boxes
from layout3d.tolerance.unknowns import Unknowns
from shapes.part import Zone
from shapes.pose import Array, compose
from shapes.primitives import Plate

_STILL_MM = 1e-9


@dataclass(frozen=True, slots=True, eq=False)
class Moving:
    """A body and how it follows the lengths.

    shift : (H, N, 3) slopes of where it stands, a row for each way it may be held
    own : slopes of its own cells as well, None for a body that keeps its form
    radius : (N,) slopes of a tube's radius
    box : (N,) offsets of the lengths at most, for a plate
    """

    body: Body
    shift: Array
    own: Slopes | None = None
    radius: Array | None = None
    box: tuple[Array, Array] | None = None

    @property
    def rigid(self) -> bool:
        """Whether it keeps its form and moves one way only."""
        return self.own is None and self.radius is None and len(self.shift) == 1

    def cells(self, finer: int = 1) -> Cells:
        """Its cells; those whose form follows lengths only as coarse as these were learnt."""
        own, plate = self.own, self.body.primitive
        if own is not None and own.plate is not None and isinstance(plate, Plate):
            assert self.box is not None
            slopes = own.plate.copy()
            slopes[:, :3] = self.shift[0]
            return plate_cells(plate, self.body.solid2scene, slopes, *self.box, finer)
        whole = own is None or own.corners is None
        pieces = hulls(self.body.pieces, finer if whole else 1)
        corners = pieces.corners
        if (corners == corners[:, :1]).all() and whole:
            corners = corners[:, :1]
        count, most = corners.shape[:2]
        lengths = self.shift.shape[1]
        slopes = np.broadcast_to(
            self.shift.transpose(1, 0, 2)[None, :, :, None, :], (count, lengths, len(self.shift), most, 3)
        ).reshape(count, lengths, -1, 3)
        rise, radius = np.zeros((count, lengths, 3)), np.zeros((count, lengths))
        if own is not None and own.corners is not None and own.rise is not None and own.radius is not None:
            slopes = slopes + own.corners.transpose(1, 0, 2, 3)
            rise, radius = own.rise.transpose(1, 0, 2), own.radius.T
        if self.radius is not None:
            radius = np.broadcast_to(self.radius, (count, lengths))
        held = np.tile(corners, (1, len(self.shift), 1))
        return Cells(replace(pieces, corners=held), slopes, rise, radius)


@dataclass(frozen=True, slots=True, eq=False)
class Pair:
    """Two bodies, the gap they must keep [mm], and who they are; ``room``: the second stands in a zone."""

    first: Moving
    second: Moving
    required: float
    items: tuple[Item, ...]
    room: tuple[PlacedPart, Zone] | None = None


class Movers:
    """Every body of a layout with what it follows."""

    def __init__(self, layout: Layout, items: Sequence[Item], unknowns: Unknowns, found: Following) -> None:
        self.layout, self.items, self.gaps = layout, items, Gaps.of(layout)
        self._count, self._found, self._box = len(unknowns), found, (unknowns.low, unknowns.high)
        self._still = np.zeros((1, self._count, 3))
        self._outside = {
            str(key[1]): n
            for n, key in enumerate(unknowns.keys)
            if key[0] == "tubings" and key[2] == "outside"
        }
        self._tubes = {tube.name: tube for tube in layout.tubes}
        numbers: dict[str, int] = {}
        self._known: dict[tuple[str, int, int], What] = {}
        for item in items:
            n = numbers.get(item.owner, 0)
            numbers[item.owner] = n + 1
            self._known[_mark(item)] = ("solid", item.owner, n)

    def pairs(self) -> list[Pair]:
        """Every pair near enough within the tolerances of which at least one moves against the other."""
        swept = [self._swept(item) for item in self.items]
        near = near_pairs([item.body for item in swept], self.gaps.widest)
        asked = [
            Pair(self._moving(a, b), self._moving(b, a), gap, (a, b))
            for a, b, gap in asked_pairs(self.layout, swept, near, self.gaps)
        ]
        return [pair for pair in (*asked, *self._rooms(swept)) if _apart(pair)]

    def _rooms(self, swept: Sequence[Item]) -> Iterator[Pair]:
        for part in self.layout.parts.values():
            for n, zone in enumerate(part.part.zones):
                placed = body(zone.primitive, compose(zone.zone2part, part.part2scene))
                room = self._following(("zone", part.name, n), placed)
                low, high = self._swept_box(room)
                for item in swept:
                    meets = np.all(low <= item.body.high) and np.all(item.body.low <= high)
                    if meets and counts(item, part, zone, self.gaps):
                        yield Pair(room, self._moving(item, None), 0.0, (item,), (part, zone))

    def _swept(self, item: Item) -> Item:
        """The item with the box of all places it may take."""
        moving = self._moving(item, None)
        if not _moves(moving):
            return item
        low, high = self._swept_box(moving)
        return replace(item, body=replace(item.body, low=low, high=high))

    def _swept_box(self, moving: Moving) -> tuple[Array, Array]:
        """Low and high corner (3,) of all a body may take [mm]."""
        least, most = self._box
        if moving.own is None:
            ends = np.stack([moving.shift * least[:, None], moving.shift * most[:, None]])
            grown = 0.0 if moving.radius is None else float(np.maximum(moving.radius * most, 0.0).sum())
            low, high = ends.min(axis=0).sum(axis=1).min(axis=0), ends.max(axis=0).sum(axis=1).max(axis=0)
            return moving.body.low + low - grown, moving.body.high + high + grown
        low, high = swept_boxes(moving.cells(), least, most)
        return low.min(axis=0), high.max(axis=0)

    def _moving(self, item: Item, other: Item | None) -> Moving:
        """An item and what it follows; beside what it ends on a tube is held there."""
        placed = replace(item.body)
        if item.kind == "tube":
            return self._tube(item, placed, None if other is None else other.owner)
        moving = self._following(self._known[_mark(item)], placed)
        drawn = placed.solid2scene.origin - item.solid2scene.origin
        if other is None or not drawn.any():
            return moving
        return replace(moving, shift=moving.shift + self._drawn(item.owner, other.owner, drawn))

    def _drawn(self, owner: str, other: str, drawn: Array) -> Array:
        """What a body drawn off its partner by their engagement follows beside its own place."""
        for pair in ((owner, other), (other, owner)):
            if (slopes := self._found.engaged.get(pair)) is not None:
                return (slopes[:, None] * drawn / np.sqrt(drawn @ drawn))[None]
        return self._still

    def _tube(self, item: Item, placed: Body, other: str | None) -> Moving:
        tube = self._tubes[item.owner]
        ends = [self._found.mouths.get((tube.name, end), self._still[0]) for end in (0, 1)]
        own = [ends[end] for end in (0, 1) if other in tube.near[end] and other in item.near]
        shift = np.stack(own or ends)
        if len(shift) == 2 and np.abs(shift[0] - shift[1]).max(initial=0.0) < _STILL_MM:
            shift = shift[:1]
        radius = None
        if (n := self._outside.get(tube.tubing)) is not None:
            radius = np.where(np.arange(self._count) == n, 0.5, 0.0)
        return Moving(placed, shift, radius=radius)

    def _following(self, what: What, placed: Body) -> Moving:
        slopes = self._found.bodies.get(what)
        if slopes is None:
            return Moving(placed, self._still)
        own = None if slopes.corners is None and slopes.plate is None else slopes
        return Moving(placed, slopes.shift[None], own, box=self._box)


def _mark(item: Item) -> tuple[str, int, int]:
    """What stays the same of an item that is drawn off or given another box."""
    return item.owner, id(item.primitive), id(item.solid2scene)


def _moves(moving: Moving) -> bool:
    return not moving.rigid or bool(np.abs(moving.shift).max(initial=0.0) > _STILL_MM)


def _apart(pair: Pair) -> bool:
    """Whether any length moves the two against each other."""
    one, other = pair.first, pair.second
    if not (one.rigid and other.rigid):
        return True
    return bool(np.abs(one.shift - other.shift).max(initial=0.0) > _STILL_MM)
