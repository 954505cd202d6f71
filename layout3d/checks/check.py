"""All rules over one layout, in the order they are reported."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from layout3d.checks.clearance import clearance
from layout3d.checks.crossings import crossings
from layout3d.checks.items import Item, items_of
from layout3d.checks.metals import metal_findings
from layout3d.checks.ports import port_findings
from layout3d.checks.stacks import with_stack_advice
from layout3d.checks.surfaces import surface_findings
from layout3d.checks.tubes import tube_findings
from layout3d.checks.zones import zone_findings
from layout3d.findings import SEVERITIES, Finding
from layout3d.layout import Layout


@dataclass(frozen=True, slots=True)
class Checked:
    """The verdict's grounds: findings in report order, and what was measured."""

    findings: tuple[Finding, ...]
    parts: int
    solids: int
    pairs_near: int
    pairs_measured: int

    @property
    def is_clear(self) -> bool:
        """No error stands."""
        return all(finding.severity != "error" for finding in self.findings)


def check(layout: Layout) -> Checked:
    """Every rule, every pair."""
    items = items_of(layout)
    measured = clearance(layout, items)
    spatial = with_stack_advice((*measured.findings, *zone_findings(layout, items)), layout, items)
    spatial = (*spatial, *_access(layout, items))
    of_ports = (*port_findings(layout), *surface_findings(layout), *metal_findings(layout))
    findings = (*spatial, *tube_findings(layout), *_loads(layout), *crossings(layout), *of_ports)
    if layout.scene.tolerances is not None:
        # Few scenes state tolerances: others start without what looks into them.
        from layout3d.tolerance.findings import worst_findings

        findings = worst_findings(findings, layout, items)
    return Checked(
        findings=ordered(one_a_pair(findings), layout),
        parts=len(layout.parts),
        solids=_solids(items),
        pairs_near=measured.pairs_near,
        pairs_measured=measured.pairs_measured,
    )


def _access(layout: Layout, items: Sequence[Item]) -> Iterator[Finding]:
    parts = [placed.part for placed in layout.parts.values()]
    if any(part.grips for part in parts):
        from layout3d.checks.access import access_findings

        yield from access_findings(layout, items)
    if any(part.removals or part.pulled for part in parts):
        from layout3d.checks.pulling import pull_findings

        yield from pull_findings(layout, items)


def _loads(layout: Layout) -> Iterable[Finding]:
    if all(tube.loads is None for tube in layout.tubes):
        return ()
    # Only hoses load their ports; rigid builds, the usual ones, start without.
    from layout3d.checks.loads import load_findings

    return load_findings(layout)


def one_a_pair(findings: Iterable[Finding]) -> list[Finding]:
    """One finding for each rule and set of parts: the worst, with what the others said added to it."""
    kept: dict[tuple[str, frozenset[str]], list[Finding]] = {}
    for finding in findings:
        kept.setdefault((finding.rule, frozenset(finding.parts)), []).append(finding)
    return [_worst_of(alike) for alike in kept.values()]


def _worst_of(alike: Sequence[Finding]) -> Finding:
    worst, *others = sorted(alike, key=lambda f: (SEVERITIES.index(f.severity), -_shortfall(f)))
    said = [other.message for other in others if other.message != worst.message]
    return replace(worst, message="; and ".join((worst.message, *said))) if said else worst


def _shortfall(finding: Finding) -> float:
    if finding.measured_mm is None or finding.required_mm is None:
        return 0.0
    return abs(finding.required_mm - finding.measured_mm)


def ordered(findings: Iterable[Finding], layout: Layout) -> tuple[Finding, ...]:
    """By severity, rule, then parts in scene order, tubes last."""
    names = (*layout.parts, *layout.scene.tubes)
    place = {name: index for index, name in enumerate(names)}

    def key(finding: Finding) -> tuple[int, str, tuple[int, ...]]:
        return (
            SEVERITIES.index(finding.severity),
            finding.rule,
            tuple(place[name] for name in finding.parts),
        )

    return tuple(sorted(findings, key=key))


def _solids(items: Sequence[Item]) -> int:
    """How many solids were measured; a tube counts once however it was cut up."""
    return len({(item.owner, index if item.kind != "tube" else -1) for index, item in enumerate(items)})
