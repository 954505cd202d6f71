"""Metals that corrode each other where one coolant wets both."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from layout3d.checks.ports import mated_ports
from layout3d.findings import Finding
from layout3d.layout import Layout
from layout3d.scene.facts import METALS
from layout3d.scene.values import split_reference

#: Most difference of anodic index between metals that stay wet together, indoors [V]: the middle
#: step of the usual table (0.15 outdoors and salt, 0.25 indoors, 0.50 dry and controlled).
MOST_APART_V = 0.25


@dataclass(frozen=True, slots=True)
class _Wetted:
    """A metal that coolant touches: in which part or tube, and what to call that."""

    metal: str
    owner: str
    called: str
    key: tuple[str, str]


def metal_findings(layout: Layout) -> Iterator[Finding]:
    """One warning for each loop whose metals are too far apart: its worst pair."""
    wetted = list(_wetted(layout))
    if len({METALS[one.metal] for one in wetted}) < 2:
        return
    loops = _loops(layout)
    for loop in dict.fromkeys(loops[one.owner] for one in wetted):
        mine = [one for one in wetted if loops[one.owner] == loop]
        low = min(mine, key=lambda one: METALS[one.metal])
        high = max(mine, key=lambda one: METALS[one.metal])
        apart = METALS[high.metal] - METALS[low.metal]
        if apart > MOST_APART_V + 1e-9:
            yield Finding(
                rule="metals",
                severity="warning",
                parts=tuple(dict.fromkeys((low.owner, high.owner))),
                message=(
                    f"{low.metal} of {low.called} and {high.metal} of {high.called} are wetted by one "
                    f"coolant: {apart:.2f} V apart in the anodic index, more than {MOST_APART_V:g} V"
                ),
                remedy=(
                    f"use parts without {low.metal}, or with nothing else; an inhibitor in the coolant "
                    "slows the corrosion down and does not stop it"
                ),
                where=layout.scene.where(*low.key),
            )


def _wetted(layout: Layout) -> Iterator[_Wetted]:
    for name, part in layout.scene.parts.items():
        for metal in part.facts.metals:
            yield _Wetted(metal, name, name, ("parts", name))
    for name, tube in layout.scene.tubes.items():
        for chain in tube.fittings:
            for link in chain:
                for metal in link.facts.metals:
                    yield _Wetted(metal, name, f"a fitting of {name}", ("tubes", name))


def _loops(layout: Layout) -> dict[str, str]:
    """Part or tube -> the first of all that coolant joins it to."""
    above = {name: name for name in (*layout.parts, *layout.scene.tubes)}

    def root(name: str) -> str:
        while above[name] != name:
            name = above[name]
        return name

    joins = [(tube.start.part, name) for name, tube in layout.scene.tubes.items()]
    joins += [(tube.end.part, name) for name, tube in layout.scene.tubes.items()]
    joins += [
        (part.screwed.host, part.tube or name)
        for name, part in layout.parts.items()
        if part.screwed is not None
    ]
    joins += [
        (split_reference(first)[0], split_reference(second)[0]) for first, second in mated_ports(layout)
    ]
    for first, second in joins:
        above[root(second)] = root(first)
    return {name: root(name) for name in above}
