"""One broken rule, as a plain value."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

from shapes.pose import Vec3

Severity: TypeAlias = Literal["error", "warning", "note"]
SEVERITIES: tuple[Severity, ...] = ("error", "warning", "note")


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """A broken rule: who, where, how far off, and what would mend it.

    measured_mm : the gap, or minus the depth of an overlap
    direction : unit vector in the scene; moving the second part along it (or the first
        against it) mends the finding
    move_mm : a move along ``direction`` that was tried and clears both whole parts, or None
    depth_is : "exact" (least translation of two convex primitives) or "bound", None for a gap
    where : "scene.yaml:41"
    doubt_mm : how much of the gap as written stated tolerances may take, None where none play a part
    """

    rule: str
    severity: Severity
    parts: tuple[str, ...]
    message: str
    solids: tuple[str, ...] = ()
    measured_mm: float | None = None
    required_mm: float | None = None
    at_mm: Vec3 | None = None
    direction: Vec3 | None = None
    move_mm: float | None = None
    depth_is: Literal["exact", "bound"] | None = None
    remedy: str | None = None
    where: str | None = None
    doubt_mm: float | None = None
