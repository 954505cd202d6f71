"""Stacks on a fan mount (radiator, fans, grilles): how thick one may be before it fouls."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from layout3d.checks.items import Gaps, Item
from layout3d.checks.moves import Wanted, least_move
from layout3d.findings import SEVERITIES, Finding
from layout3d.kernels.bodies import Body, body
from layout3d.kernels.measure import CONTACT_MM
from layout3d.layout import Layout
from layout3d.scene.values import split_reference
from layout3d.words import mm
from shapes.bounds import part_span
from shapes.pose import Array, compose


@dataclass(frozen=True, slots=True, eq=False)
class Stack:
    """Parts fixed one on another from a mount of the case.

    inward : unit vector out of the mounting face, into the case
    thickness : from the mounting face to the far side of the last part [mm]
    """

    mount: str
    members: tuple[str, ...]
    inward: Array
    thickness: float

    @property
    def host(self) -> str:
        """The part its mount is on."""
        return split_reference(self.mount)[0]


def with_stack_advice(
    findings: Iterable[Finding], layout: Layout, items: Sequence[Item]
) -> Iterable[Finding]:
    """Findings in which a stack meets something outside it, told what thickness would fit.

    Of each stack one finding says it in full, the worst of the rule reported first; the others point
    to it.
    """
    told: dict[str, tuple[str | None, str]] = {}
    stacks = {member: stack for stack in stacks_of(layout) for member in stack.members}
    for finding in sorted(findings, key=_place):
        stack = _fouling(finding, stacks, layout)
        if stack is None:
            yield finding
        elif stack.mount not in told:
            words = _advice(stack, layout, items)
            told[stack.mount] = words, f"the {finding.rule} of {' and '.join(finding.parts)}"
            yield finding if words is None else replace(finding, remedy=words)
        else:
            words, first = told[stack.mount]
            yield finding if words is None else replace(finding, remedy=f"a thinner stack, as for {first}")


def _place(finding: Finding) -> tuple[int, str, float]:
    missing = (finding.required_mm or 0.0) - (finding.measured_mm or 0.0)
    return SEVERITIES.index(finding.severity), finding.rule, -missing


def stacks_of(layout: Layout) -> tuple[Stack, ...]:
    """Every stack of two or more parts, and every single radiator or fan, on a fan mount."""
    members: dict[str, list[str]] = {}
    for name in layout.scene.parts:
        root = _root(layout, name)
        if root is not None:
            members.setdefault(root, []).append(name)
    return tuple(_stack(layout, mount, names) for mount, names in members.items())


def _root(layout: Layout, name: str) -> str | None:
    """The mount a chain of fan mounts starts from, None for a part that is in no such chain."""
    root = None
    while (fixed := layout.scene.parts[name].fixed_to) is not None:
        seat = layout.parts[fixed.host].part.mounts.get(fixed.place)  # none where it is screwed into a port
        if seat is None or seat.kind != "fan":
            break
        root, name = fixed.mount, fixed.host
    return root


def _stack(layout: Layout, mount: str, names: list[str]) -> Stack:
    host, mount_name = split_reference(mount)
    frame = compose(layout.parts[host].part.mounts[mount_name].mount2part, layout.parts[host].part2scene)
    first = next(
        fixed
        for name in names
        if (fixed := layout.scene.parts[name].fixed_to) is not None and fixed.mount == mount
    )
    inward = frame.z_axis if first.side == "inside" else -frame.z_axis
    plane = float(frame.origin @ inward)
    reach = max(
        part_span(layout.parts[name].part, layout.parts[name].part2scene, inward)[1] for name in names
    )
    return Stack(mount, tuple(names), inward, reach - plane)


def _fouling(finding: Finding, stacks: dict[str, Stack], layout: Layout) -> Stack | None:
    """The stack a finding is about, where it meets a part that is neither in it nor what it hangs on."""
    if finding.rule not in ("overlap", "gap", "keep-out") or len(finding.parts) != 2:
        return None
    if any(part not in layout.scene.parts for part in finding.parts):
        return None  # a tube or a fitting gives way, not the stack
    met = {stack.mount: stack for part in finding.parts if (stack := stacks.get(part)) is not None}
    if len(met) < len([part for part in finding.parts if part in stacks]):
        return None  # both in one stack
    outside = [stack for stack in met.values() if stack.host not in finding.parts]
    return max(outside, key=lambda stack: stack.thickness, default=None)


def _advice(stack: Stack, layout: Layout, items: Sequence[Item]) -> str | None:
    too_thick = least_move(_Squeeze.of(stack, layout, items).pairs_at, -stack.inward, 0.0)
    if too_thick is None or not CONTACT_MM < too_thick < stack.thickness:
        return None
    fits = math.floor((stack.thickness - too_thick + 1e-5) * 100.0) / 100.0
    return (
        f"the stack on {stack.mount} ({', '.join(stack.members)}) is {mm(stack.thickness)} thick, "
        f"at most {mm(fits)} fits here; `layout3d fit {layout.scene.file} --part {_asked(stack, layout)}` "
        "tells what would"
    )


def _asked(stack: Stack, layout: Layout) -> str:
    """The member whose thickness is most to choose: the radiator, else the first."""
    radiators = (name for name in stack.members if layout.parts[name].shape == "radiator")
    return next(radiators, stack.members[0])


@dataclass(frozen=True, slots=True)
class _Squeeze:
    """What a stack meets as it is pushed back towards its mount: solids and needed room, no tubes."""

    members: list[Item]
    solids: list[Item]
    rooms: list[Body]
    gaps: Gaps

    @staticmethod
    def of(stack: Stack, layout: Layout, items: Sequence[Item]) -> _Squeeze:
        apart = [item for item in items if item.kind == "part" and item.owner != stack.host]
        outside = [part for part in layout.parts.values() if part.name not in stack.members]
        rooms = [
            body(zone.primitive, compose(zone.zone2part, part.part2scene))
            for part in outside
            for zone in part.part.zones
            if zone.severity == "error"
        ]
        return _Squeeze(
            [item for item in apart if item.owner in stack.members],
            [item for item in apart if item.owner not in stack.members],
            rooms,
            Gaps.of(layout),
        )

    def pairs_at(self, by: Array) -> list[Wanted]:
        """Every pair once the stack has gone ``by``."""
        moved = [(item, item.body.moved(by)) for item in self.members]
        solids = [(o.body, there, self.gaps.required(o, item)) for item, there in moved for o in self.solids]
        return solids + [(room, there, 0.0) for _, there in moved for room in self.rooms]
