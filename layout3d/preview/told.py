"""What the page is told of a layout, as plain values."""

from __future__ import annotations

from typing import Any

import numpy as np

from layout3d.assembly.sequence import Assembly, Step
from layout3d.checks.check import Checked
from layout3d.layout import Layout, PlacedPart
from layout3d.reports.assembly import step_words
from layout3d.reports.results import finding_result, tube_result
from shapes.bounds import part_box
from shapes.pose import Array, Vec3, as_vec3

#: How far a part is drawn off what it is fixed to when the build is drawn apart [mm].
_APART_MM, _FITTING_APART_MM = 90.0, 30.0

#: Shape words -> what a client would call the group; others are "other parts".
_GROUPS = {
    "case": "case",
    "frame": "case",
    "motherboard": "electronics",
    "card": "electronics",
    "power_supply": "electronics",
    "drive": "electronics",
    "riser": "electronics",
    "radiator": "radiators and fans",
    "fan": "radiators and fans",
    "grille": "radiators and fans",
    "filter": "radiators and fans",
    "shroud": "radiators and fans",
    "gasket": "radiators and fans",
    "block": "blocks, pump and reservoir",
    "pump": "blocks, pump and reservoir",
    "reservoir": "blocks, pump and reservoir",
    "distribution_plate": "blocks, pump and reservoir",
    "fitting": "fittings",
}
OTHER, FITTINGS, TUBES = "other parts", "fittings", "tubes"


def told(layout: Layout, checked: Checked, assembly: Assembly) -> dict[str, Any]:
    """Everything the page shows, in scene coordinates [mm]."""
    apart = _apart(layout)
    return {
        "title": layout.scene.title or layout.scene.file,
        "scene": layout.scene.file,
        "verdict": "clear" if checked.is_clear else "not clear",
        "parts": [
            _part(part, layout, apart[part.name]) for part in layout.parts.values() if part.part.solids
        ],
        "panels": [[part.name, solid] for part in layout.parts.values() for solid in _panels(part)],
        "tubes": [tube_result(tube) for tube in layout.tubes if tube.run is not None],
        "findings": [finding_result(finding) for finding in checked.findings],
        "ports": [
            {"name": f"{part.name}.{port}", "at_mm": list(as_vec3(part.port2scene(port).origin))}
            for part in layout.parts.values()
            for port in part.part.ports
        ],
        "steps": [_step(step) for step in assembly.steps] if not assembly.stuck else [],
    }


def group_of(part: PlacedPart) -> str:
    """The group a part is listed under."""
    if part.tube is not None:
        return FITTINGS
    return next((group for word, group in _GROUPS.items() if word in part.shape), OTHER)


def _part(part: PlacedPart, layout: Layout, apart: Vec3) -> dict[str, Any]:
    spec = layout.scene.parts.get(part.name)
    low, high = part_box(part.part, part.part2scene)
    return {
        "name": part.name,
        "label": spec.label if spec is not None else None,
        "note": spec.note if spec is not None else None,
        "shape": part.shape,
        "group": group_of(part),
        "fixed_to": spec.fixed_to.mount if spec is not None and spec.fixed_to is not None else None,
        "size_mm": [round(float(value), 1) + 0.0 for value in high - low],
        "apart_mm": list(apart),
    }


def _panels(part: PlacedPart) -> list[str]:
    """Solids that hide the inside: what comes off by itself, and glass."""
    return [
        solid.name
        for solid in part.part.solids
        if solid.name in part.part.removals or (solid.look == "glass" and "case" in part.shape)
    ]


def _step(step: Step) -> dict[str, Any]:
    return {"names": list(step.names), "from": list(step.legs[-1].way), "told": step_words(step)}


def _apart(layout: Layout) -> dict[str, Vec3]:
    """Where each part goes when the build is drawn apart: with its host, and on along its mount's axis."""
    hosts = {joint.second: joint for joint in layout.joints if joint.axis is not None}
    found: dict[str, Array] = {}

    def away(name: str) -> Array:
        if name not in found:
            found[name] = np.zeros(3)
            joint = hosts.get(name)
            if joint is not None:
                far = _FITTING_APART_MM if layout.parts[name].tube is not None else _APART_MM
                found[name] = away(joint.first) + far * np.asarray(joint.axis)
        return found[name]

    return {name: as_vec3(away(name)) for name in layout.parts}
