"""Boxes, bars and sheets drawn by their corners in the part's frame.

A part that stands square is easiest to state by corners: the helpers here make the centred
primitives and their poses from them, and refuse what has no size, naming the solid.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from types import MappingProxyType
from typing import Any, TypeAlias

import numpy as np

from shapes.openings import check_openings
from shapes.part import Hole, Look, Solid, Zone
from shapes.pose import DIRECTIONS, Array, Pose, Vec3
from shapes.primitives import Box, Cylinder, Opening, Plate, RectOpening, RoundOpening, SlotHole

#: Which way a sheet's normal points, by the axis it is thin along.
_SHEET_FACING = ("front", "window", "roof")

Corners: TypeAlias = tuple[Vec3, Vec3]
NONE: Mapping[str, Any] = MappingProxyType({})


def block(name: str, low: Vec3, high: Vec3, look: Look = "black") -> Solid:
    """A box between two opposite corners [mm]; ValueError where ``high`` is not beyond ``low``."""
    return Solid(name, Box(_size(name, low, high)), Pose.at(_middle(low, high)), look)


def bar(name: str, start: Vec3, towards: str, length: float, diameter: float, look: Look = "metal") -> Solid:
    """A round bar from the middle of one end, along a direction word, ``length`` mm."""
    if not length > 0.0:
        raise ValueError(f"{name} has no length: {length:g} mm")
    middle = np.asarray(start) + np.asarray(DIRECTIONS[towards]) * (length / 2.0)
    return Solid(name, Cylinder(diameter, length), Pose.facing(middle, DIRECTIONS[towards]), look)


def sheet(
    name: str,
    low: Vec3,
    high: Vec3,
    *,
    rects: Mapping[str, Corners] = NONE,
    rounds: Mapping[str, tuple[Vec3, float]] = NONE,
    screws: Iterable[tuple[Pose, tuple[Hole, ...]]] = (),
    look: Look = "panel",
    along: str | None = None,
) -> Solid:
    """A flat sheet between two corners, thin along its least side, with openings.

    rects : what it is for -> low and high corner of a rectangular opening, in the part's frame
    rounds : what it is for -> middle and diameter of a round opening
    screws : a mount's pose and its holes, drawn as screw holes; slots run along the mount's x,
        which is up on an upright sheet and to the front on a lying one, or ``along`` this word

    What lies across the sheet is ignored. ValueError for openings that run into each other or
    lie beside the sheet.
    """
    size = _size(name, low, high)
    facing = _SHEET_FACING[size.index(min(size))]
    up = None if along is None else DIRECTIONS[along]
    sheet2part = Pose.facing(_middle(low, high), DIRECTIONS[facing], up)
    part2sheet = sheet2part.inverse
    length, width, thickness = (float(side) for side in np.abs(part2sheet.turn(np.asarray(size))))
    openings: list[Opening] = [_rect(part2sheet, *corners) for corners in rects.values()]
    openings += [RoundOpening(_flat(part2sheet, at), diameter) for at, diameter in rounds.values()]
    holes = tuple(
        _screw_hole(_flat(part2sheet, mount2part.apply(np.array((*hole.at, 0.0)))), hole)
        for mount2part, pattern in screws
        for hole in pattern
    )
    plate = Plate((length, width), thickness, tuple(openings), holes)
    try:
        return Solid(name, check_openings(plate, (*rects, *rounds)), sheet2part, look)
    except ValueError as error:
        raise ValueError(f"{name}: {error}") from None


def room(
    name: str, low: Vec3, high: Vec3, reason: str, *, likely: bool = False, only_parts: bool = False
) -> Zone:
    """A box of room that must stay free; ``likely``: only a warning."""
    return Zone(
        name,
        Box(_size(name, low, high)),
        Pose.at(_middle(low, high)),
        reason,
        "warning" if likely else "error",
        only_parts,
    )


def _size(name: str, low: Vec3, high: Vec3) -> Vec3:
    x, y, z = (b - a for a, b in zip(low, high, strict=True))
    if not min(x, y, z) > 0.0:
        raise ValueError(f"{name} has no room: it would be {x:g} x {y:g} x {z:g} mm")
    return (x, y, z)


def _middle(low: Vec3, high: Vec3) -> Vec3:
    x, y, z = ((a + b) / 2.0 for a, b in zip(low, high, strict=True))
    return (x, y, z)


def _flat(part2sheet: Pose, point: Vec3 | Array) -> tuple[float, float]:
    x, y, _ = part2sheet.apply(np.asarray(point))
    return (float(x) + 0.0, float(y) + 0.0)


def _rect(part2sheet: Pose, low: Vec3, high: Vec3) -> RectOpening:
    (ax, ay), (bx, by) = _flat(part2sheet, low), _flat(part2sheet, high)
    return RectOpening(((ax + bx) / 2.0, (ay + by) / 2.0), (abs(bx - ax), abs(by - ay)))


def _screw_hole(at: tuple[float, float], hole: Hole) -> RoundOpening | SlotHole:
    if hole.slot:
        return SlotHole(at, hole.slot + hole.diameter, hole.diameter)
    return RoundOpening(at, hole.diameter)
