"""What hoses do to the ports they end on, against what the part's maker or the user allows."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from layout3d.findings import Finding
from layout3d.layout import Layout, PortLoad, Tube
from layout3d.scene.values import PortRef
from layout3d.words import number
from shapes.pose import Array, as_vec3

#: Exceeding by less is none: figures of this kind are good to a few percent at best.
_TOLERANCE = 1e-6


def load_findings(layout: Layout) -> Iterator[Finding]:
    """One for each end of a hose that pulls or bends harder than the part it ends on states."""
    for tube in layout.tubes:
        if tube.loads is None:
            continue
        spec = layout.scene.tubes[tube.name]
        for end, (port, load) in enumerate(zip((spec.start, spec.end), tube.loads, strict=True)):
            for name, at in _carriers(layout, port):
                found = _against(layout, tube, end, name, at, load)
                if found is not None:
                    yield found


def _carriers(layout: Layout, port: PortRef) -> Iterator[tuple[str, Array]]:
    """The part a tube's end is on, then what that is screwed into, each with the place of its port."""
    name, at = port.part, port.port
    while (placed := layout.parts.get(name)) is not None:
        yield name, placed.port2scene(at).origin
        if placed.screwed is None:
            return
        name, at = placed.screwed.host, placed.screwed.port


def _against(layout: Layout, tube: Tube, end: int, name: str, at: Array, load: PortLoad) -> Finding | None:
    spec = layout.scene.parts.get(name)
    if spec is None:
        return None
    force = math.hypot(*load.force)
    lever = tube.mouths[end].origin - at
    moment = float(np.linalg.norm(np.asarray(load.moment) + np.cross(lever, np.asarray(load.force))))
    told = [
        f"{what} {number(measured, decimals)} {unit} ({number(allowed, decimals)} {unit} allowed)"
        for what, measured, allowed, unit, decimals in (
            ("pulls with", force, spec.facts.port_force_n, "N", 1),
            ("bends it with", moment / 1e3, _per_thousand(spec.facts.port_moment_nmm), "Nm", 3),
        )
        if allowed is not None and measured > allowed * (1.0 + _TOLERANCE)
    ]
    if not told:
        return None
    return Finding(
        rule="port-load",
        severity="error",
        parts=(name, tube.name),
        message=f"{tube.name} {' and '.join(told)} at {(tube.start, tube.end)[end]}",
        at_mm=as_vec3(at),
        remedy="cut it longer, lead it in a wider curve, turn a fitting towards it, or take softer tubing",
        where=layout.scene.where("tubes", tube.name),
    )


def _per_thousand(value: float | None) -> float | None:
    return None if value is None else value / 1e3
