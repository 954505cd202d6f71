"""Results for other programs: the JSON objects of ``check``, ``tubes`` and ``ports``."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from layout3d import __version__
from layout3d.checks.check import Checked
from layout3d.errors import Problem
from layout3d.findings import SEVERITIES, Finding
from layout3d.layout import Bend, Layout, Tube
from shapes.pose import as_vec3

if TYPE_CHECKING:
    from layout3d.tolerance.odds import Odds


def check_result(
    layout: Layout, checked: Checked, seconds: float, odds: Odds | None = None
) -> dict[str, Any]:
    """The whole result of a check. Keys are always present; what does not apply is None.

    odds : where they were asked for
    """
    findings = checked.findings
    return {
        "layout3d": __version__,
        "scene": layout.scene.file,
        "title": layout.scene.title,
        "verdict": "clear" if checked.is_clear else "not-clear",
        "counts": {severity: sum(f.severity == severity for f in findings) for severity in SEVERITIES},
        "findings": [finding_result(finding) for finding in findings],
        "tubes": [tube_result(tube) for tube in layout.tubes],
        "stats": {
            "parts": checked.parts,
            "solids": checked.solids,
            "pairs_near": checked.pairs_near,
            "pairs_measured": checked.pairs_measured,
            "seconds": round(seconds, 4),
        },
        "odds": None if odds is None else _odds_result(odds),
    }


def _odds_result(odds: Odds) -> dict[str, Any]:
    # Only who asks for odds loads what words them.
    from layout3d.reports.odds import odds_result

    return odds_result(odds)


def unreadable_result(scene: Path, problems: Sequence[Problem]) -> dict[str, Any]:
    """The result of a scene that cannot be read (exit status 2)."""
    return {
        "layout3d": __version__,
        "scene": scene.name,
        "verdict": "unreadable",
        "problems": [
            {
                "file": problem.file,
                "line": problem.line,
                "key": problem.key,
                "message": problem.message,
                "choices": list(problem.choices),
            }
            for problem in problems
        ],
    }


def finding_result(finding: Finding) -> dict[str, Any]:
    """One finding as plain values."""
    return {
        "rule": finding.rule,
        "severity": finding.severity,
        "parts": list(finding.parts),
        "solids": list(finding.solids),
        "measured_mm": _number(finding.measured_mm),
        "required_mm": _number(finding.required_mm),
        "at_mm": _numbers(finding.at_mm),
        "direction": _numbers(finding.direction),
        "move_mm": _number(finding.move_mm),
        "depth_is": finding.depth_is,
        "message": finding.message,
        "remedy": finding.remedy,
        "where": finding.where,
        "doubt_mm": _number(finding.doubt_mm),
    }


def tube_result(tube: Tube) -> dict[str, Any]:
    """One tube as plain values; a tube that failed keeps its place with None."""
    search = tube.search
    return {
        "name": tube.name,
        "from": tube.start,
        "to": tube.end,
        "kind": tube.kind,
        "path_mm": _number(tube.path_mm),
        "cut_mm": _number(tube.cut_mm),
        "insertion_mm": _numbers(tube.insertions),
        "least_bend_radius_mm": _number(tube.least_bend_radius_mm),
        "ends_mm": [_numbers(as_vec3(mouth.origin)) for mouth in tube.mouths],
        "corners_mm": None if tube.corners is None else [_numbers(corner) for corner in tube.corners],
        "bends": None if tube.bends is None else [_bend_result(bend) for bend in tube.bends],
        "last_straight_mm": _number(tube.last_straight_mm),
        "search": None
        if search is None
        else {
            "class": search.searched,
            "cost_mm": _number(search.cost_mm),
            "bound_mm": _number(search.bound_mm),
            "proved": search.proved,
        },
    }


def _bend_result(bend: Bend) -> dict[str, float | None]:
    return {
        "straight_mm": _number(bend.straight_mm),
        "turn_deg": _number(bend.turn_deg),
        "bend_deg": _number(bend.bend_deg),
        "radius_mm": _number(bend.radius_mm),
        "mark_mm": _number(bend.mark_mm),
    }


def ports_result(layout: Layout, users: dict[str, list[str]]) -> list[dict[str, Any]]:
    """Every port of every part and fitting: position, facing, thread and who uses it."""
    rows = []
    for part in layout.parts.values():
        for name, port in part.part.ports.items():
            port2scene = part.port2scene(name)
            rows.append(
                {
                    "port": f"{part.name}.{name}",
                    "at_mm": _numbers(as_vec3(port2scene.origin)),
                    "facing": _numbers(as_vec3(port2scene.z_axis)),
                    "thread": port.thread,
                    "used_by": users.get(f"{part.name}.{name}", []),
                }
            )
    return rows


def _number(value: float | None) -> float | None:
    """Rounded to a nanometre, so that the last bits of the arithmetic do not show; never -0.0."""
    return None if value is None else round(float(value), 6) + 0.0


def _numbers(values: Sequence[float] | None) -> list[float | None] | None:
    return None if values is None else [_number(value) for value in values]
