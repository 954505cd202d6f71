"""Fine lines that tell a fan from a disc: blades, fins and grips, drawn on the solids they belong to."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from types import MappingProxyType
from typing import TypeAlias

import numpy as np

from layout3d.drawing.rounds import circle
from layout3d.drawing.seen import EDGE_ON, Line
from shapes.part import Solid
from shapes.pose import Array, Pose
from shapes.primitives import Box, Cylinder

Maker: TypeAlias = Callable[[Solid, Pose], Iterator[Array]]

_HUB_SHARE, _TIP_SHARE = 0.36, 0.96
_BLADES, _SWEEP_RAD = 9, math.radians(48.0)
_TUBE_PITCH_MM, _FIN_PITCH_MM = 9.0, 3.0
_GRIP_PITCH_MM = 1.6
_GRIP_RIM_SHARE = 0.16
_PROUD_MM = 0.02
_CHORD_MM = 0.01


def fine_lines(family: str, solid: Solid, solid2view: Pose) -> list[Line]:
    """What is drawn on a solid of this family, in the picture's frame; mostly nothing."""
    maker = _GRIPPED.get(solid.name) or _MAKERS.get((family, solid.name))
    if maker is None:
        return []
    return [Line(points, outline=False, fine=True) for points in maker(solid, solid2view)]


def _blades(solid: Solid, pose: Pose) -> Iterator[Array]:
    rotor = solid.primitive
    if not isinstance(rotor, Cylinder) or abs(pose.z_axis[2]) < EDGE_ON:
        return
    # The face that is seen; the blades lean with the air, to the roof.
    way = 1.0 if pose.z_axis[2] > 0.0 else -1.0
    z, radius = way * rotor.length / 2.0, rotor.diameter / 2.0
    hub = circle(_HUB_SHARE * radius, _CHORD_MM)
    yield pose.apply(_at(np.concatenate((hub, hub[:1])), z))
    shares = np.linspace(0.0, 1.0, 13)
    reach = radius * (_HUB_SHARE + (_TIP_SHARE - _HUB_SHARE) * shares)
    for number in range(_BLADES):
        angles = 2.0 * math.pi * number / _BLADES + _SWEEP_RAD * shares**1.3
        yield pose.apply(_at(reach[:, None] * np.column_stack((np.cos(angles), np.sin(angles))), z))


def _fins(solid: Solid, pose: Pose) -> Iterator[Array]:
    core = solid.primitive
    if not isinstance(core, Box) or abs(pose.z_axis[2]) < EDGE_ON:
        return
    length, width, height = core.size
    z = math.copysign(height / 2.0, float(pose.z_axis[2]))
    rows = max(2, round(width / _TUBE_PITCH_MM))
    for y in np.linspace(-width / 2.0, width / 2.0, rows + 1)[1:-1]:
        yield pose.apply(np.array(((-length / 2.0, y, z), (length / 2.0, y, z))))
    for x in np.linspace(-length / 2.0, length / 2.0, max(2, round(length / _FIN_PITCH_MM)) + 1)[1:-1]:
        yield pose.apply(np.array(((x, -width / 2.0, z), (x, width / 2.0, z))))


def _grip(solid: Solid, pose: Pose) -> Iterator[Array]:
    bar = solid.primitive
    if not isinstance(bar, Cylinder):
        return
    radius = bar.diameter / 2.0 + _PROUD_MM
    half = bar.length / 2.0 * (1.0 - 2.0 * _GRIP_RIM_SHARE)
    count = max(12, round(math.pi * bar.diameter / _GRIP_PITCH_MM))
    for number in range(count):
        angle = 2.0 * math.pi * number / count
        spoke = np.array((math.cos(angle), math.sin(angle), 0.0))
        if float(pose.turn(spoke)[2]) > 0.05:
            yield pose.apply(radius * spoke + np.array(((0.0, 0.0, -half), (0.0, 0.0, half))))
    rim = circle(radius, _CHORD_MM)
    for z in (-half, half):
        facing = pose.turn(_at(rim / radius, 0.0))[:, 2] > 0.05
        if facing.all() or not facing.any():
            continue
        # Started where it is turned away, the part that is seen is in one piece.
        start = int(np.flatnonzero(~facing)[0])
        yield pose.apply(_at(np.roll(rim, -start, axis=0)[np.roll(facing, -start)], z))


def _at(outline: Array, z: float) -> Array:
    return np.column_stack((outline, np.full(len(outline), z)))


_GRIPPED: MappingProxyType[str, Maker] = MappingProxyType(
    dict.fromkeys(("collar", "clamp", "sleeve", "insert"), _grip)
)
_MAKERS: MappingProxyType[tuple[str, str], Maker] = MappingProxyType(
    {("fan", "rotor"): _blades, ("radiator", "fins"): _fins}
)
