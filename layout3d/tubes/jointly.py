"""Rigid tubes found together: the cheapest total, whatever order they are written in.

Each tube's cheapest run alone gives a bound nothing can beat. Where two runs come too near to each
other one of them gives way to the other, both ways round tried, best first; every run met on the way
goes into a pool, and the cheapest choice from it that keeps all gaps is taken.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from itertools import combinations
from typing import TypeAlias

from layout3d.findings import Finding
from layout3d.layout import Tube
from layout3d.words import mm
from shapes.pose import Vec3

#: Lays one tube clear of all parts, of the tubes whose paths are given, and of these.
Lay: TypeAlias = Callable[[str, tuple[Tube, ...]], Tube]
#: Whether two laid tubes keep their gap.
Apart: TypeAlias = Callable[[Tube, Tube], bool]
#: (a, b): a gives way to b.
_Yields: TypeAlias = frozenset[tuple[str, str]]
_Key: TypeAlias = tuple[str, tuple[Vec3, ...] | None]

_MOST_NODES = 120
_MOST_CHOICES = 20_000


def found_jointly(names: Iterable[str], lay: Lay, apart: Apart) -> dict[str, Tube]:
    """The tubes by name, laid so that their total cost is the least that was found.

    A tube that has no run even alone is left out of the rest, with its finding. Where not all can be
    laid together, as many as can be are, and the findings of the others name the tubes they conflict with.
    """
    team = _Team(lay, apart)
    alone = {name: team.laid(name, ()) for name in sorted(names)}
    routable = tuple(name for name, tube in alone.items() if tube.run is not None)
    team.explore(routable)
    chosen = team.cheapest(routable) or team.repaired(routable) or team.as_many(routable)
    return {name: _told(chosen.get(name, tube), tube, chosen) for name, tube in alone.items()}


@dataclass
class _Team:
    """What is known of the tubes so far: ``pool`` holds each one's runs, the cheapest first."""

    lay: Lay
    apart: Apart
    pool: dict[str, list[Tube]] = field(default_factory=dict)
    _laid: dict[tuple[str, tuple[_Key, ...]], Tube] = field(default_factory=dict)
    _apart: dict[tuple[_Key, _Key], bool] = field(default_factory=dict)

    def laid(self, name: str, others: tuple[Tube, ...]) -> Tube:
        """The tube's cheapest run that keeps clear of these others."""
        key = name, tuple(map(_key, others))
        if key not in self._laid:
            free = next((tube for tube in self.pool.get(name, ())[:1] if self.clear(tube, others)), None)
            tube = self._laid[key] = free or self.lay(name, others)
            pool = self.pool.setdefault(name, [])
            if tube.run is not None and all(tube.corners != known.corners for known in pool):
                pool.append(tube)
                pool.sort(key=_cost)
        return self._laid[key]

    def clear(self, tube: Tube, others: Iterable[Tube]) -> bool:
        """Whether a tube keeps its gap to each of these."""
        return all(self._keeps(tube, other) for other in others)

    def _keeps(self, one: Tube, other: Tube) -> bool:
        first, second = sorted((one, other), key=lambda tube: tube.name)
        key = _key(first), _key(second)
        if key not in self._apart:
            self._apart[key] = self.apart(first, second)
        return self._apart[key]

    def explore(self, names: tuple[str, ...]) -> None:
        """Fill the pool: one of two runs too near to each other gives way, each in its turn."""
        queue: list[tuple[float, int, _Yields]] = [(0.0, 0, frozenset())]
        seen: set[_Yields] = {frozenset()}
        for serial in range(1, _MOST_NODES):
            if not queue:
                return
            _, _, yields = heapq.heappop(queue)
            laid = self._following(names, yields)
            met = None if laid is None else self._first_conflict(laid)
            if laid is None or met is None:
                continue
            for pair in (met, met[::-1]):
                more = yields | {pair}
                if more not in seen and _order(names, more) is not None:
                    seen.add(more)
                    heapq.heappush(queue, (sum(map(_cost, laid.values())), 2 * serial + (pair == met), more))

    def _following(self, names: tuple[str, ...], yields: _Yields) -> dict[str, Tube] | None:
        laid: dict[str, Tube] = {}
        for name in _order(names, yields) or ():
            others = tuple(laid[other] for other in sorted(laid) if (name, other) in yields)
            laid[name] = self.laid(name, others)
            if laid[name].run is None:
                return None
        return laid

    def _first_conflict(self, laid: Mapping[str, Tube]) -> tuple[str, str] | None:
        pairs = combinations(sorted(laid), 2)
        return next((pair for pair in pairs if not self._keeps(laid[pair[0]], laid[pair[1]])), None)

    def cheapest(self, names: tuple[str, ...]) -> dict[str, Tube] | None:
        """The cheapest choice of one run each from the pool that keeps all gaps, None for none."""
        rest = [0.0]
        for name in reversed(names):
            rest.append(rest[-1] + _cost(self.pool[name][0]))
        best: tuple[float, tuple[Tube, ...]] | None = None
        stack: list[tuple[float, tuple[Tube, ...]]] = [(0.0, ())]
        for _ in range(_MOST_CHOICES):
            if not stack:
                break
            cost, chosen = stack.pop()
            if best is not None and cost + rest[len(names) - len(chosen)] >= best[0] - 1e-9:
                continue
            if len(chosen) == len(names):
                best = cost, chosen
                continue
            for tube in reversed(self.pool[names[len(chosen)]]):
                if self.clear(tube, chosen):
                    stack.append((cost + _cost(tube), (*chosen, tube)))
        return None if best is None else dict(zip(names, best[1], strict=True))

    def repaired(self, names: tuple[str, ...]) -> dict[str, Tube] | None:
        """All tubes one after the other, again with one that found no way put first; None if none works."""
        order = list(names)
        for _ in range(2 * len(names)):
            laid: dict[str, Tube] = {}
            for name in order:
                laid[name] = self.laid(name, tuple(laid[other] for other in sorted(laid)))
                if laid[name].run is None:
                    order.remove(name)
                    order.insert(0, name)
                    break
            else:
                return self.cheapest(names) or laid
        return None

    def as_many(self, names: tuple[str, ...]) -> dict[str, Tube]:
        """Where not all go together: one after the other, those in the fewest conflicts first."""
        firsts = [self.pool[name][0] for name in names]
        conflicts = {a.name: sum(a is not b and not self._keeps(a, b) for b in firsts) for a in firsts}
        laid: dict[str, Tube] = {}
        for name in sorted(names, key=lambda name: (conflicts[name], name)):
            others = tuple(tube for _, tube in sorted(laid.items()) if tube.run is not None)
            laid[name] = self.laid(name, others)
        return laid


def _order(names: tuple[str, ...], yields: _Yields) -> list[str] | None:
    """The tubes, each after those it gives way to; None where they would give way in a ring."""
    order: list[str] = []
    while len(order) < len(names):
        ready = (
            name for name in names if name not in order and all(b in order for a, b in yields if a == name)
        )
        following = next(ready, None)
        if following is None:
            return None
        order.append(following)
    return order


def _key(tube: Tube) -> _Key:
    return tube.name, tube.corners


def _cost(tube: Tube) -> float:
    search = tube.search
    return math.inf if search is None or search.cost_mm is None else search.cost_mm


def _told(tube: Tube, alone: Tube, chosen: Mapping[str, Tube]) -> Tube:
    """The tube with what is true of it among the others: its bound is that of its run alone."""
    if tube.run is not None and (tube.search is None or tube.corners == alone.corners):
        return alone
    if tube.search is None or alone.search is None or alone.run is None:
        return tube
    others = [name for name, other in chosen.items() if other.run is not None and name != tube.name]
    if tube.run is None:
        findings = tuple(_with_conflicts(finding, alone, others) for finding in tube.findings)
        return replace(tube, findings=findings)
    words = f"{tube.search.searched}; laid jointly with {_listed(others)}, the bound that of its run alone"
    return replace(
        tube, search=replace(tube.search, searched=words, bound_mm=alone.search.bound_mm, proved=False)
    )


def _with_conflicts(finding: Finding, alone: Tube, others: list[str]) -> Finding:
    if finding.rule != "no-path":
        return finding
    message = (
        f"{finding.message}. Alone it has a run of cost {mm(_cost(alone))}, but not beside {_listed(others)}"
    )
    remedy = (
        finding.remedy or f"let {_listed(others, 'or')} use other ports, or allow more bends or a smaller gap"
    )
    return replace(
        finding, message=message, parts=tuple(dict.fromkeys((*finding.parts, *others))), remedy=remedy
    )


def _listed(names: list[str], word: str = "and") -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} {word} {names[-1]}"
