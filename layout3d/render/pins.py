"""Findings on a picture: numbered pins beside their places, none on another."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from layout3d.findings import Finding, Severity
from layout3d.render.camera import Camera
from shapes.pose import Array

#: Severity -> the sign before a finding's number, as on the preview page.
SIGNS: dict[Severity, str] = {"error": "!", "warning": "?", "note": "i"}
#: How far a pin stands over its place, and how much room it takes [pixels of a picture 1200 high].
_LIFT_PX, _ROOM_PX, _RIM_PX = 48.0, 62.0, 34.0
_ROUNDS = 40
#: More findings than this are not told in words on the picture.
MOST_LINES = 10


@dataclass(frozen=True, slots=True)
class Pin:
    """A pin: where it points, where it stands [pixels from the lower left], and what it says."""

    point: tuple[float, float]
    at: tuple[float, float]
    text: str
    severity: Severity


def pins_of(findings: Sequence[Finding], camera: Camera, size: tuple[int, int]) -> list[Pin]:
    """A pin for each error and warning that has a place, numbered as ``check`` tells them."""
    placed = _placed(findings)
    if not placed:
        return []
    scale = size[1] / 1200.0
    points = camera.pixels(np.array([finding.at_mm for _, finding in placed]), size)
    stands = _spread(points + np.array([0.0, _LIFT_PX * scale]), _ROOM_PX * scale)
    stands = stands.clip(_RIM_PX * scale, np.array(size) - _RIM_PX * scale)
    return [
        Pin(_pair(point), _pair(stand), f"{SIGNS[finding.severity]}{n}", finding.severity)
        for (n, finding), point, stand in zip(placed, points, stands, strict=True)
    ]


def lines_of(findings: Sequence[Finding]) -> list[str]:
    """What the pins mean, a line each."""
    told = [
        f"{SIGNS[finding.severity]}{n}  {finding.rule}: {', '.join(finding.parts)}"
        for n, finding in _placed(findings)
    ]
    if len(told) <= MOST_LINES:
        return told
    return [*told[: MOST_LINES - 1], f"and {len(told) - MOST_LINES + 1} more"]


def _placed(findings: Sequence[Finding]) -> list[tuple[int, Finding]]:
    return [
        (n, finding)
        for n, finding in enumerate(findings, 1)
        if finding.at_mm is not None and finding.severity != "note"
    ]


def _spread(places: Array, room: float) -> Array:
    """Moves places apart that are nearer than ``room``."""
    found = places.copy()
    for _ in range(_ROUNDS):
        for i in range(len(found)):
            for k in range(i + 1, len(found)):
                off = found[k] - found[i]
                far = float(np.hypot(*off))
                if far >= room:
                    continue
                way = off / far if far > 0.5 else np.array([math.cos(k), math.sin(k)])
                found[i] -= way * (room - far) / 2.0
                found[k] += way * (room - far) / 2.0
    return found


def _pair(point: Array) -> tuple[float, float]:
    return round(float(point[0]), 2), round(float(point[1]), 2)
