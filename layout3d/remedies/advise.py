"""Findings of a check told what would mend them: the least change found, tried and confirmed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from layout3d.checks.check import Checked
from layout3d.findings import Finding
from layout3d.fit.movers import placed_by
from layout3d.fit.variants import group_of
from layout3d.kernels.measure import CONTACT_MM
from layout3d.layout import Layout
from layout3d.remedies.change import Change, Effort
from layout3d.remedies.otherwise import other_ways
from layout3d.remedies.sliding import LONGEST_MM, Sliding, hosts_up
from layout3d.remedies.trial import Fault, Mended, Trials, fault_of, room_left
from layout3d.remedies.tubing import fitting_changes, path_changes
from layout3d.words import counted, mm

#: Changes that are tried where nobody asks for all: a check stays quick while a scene is edited.
QUICK_TRIES = 24
#: Of these so many may find tubes anew.
_QUICK_SEARCHES = 2
_RULES = ("overlap", "gap", "keep-out")


def advised(layout: Layout, checked: Checked, most: int | None = QUICK_TRIES) -> Checked:
    """The same findings, each error in space told the least change of one thing that mends it.

    most : how many changes are built and checked at most; None for all
    """
    errors = [each for each in checked.findings if each.severity == "error" and _stands_as_written(each)]
    if not errors:
        return checked
    told = _Search(layout, checked, errors, most).remedies()
    findings = (
        replace(each, remedy=told[fault_of(each)]) if each in errors else each for each in checked.findings
    )
    return replace(checked, findings=tuple(findings))


def _stands_as_written(finding: Finding) -> bool:
    """Whether a change could mend it: what only measuring doubt brings about is told what to measure."""
    if finding.rule not in _RULES or finding.doubt_mm is None:
        return finding.rule in _RULES
    assert finding.measured_mm is not None
    assert finding.required_mm is not None
    return finding.measured_mm + finding.doubt_mm < finding.required_mm - CONTACT_MM


@dataclass(frozen=True, slots=True)
class _Tried:
    """What was tried for one finding: how many of how many changes, and the best that mends it."""

    made: int
    of: int
    best: Mended | None


class _Search:
    def __init__(self, layout: Layout, checked: Checked, errors: list[Finding], most: int | None) -> None:
        self._layout, self._errors, self._most = layout, errors, most
        self._sliding = Sliding(layout, quick=most is not None)
        self._trials = Trials(layout, checked.findings, None if most is None else _QUICK_SEARCHES)
        self._bad = frozenset(frozenset(each.parts) for each in errors)

    def remedies(self) -> dict[Fault, str | None]:
        """By error what is said of it, the worst of each first."""
        told: dict[Fault, str | None] = {}
        for finding in self._errors:
            fault = fault_of(finding)
            if fault in told:
                continue
            tried = self._tried(finding, told)
            if tried.best is None:
                told[fault] = _nothing(finding, tried, self._layout.scene.file, self._share() == 0)
                continue
            ends = tried.best.ends
            others = [
                fault_of(each) for each in self._errors if fault_of(each) in ends - told.keys() - {fault}
            ]
            told[fault] = _mending(finding, tried.best, 1 + len(others))
            by = f"the {finding.rule} of {' and '.join(finding.parts)}"
            told |= dict.fromkeys(others, f"mended too by what mends {by}")
        return told

    def _tried(self, finding: Finding, told: dict[Fault, str | None]) -> _Tried:
        """Changes until one mends this finding and all others it could, or none is left.

        Those first that concern most errors; of those that mend the most the cheapest is taken.
        """
        share = self._share()
        if share == 0:
            return _Tried(0, 0, None)
        changes = sorted(self._changes(finding), key=lambda change: (-self._promise(change), change.cost))
        fault = fault_of(finding)
        wanted = {
            fault_of(each)
            for each in self._errors
            if set(each.parts) & set(finding.parts) and fault_of(each) not in told
        }
        best: Mended | None = None
        made = 0
        for change in changes[:share]:
            if not self._trials.affords(change):
                continue
            made += 1
            mended = self._trials.attempt(change, fault)
            if mended is None:
                continue
            if best is None or self._rank(mended, wanted) < self._rank(best, wanted):
                best = mended
            if wanted <= best.ends:
                break
        return _Tried(made, len(changes), best)

    @staticmethod
    def _rank(mended: Mended, wanted: set[Fault]) -> tuple[int, tuple[int, float]]:
        return -len(mended.ends & wanted), mended.change.cost

    def _promise(self, change: Change) -> int:
        """How many errors concern what a change moves."""
        scene = self._layout.scene
        if change.about not in scene.parts:
            return sum(change.about in parts for parts in self._bad)
        moved = placed_by(scene, group_of(scene, change.about))
        return sum(1 <= len(parts & moved) < len(parts) for parts in self._bad)

    def _share(self) -> int | None:
        """How many changes one finding may have tried: three quarters of what is left."""
        return None if self._most is None else -(-3 * (self._most - self._trials.made) // 4)

    def _changes(self, finding: Finding) -> Iterator[Change]:
        scene = self._layout.scene
        seen: set[str] = set()
        reach = [LONGEST_MM]
        for name in reversed(finding.parts):
            if name in scene.tubes:
                yield from fitting_changes(scene, name, (0, 1))
                yield from path_changes(scene, name, finding)
                continue
            root = name
            if name not in scene.parts:
                tube = self._layout.parts[name].tube
                assert tube is not None
                end = 0 if name.startswith(f"{tube}.from_fitting") else 1
                yield from fitting_changes(scene, tube, (end,))
                spec = scene.tubes[tube]
                root = (spec.start, spec.end)[end].part
            for each in hosts_up(scene, root):
                if each not in seen:
                    seen.add(each)
                    yield from self._of_part(each, finding, reach)

    def _of_part(self, name: str, finding: Finding, reach: list[float]) -> Iterator[Change]:
        scene = self._layout.scene
        for change in self._sliding.changes(name, finding, self._bad, reach[0]):
            yield change
            if self._most is not None:
                reach[0] = min(reach[0], change.amount)
        stack = scene.stack_of(name)
        layers = (
            ((name,),) if stack is None else ((name,), *(each for each in stack.layers if name not in each))
        )
        for layer in layers:
            yield from other_ways(scene, layer[0])


def _mending(finding: Finding, mended: Mended, count: int) -> str:
    words = mended.change.told()
    room = room_left(mended.layout, *finding.parts) if finding.rule != "keep-out" else None
    if room is not None:
        words += f": then {mm(room)} stay free"
    if count > 1:
        words += f"; mends {count} findings"
    if mended.change.effort is Effort.OTHER_SIZE and finding.remedy is not None:
        words += f"; {finding.remedy}"
    return words


def _nothing(finding: Finding, tried: _Tried, file: str, most_tried: bool) -> str:
    """That nothing mends it, or what was not tried; with what the checks themselves advise."""
    if tried.of == 0 and most_tried:
        words = f"not tried, other findings come first: `layout3d check {file} --remedies` tries all changes"
    elif tried.made < tried.of:
        words = (
            f"tried {tried.made} of {counted(tried.of, 'change')}, none mends this; "
            f"`layout3d check {file} --remedies` tries all"
        )
    else:
        words = f"no legal move of one part mends this ({counted(tried.of, 'change')} tried)"
    return words if finding.remedy is None else f"{words}; {finding.remedy}"
