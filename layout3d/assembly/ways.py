"""What stands in the way of units that are drawn off along a straight line."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TypeAlias

import numpy as np

from layout3d.assembly.units import Kit
from layout3d.kernels.pieces import Bools, Ints, Pieces, joined
from layout3d.kernels.sweep import passes
from layout3d.layout import Joint
from shapes.pose import Array, Vec3

Units: TypeAlias = frozenset[int]
#: What never moves counts as a unit of this number.
STAYS = -1
_CONTACT_MM = 1e-6
#: Pairs looked at in one go; few at first, as the first one in the way may decide.
_FIRST_BATCH, _BATCH = 300, 4000
_ALIGNED = 1.0 - 1e-9


@dataclass(frozen=True, slots=True)
class Leg:
    """One straight stretch on the way off: unit direction, and how far [mm].

    ``far`` is None for the stretch that leads out of everything's reach.
    """

    way: Vec3
    far: float | None = None

    @property
    def travel(self) -> Array:
        """The stretch as a vector (3,) [mm]; of one without an end, none."""
        return np.asarray(self.way) * (self.far or 0.0)


@dataclass(frozen=True, eq=False)
class Ways:
    """The pieces of a kit in one table, and who is in whose way."""

    kit: Kit

    @cached_property
    def table(self) -> tuple[Pieces, Ints]:
        """All pieces, and the unit each belongs to."""
        parts = [unit.pieces for unit in self.kit.units]
        owners = [np.full(len(unit.pieces), n) for n, unit in enumerate(self.kit.units)]
        if self.kit.fixed is not None:
            parts.append(self.kit.fixed)
            owners.append(np.full(len(self.kit.fixed), STAYS))
        return joined(parts), np.concatenate(owners)

    @cached_property
    def boxes(self) -> tuple[Array, Array]:
        """Low and high corner (N, 3) of every piece [mm]."""
        pieces, _ = self.table
        return _boxes(pieces)

    def blockers(self, group: Units, way: Vec3) -> Units:
        """Numbers of the units that may be in the way of a group drawn off together, to out of all reach.

        Whoever is not named is surely passed without overlap. Where a joint engages, the two are
        first drawn apart by it: only along its axis.
        """
        _, owners = self.table
        blocking: set[int] = set()
        for blocked in self._blocked(group, Leg(way), (), frozenset(np.unique(owners).tolist())):
            blocking |= blocked
        return frozenset(blocking)

    def free(self, group: Units, leg: Leg, there: Units, before: Sequence[Leg] = ()) -> bool:
        """Whether a group can be drawn off along a leg past those ``there``, after the legs ``before``."""
        return not any(self._blocked(group, leg, before, there))

    def _blocked(self, group: Units, leg: Leg, before: Sequence[Leg], there: Units) -> Iterator[set[int]]:
        """Who of ``there`` is in the way, found batch by batch."""
        pieces, owners = self.table
        low, high = self.boxes
        rows = np.flatnonzero(np.isin(owners, sorted(group)))
        others = np.flatnonzero(np.isin(owners, sorted(there - group)))
        shift = np.sum([np.zeros(3), *(done.travel for done in before)], axis=0)
        far = self._out_of_reach(rows, leg.way, shift) if leg.far is None else leg.far
        travel = np.asarray(leg.way) * far
        swept_low = low[rows] + shift + np.minimum(travel, 0.0)
        swept_high = high[rows] + shift + np.maximum(travel, 0.0)
        ahead = swept_low[:, None] < high[others] - _CONTACT_MM
        behind = low[others] < swept_high[:, None] - _CONTACT_MM
        meet: Bools = np.logical_and.reduce(ahead & behind, axis=2)
        if not before:
            meet, blocking = self._drawn_apart(group, leg.way, rows, others, meet, travel)
            yield blocking & there
        i, j = np.nonzero(meet)
        begin, batch = 0, _FIRST_BATCH
        while begin < len(i):
            one, other = rows[i[begin : begin + batch]], others[j[begin : begin + batch]]
            each = np.broadcast_to(travel, (len(one), 3))
            free = passes(pieces.take(one).shifted(shift), pieces.take(other), each)
            yield set(owners[other[~free]].tolist())
            begin, batch = begin + batch, _BATCH

    def first_legs(self, group: Units, way: Vec3, there: Units) -> tuple[float, ...]:
        """How far a group may usefully be moved before it turns: past the end of somebody's box [mm].

        Ascending, those nearer to each other than 2 mm taken as one.
        """
        _, owners = self.table
        low, high = self.boxes
        along = np.asarray(way)
        ends = np.maximum(low * along, high * along).sum(axis=1)
        behind = float(
            np.minimum(low * along, high * along).sum(axis=1)[np.isin(owners, sorted(group))].min()
        )
        ahead = ends[np.isin(owners, sorted(there - group))] - behind
        legs: list[float] = []
        for far in np.sort(ahead[ahead > 1.0]).tolist():
            if not legs or far > legs[-1] + 2.0:
                legs.append(far + 0.5)
        return tuple(legs)

    def _out_of_reach(self, rows: Ints, way: Vec3, shift: Array) -> float:
        """How far these pieces must go until the last of them has passed all others [mm]."""
        low, high = self.boxes
        along = np.asarray(way)
        ahead = np.maximum(low * along, high * along).sum(axis=1).max()
        behind = (np.minimum(low[rows] * along, high[rows] * along).sum(axis=1)).min() + shift @ along
        return float(max(ahead - behind, 0.0)) + 1.0

    def _drawn_apart(
        self, group: Units, way: Vec3, rows: Ints, others: Ints, meet: Bools, travel: Array
    ) -> tuple[Bools, set[int]]:
        """Pairs of engaging joints are asked here, drawn apart; the rest of ``meet`` stays to be asked."""
        _, owners = self.table
        blocking: set[int] = set()
        for joint in self.kit.joints.values():
            numbers = [self._number(joint.first), self._number(joint.second)]
            inside = [number in group for number in numbers]
            if None in numbers or inside[0] == inside[1]:
                continue
            moving, staying = (numbers[1], numbers[0]) if inside[1] else (numbers[0], numbers[1])
            of_moving, of_staying = owners[rows] == moving, owners[others] == staying
            meet = meet & ~(of_moving[:, None] & of_staying)
            if not self._comes_off(joint, way, inside[1], rows[of_moving], others[of_staying], travel):
                blocking.add(int(staying))  # type: ignore[arg-type]
        return meet, blocking

    def _comes_off(
        self, joint: Joint, way: Vec3, second_moves: bool, rows: Ints, others: Ints, travel: Array
    ) -> bool:
        axis = np.asarray(joint.axis) * (1.0 if second_moves else -1.0)
        if float(np.dot(axis, way)) < _ALIGNED:
            return False
        pieces, _ = self.table
        moving = pieces.take(rows)
        drawn = [moving.shifted(joint.engagement * axis)]
        if second_moves:
            stays_out = (
                -moving.height_along(np.broadcast_to(-axis, (len(rows), 3))) >= joint.face - _CONTACT_MM
            )
            drawn.append(moving.take(stays_out))
        both = joined(drawn)
        i, j = np.repeat(np.arange(len(both)), len(others)), np.tile(others, len(both))
        return bool(passes(both.take(i), pieces.take(j), np.broadcast_to(travel, (len(i), 3))).all())

    def _number(self, owner: str) -> int | None:
        for number, unit in enumerate(self.kit.units):
            if unit.owner == owner and unit.kind != "panel":
                return number
        return STAYS if owner == self.kit.stays else None


def _boxes(pieces: Pieces) -> tuple[Array, Array]:
    axes = np.broadcast_to(np.concatenate([np.eye(3), -np.eye(3)]), (len(pieces), 6, 3))
    reach = pieces.height(axes)
    return -reach[:, 3:], reach[:, :3]
