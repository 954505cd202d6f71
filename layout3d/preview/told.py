"""What the page is told of a layout, as plain values."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from layout3d.assembly.sequence import Assembly, Step
from layout3d.checks.check import Checked
from layout3d.layout import Layout, PlacedPart, Tube
from layout3d.preview.apart import apart_offsets
from layout3d.reports.assembly import step_words
from layout3d.reports.results import finding_result, tube_result
from layout3d.words import counted
from shapes.bounds import part_box
from shapes.pose import Pose, Vec3, as_vec3, compose
from shapes.primitives import Cylinder, Plate, RoundOpening

#: No more centres than this are told: they are for catching a pointer, and a pointer has no more room.
_MOST_CENTRES = 600

#: Shape words -> what a client would call the group; others are "other parts".
_GROUPS = {
    "case": "case",
    "frame": "case",
    "motherboard": "electronics",
    "card": "electronics",
    "power_supply": "electronics",
    "drive": "electronics",
    "riser": "electronics",
    "radiator": "radiators, fans",
    "fan": "radiators, fans",
    "grille": "radiators, fans",
    "filter": "radiators, fans",
    "shroud": "radiators, fans",
    "gasket": "radiators, fans",
    "block": "loop",
    "pump": "loop",
    "reservoir": "loop",
    "distribution_plate": "loop",
    "fitting": "fittings",
}
OTHER, FITTINGS, TUBES = "other parts", "fittings", "tubes"


def told(layout: Layout, checked: Checked, assembly: Assembly) -> dict[str, Any]:
    """Everything the page shows, in scene coordinates [mm]."""
    apart = apart_offsets(layout)
    still = (0.0, 0.0, 0.0)
    return {
        "title": layout.scene.title or layout.scene.file,
        "scene": layout.scene.file,
        "verdict": "clear" if checked.is_clear else "not clear",
        "parts": [
            _part(part, layout, apart.get(part.name, still))
            for part in layout.parts.values()
            if part.part.solids
        ],
        "panels": [[part.name, solid] for part in layout.parts.values() for solid in _panels(part)],
        "tubes": [_tube(tube, apart.get(tube.name, still)) for tube in layout.tubes if tube.run is not None],
        "findings": [finding_result(finding) for finding in checked.findings],
        "ports": [
            {"name": f"{part.name}.{port}", "at_mm": list(as_vec3(part.port2scene(port).origin))}
            for part in layout.parts.values()
            for port in part.part.ports
        ],
        "centres": [centre for part in layout.parts.values() for centre in _centres(part)][:_MOST_CENTRES],
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
    size = [round(float(value), 1) + 0.0 for value in high - low]
    hold = spec.fixed_to.mount if spec is not None and spec.fixed_to is not None else None
    label, note = (spec.label, spec.note) if spec is not None else (None, None)
    lines = [
        label,
        f"{part.shape.replace('_', ' ')}, {' x '.join(f'{value:g}' for value in size)} mm",
        f"on {hold}" if hold is not None else None,
        f"ports: {', '.join(part.part.ports)}" if part.part.ports else None,
        note,
    ]
    return {
        "name": part.name,
        "label": label,
        "note": note,
        "shape": part.shape,
        "group": group_of(part),
        "fixed_to": hold,
        "size_mm": size,
        "lines": [line for line in lines if line],
        "apart_mm": list(apart),
    }


def _tube(tube: Tube, apart: Vec3) -> dict[str, Any]:
    lines = [f"{tube.kind} tube {tube.tubing}, from {tube.start} to {tube.end}"]
    if tube.cut_mm is not None:
        bends = f", {counted(len(tube.bends), 'bend')}" if tube.bends else ""
        lines.append(f"cut to {tube.cut_mm:.1f} mm{bends}")
    return {**tube_result(tube), "lines": lines, "apart_mm": list(apart)}


def _panels(part: PlacedPart) -> list[str]:
    """Solids that hide the inside: what comes off by itself, and glass."""
    return [
        solid.name
        for solid in part.part.solids
        if solid.name in part.part.removals or (solid.look == "glass" and "case" in part.shape)
    ]


def _step(step: Step) -> dict[str, Any]:
    return {"names": list(step.names), "from": list(step.legs[-1].way), "told": step_words(step)}


def _centres(part: PlacedPart) -> Iterator[dict[str, Any]]:
    """Middles of round ends and round openings."""
    for solid in part.part.solids:
        points: list[Vec3] = []
        match solid.primitive:
            case Cylinder(length=length):
                points = [(0.0, 0.0, side * length / 2.0) for side in (-1.0, 1.0)]
            case Plate(thickness=thickness, openings=openings, screw_holes=holes):
                rounds = [each for each in (*openings, *holes) if isinstance(each, RoundOpening)]
                points = [(*each.at, side * thickness / 2.0) for each in rounds for side in (-1.0, 1.0)]
        for point in points:
            at = compose(Pose.at(point), solid.solid2part, part.part2scene)
            yield {"name": part.name, "at_mm": list(as_vec3(at.origin))}
