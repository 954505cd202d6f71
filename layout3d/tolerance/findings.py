"""What is said of worst cases: beside what the rules find as it is written, or in its place."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from layout3d.checks.items import Item
from layout3d.checks.tubes import near_itself
from layout3d.checks.words import midpoint, name_of, where_of
from layout3d.findings import Finding
from layout3d.kernels.measure import CONTACT_MM, Measured, measure_pairs
from layout3d.layout import Layout
from layout3d.tolerance.misfit import Miss, misses
from layout3d.tolerance.pairs import Pair
from layout3d.tolerance.settling import settled_by, told_shares
from layout3d.tolerance.study import Study, study
from layout3d.tolerance.worst import WorstCase, worst_cases
from layout3d.words import mm, mm_pair
from shapes.pose import Array

_SPATIAL = ("overlap", "gap", "keep-out")


def with_worst_cases(findings: Sequence[Finding], looked: Study) -> tuple[Finding, ...]:
    """The findings of the layout as written, with what may go wrong within the tolerances.

    Of two findings about the same parts in the same matter the worse one stays.
    """
    kept: dict[tuple[bool, frozenset[str], str], Finding] = {}
    others: list[Finding] = []
    for finding in findings:
        if finding.rule not in _SPATIAL or kept.setdefault(_matter(finding), finding) is not finding:
            others.append(finding)
    for finding in _of_pairs(looked, kept):
        known = kept.get(_matter(finding))
        if known is None or _badness(finding) > _badness(known):
            kept[_matter(finding)] = finding
    grown = _grown_tubes(looked)
    return (
        *kept.values(),
        *grown,
        *others,
        *(_misfit(miss, looked) for miss in looked.misses if _fails(miss, looked)),
    )


def _matter(finding: Finding) -> tuple[bool, frozenset[str], str]:
    """What a finding is about: room between two, or a zone of the first of them."""
    zone = finding.rule == "keep-out"
    return zone, frozenset(finding.parts), finding.solids[0] if zone and finding.solids else ""


def _badness(finding: Finding) -> tuple[bool, float]:
    measured, required = finding.measured_mm or 0.0, finding.required_mm or 0.0
    return finding.rule == "overlap", -measured if finding.rule != "gap" else required - measured


def _of_pairs(looked: Study, known: dict[tuple[bool, frozenset[str], str], Finding]) -> Iterator[Finding]:
    """The worst of every two owners, or owner and zone."""
    failing = looked.failing
    if not failing:
        return
    bodies = [(looked.pairs[n].first.body, looked.pairs[n].second.body) for n in failing]
    nominal = measure_pairs(bodies, np.full(len(bodies), np.inf), stop_when_decided=False)
    worst: dict[tuple[bool, frozenset[str], str], tuple[Finding, int]] = {}
    for n, as_written in zip(failing, nominal, strict=True):
        finding = _told(looked.pairs[n], looked.worst[n], as_written, looked)
        matter = _matter(finding)
        if matter not in worst or _badness(finding) > _badness(worst[matter][0]):
            worst[matter] = finding, n
    for matter, (finding, n) in worst.items():
        before = known.get(matter)
        remedy = _settling(looked, n) if before is None else before.remedy
        yield replace(finding, remedy=remedy, move_mm=None if before is None else before.move_mm)


def _settling(looked: Study, n: int) -> str | None:
    """What to measure so that this pair and all others of the same owners are settled."""
    pair, worst = looked.pairs[n], looked.worst[n]
    mates = [other for other in looked.pairs if _who(other) == _who(pair)]
    required = np.array([mate.required for mate in mates])

    def holds(low: Array, high: Array) -> bool:
        rooms = np.array([case.room_mm for case in worst_cases(mates, low, high)])
        return bool((rooms >= required - CONTACT_MM).all())

    return settled_by(looked.unknowns, worst.shares, pair.required - worst.room_mm, holds)


def _who(pair: Pair) -> tuple[object, ...]:
    owners = frozenset(item.owner for item in pair.items)
    return owners, None if pair.room is None else (pair.room[0].name, pair.room[1].name)


def _told(pair: Pair, worst: WorstCase, as_written: Measured, looked: Study) -> Finding:
    layout, gap = looked.layout, as_written.gap_mm
    doubt = max(gap - worst.room_mm, 0.0)
    overlaps = worst.room_mm < -CONTACT_MM
    shares = told_shares(looked.unknowns, worst.shares)
    if gap >= -CONTACT_MM:
        written = f"gap {mm(max(gap, 0.0))} as written, of which {mm(doubt)} is measuring doubt ({shares})"
    else:
        written = f"overlap {mm(-gap)} as written, to which measuring doubt may add {mm(doubt)} ({shares})"
    last = pair.items[-1]
    if pair.room is not None:
        part, zone = pair.room
        rule, severity, parts, solids = (
            "keep-out",
            zone.severity,
            (part.name, last.owner),
            (zone.name, last.solid),
        )
        message = (
            f"{name_of(last)} may stand {mm(-worst.room_mm)} in the room for {part.name}'s {zone.name}: "
            f"{zone.reason}; {written}"
        )
    else:
        first, second = pair.items
        rule, severity = "overlap" if overlaps else "gap", "error"
        parts, solids = (first.owner, second.owner), (first.solid, second.solid)
        apart, wanted = mm_pair(max(worst.room_mm, 0.0), pair.required)
        may = (
            f"may overlap by up to {mm(-worst.room_mm)}"
            if overlaps
            else f"may be only {apart} apart, {wanted} wanted"
        )
        message = f"{name_of(first)} and {name_of(second)} {may}: {written}"
    return Finding(
        rule=rule,
        severity=severity,
        parts=parts,
        solids=solids,
        message=message,
        measured_mm=worst.room_mm,
        required_mm=pair.required,
        at_mm=midpoint(as_written),
        direction=worst.direction,
        depth_is="bound" if overlaps else None,
        doubt_mm=doubt,
        where=where_of(last.owner, layout),
    )


def _fails(miss: Miss, looked: Study) -> bool:
    return miss.most_mm > looked.layout.scene.rules.tube_play + CONTACT_MM


def _misfit(miss: Miss, looked: Study) -> Finding:
    layout, unknowns, tube = looked.layout, looked.unknowns, miss.tube
    scene, play = layout.scene, layout.scene.rules.tube_play

    def holds(low: Array, high: Array) -> bool:
        again = misses(replace(layout, tubes=(tube,)), looked.follows, low, high)
        return all(each.most_mm <= play + CONTACT_MM for each in again)

    measured, allowed = mm_pair(miss.most_mm, play)
    return Finding(
        rule="tube-misfit",
        severity="error",
        parts=(scene.tubes[tube.name].end.part, tube.name),
        message=(
            f"{tube.name}: cut and bent to what is written, its end may miss {tube.end} by {measured}, "
            f"{allowed} play (`rules: tube_play`), by measuring doubt ({told_shares(unknowns, miss.shares)})"
        ),
        measured_mm=miss.most_mm,
        required_mm=play,
        direction=miss.direction,
        doubt_mm=miss.most_mm - miss.nominal_mm,
        remedy=settled_by(unknowns, miss.shares, miss.most_mm - play, holds)
        or "measure closer before this tube is cut, or cut it last, to the parts as they stand",
        where=scene.where("tubes", tube.name, "path"),
    )


def _grown_tubes(looked: Study) -> Iterator[Finding]:
    """Tubes that come too near themselves once they are as thick as they may be."""
    unknowns, layout = looked.unknowns, looked.layout
    for n, key in enumerate(unknowns.keys):
        if key[0] != "tubings" or key[2] != "outside":
            continue
        for tube in layout.tubes:
            if tube.tubing != key[1] or tube.run is None or near_itself(layout, tube) is not None:
                continue
            thick = replace(tube, run=replace(tube.run, outside=tube.run.outside + float(unknowns.high[n])))
            if (found := near_itself(layout, thick)) is not None:
                grown = mm(float(unknowns.high[n]))
                yield replace(
                    found,
                    message=f"{found.message}, where its outside is {grown} more ({unknowns.name(n)})",
                    doubt_mm=float(unknowns.high[n]),
                )


def worst_findings(findings: Sequence[Finding], layout: Layout, items: Sequence[Item]) -> tuple[Finding, ...]:
    """The findings of a layout as written, with what may go wrong within its scene's tolerances."""
    looked = study(layout, items)
    return tuple(findings) if looked is None else with_worst_cases(findings, looked)
