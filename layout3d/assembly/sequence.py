"""The order of assembly: a layout taken apart step by step, and read backwards.

Taking something away never puts anything in another's way, so whoever can come off now may as well
come off now: if a layout can be taken apart by such moves at all, this finds how, and what is left
over cannot be.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from layout3d.assembly.units import CASE_WAYS, Kind, Kit, Unit, kit_of
from layout3d.assembly.ways import STAYS, Leg, Units, Ways
from layout3d.layout import Layout
from shapes.pose import Vec3

#: How far what is plugged in is drawn off beyond its engagement before it turns [mm].
_FURTHER_MM = (0.0, 4.0, 8.0, 16.0, 32.0, 64.0)
_RANK: dict[Kind, int] = {"panel": 0, "tube": 1, "fitting": 2, "part": 3}


@dataclass(frozen=True, slots=True)
class Step:
    """One step: ``names`` go together. ``legs`` are those of taking off; putting in runs them backwards."""

    names: tuple[str, ...]
    kind: Kind
    legs: tuple[Leg, ...]


@dataclass(frozen=True, slots=True)
class Stuck:
    """A unit that cannot get in or out, and who of the others is in its way along each straight line."""

    name: str
    blocked_by: tuple[tuple[Vec3, tuple[str, ...]], ...]


@dataclass(frozen=True, slots=True)
class Assembly:
    """``steps`` in the order of putting in.

    stuck : units that block each other; waiting : those that cannot go in before them
    """

    stays: str | None
    steps: tuple[Step, ...]
    stuck: tuple[Stuck, ...]
    waiting: tuple[str, ...]


def assembly_of(layout: Layout) -> Assembly:
    """The order in which everything of a layout can be put in, as far as there is one."""
    kit = kit_of(layout)
    taking = _Taking(kit)
    steps = taking.run(frozenset(range(len(kit.units))))
    steps.reverse()
    left = taking.left
    knot = taking.knot()
    waiting = tuple(kit.units[n].name for n in sorted(left - knot))
    return Assembly(kit.stays, tuple(steps), tuple(taking.told(n, knot) for n in sorted(knot)), waiting)


class _Taking:
    """Taking apart, with all that was found on the way kept for the next step."""

    def __init__(self, kit: Kit) -> None:
        self.kit, self.ways = kit, Ways(kit)
        self.known: dict[tuple[Units, Vec3], Units] = {}
        self.left: Units = frozenset()
        order = [(_RANK[unit.kind], -unit.depth, -n, n) for n, unit in enumerate(kit.units)]
        self.order = [n for *_, n in sorted(order)]

    def run(self, present: Units, bent: bool = True) -> list[Step]:
        """Take off all that comes off, with ``bent`` also along two lines; what stays behind is ``left``."""
        steps: list[Step] = []
        while (step := self._next(present, bent)) is not None:
            group, legs = step
            steps.append(self._step(group, legs))
            present -= group
        self.left = present
        return steps

    def _next(self, present: Units, bent: bool) -> tuple[Units, tuple[Leg, ...]] | None:
        singles = [frozenset({n}) for n in self.order if n in present]
        groups = list(self._groups(present))
        rounds = [
            (singles, self._straight),
            (groups, self._straight),
            *([(singles, self._bent)] if bent else []),
        ]
        for tried, legs_of in rounds:
            for group in tried:
                if (legs := legs_of(group, present)) is not None:
                    return group, legs
        return None

    def _groups(self, present: Units) -> Iterator[Units]:
        """A unit with all that is fixed to it, smallest first."""
        numbers = {unit.name: n for n, unit in enumerate(self.kit.units) if unit.kind != "panel"}
        found = set()
        for n in sorted(present):
            guests = {numbers[name] for name in self.kit.guests(self.kit.units[n].name) if name in numbers}
            group = frozenset(guests) & present
            if len(group) > 1:
                found.add(group)
        return iter(sorted(found, key=lambda group: (len(group), sorted(group))))

    def _straight(self, group: Units, present: Units) -> tuple[Leg, ...] | None:
        """One straight line, or what is screwed in drawn off first and then away along one."""
        there, unit = (present | {STAYS}) - group, self._unit(group)
        if unit.drawn is None or len(group) > 1:
            ways = (way for way in unit.ways if not self._blockers(group, way) & there)
            return next(((Leg(way),) for way in ways), None)
        first = Leg(*unit.drawn)
        if not self._blockers(group, first.way) & there:
            return (Leg(first.way),)
        if not self.ways.free(group, first, there):
            return None
        return self._onward(group, (first,), unit.ways, there)

    def _bent(self, group: Units, present: Units) -> tuple[Leg, ...] | None:
        """A leg of some length, then another straight line; what is screwed in is drawn off before."""
        there, unit = (present | {STAYS}) - group, self._unit(group)
        for drawn in self._drawn_off(group, unit, there):
            for way in unit.ways:
                for far in self.ways.first_legs(group, way, there):
                    legs = (*drawn, Leg(way, far))
                    if not self.ways.free(group, legs[-1], there, drawn):
                        break
                    if (found := self._onward(group, legs, CASE_WAYS, there)) is not None:
                        return found
        return None

    def _drawn_off(self, group: Units, unit: Unit, there: Units) -> Iterator[tuple[Leg, ...]]:
        """What comes before the first turn: nothing, or what is plugged in drawn off, then further."""
        if unit.drawn is None or len(group) > 1:
            yield ()
            return
        way, engagement = unit.drawn
        for further in _FURTHER_MM:
            first = Leg(way, engagement + further)
            if not self.ways.free(group, first, there):
                return
            yield (first,)

    def _onward(
        self, group: Units, legs: tuple[Leg, ...], ways: tuple[Vec3, ...], there: Units
    ) -> tuple[Leg, ...] | None:
        free = (way for way in ways if self.ways.free(group, Leg(way), there, legs))
        return next(((*legs, Leg(way)) for way in free), None)

    def _blockers(self, group: Units, way: Vec3) -> Units:
        if (group, way) not in self.known:
            self.known[group, way] = self.ways.blockers(group, way)
        return self.known[group, way]

    def _unit(self, group: Units) -> Unit:
        """The unit that the others of a group are fixed to."""
        return min((self.kit.units[n] for n in group), key=lambda unit: unit.depth)

    def _step(self, group: Units, legs: tuple[Leg, ...]) -> Step:
        units = sorted((self.kit.units[n] for n in group), key=lambda unit: unit.depth)
        return Step(tuple(unit.name for unit in units), units[0].kind, legs)

    def knot(self) -> Units:
        """Of what is left, units that block each other: leave one out, and straight lines lead out."""
        left = self.left
        for n in sorted(left):
            if n in left and len(left) > 1:
                self.run(left - {n}, bent=False)
                left = self.left or left
        return left

    def told(self, n: int, left: Units) -> Stuck:
        """Who of those left is in the way of one of them."""
        unit = self.kit.units[n]
        blocked = []
        for way in unit.ways:
            there = self._blockers(frozenset({n}), way) & (left | {STAYS})
            blocked.append((way, tuple(self._name(m) for m in sorted(there))))
        return Stuck(unit.name, tuple(blocked))

    def _name(self, number: int) -> str:
        return (self.kit.stays or "") if number == STAYS else self.kit.units[number].name
