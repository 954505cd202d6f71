"""What every case is drawn from: where its board sits, fan rows, plain faces, holes for a supply.

Which way ``slide`` and ``shift`` run is the same in every case: ``slide`` along the mount's x, to
the front on a lying face and to the roof on an upright one unless the mount says otherwise;
``shift``, on plain faces only, along the mount's y, which lies to the left of ``slide`` seen by
someone the mount faces.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import TypeAlias

import numpy as np

from shapes.form_factors import PCB_MM, PSU_SIZE_MM, psu_holes, turned_over
from shapes.part import Hole, Mount, Solid
from shapes.patterns import FAN_HOLE_SPACING_MM, fan_holes
from shapes.pose import DIRECTIONS, OPPOSITE, Pose, Vec3
from shapes.solids import NONE, Corners, bar, sheet

#: Width of fan screw slots: design clearance of a fan screw, common practice.
FAN_SCREW_MM = 4.5
#: Rim of the power supply's opening that its screws go through.
PSU_FLANGE_MM = 11.0
_FAN_TRAVEL_MM = 16.0
_BULKHEAD_INSET_MM, _BULKHEAD_PITCH_MM = 18.0, 60.0
_RAIL_MM = 6.0  # metal left between a row's screw slots and its vent

Span: TypeAlias = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Seat:
    """Where a board sits: the rear top corner of its underside, and which way it lies.

    origin : that corner in the case's frame [mm]
    down : the way from the board's top edge to its slots, a direction word
    out : the way its components stand, a direction word
    The board's length always runs to the front.
    """

    origin: Vec3
    down: str = "floor"
    out: str = "window"

    def at(self, down: float, along: float, height: float = 0.0) -> Vec3:
        """A place on the board (``height`` over its component face), in the case's frame."""
        steps = zip(self.origin, DIRECTIONS[self.down], DIRECTIONS[self.out], (along, 0.0, 0.0), strict=True)
        x, y, z = (a + down * d + (PCB_MM + height) * o + b for a, d, o, b in steps)
        return (x, y, z)

    def spans(self, down: Span, along: Span = (0.0, 0.0), height: Span = (0.0, 0.0)) -> Corners:
        """A box in board terms, low and high corner in the case's frame."""
        ends = zip(self.at(down[0], along[0], height[0]), self.at(down[1], along[1], height[1]), strict=True)
        (ax, bx), (ay, by), (az, bz) = (sorted(pair) for pair in ends)
        return (ax, ay, az), (bx, by, bz)

    @property
    def pose(self) -> Pose:
        """A frame at the origin that faces the components, its x to the board's top edge."""
        return Pose.facing(self.origin, DIRECTIONS[self.out], DIRECTIONS[OPPOSITE[self.down]])

    def holes(self, places: Mapping[str, tuple[float, float]], diameter: float) -> tuple[Hole, ...]:
        """Holes at (down, along) in the x-y plane of ``pose``."""
        front = float(self.pose.rotation[0, 1])
        return tuple(Hole((-down, front * along), diameter) for down, along in places.values())


@dataclass(frozen=True, slots=True)
class Inside:
    """The inner faces of the room that the fan rows look into [mm], in the case's frame."""

    low: Vec3
    high: Vec3


def mount(
    at: Vec3,
    facing: str,
    kind: str,
    rows: Mapping[str, tuple[Hole, ...]] = NONE,
    *,
    thick: float = 0.0,
    up: str | None = None,
) -> Mount:
    """A mount at a place of the case, its x to the roof, or to the front on a lying face, or ``up``."""
    pose = Pose.facing(at, DIRECTIONS[facing], None if up is None else DIRECTIONS[up])
    return Mount(pose, kind, MappingProxyType(dict(rows) or {"": ()}), sheet=thick)


def plain_face(facing: str, low: Vec3, high: Vec3, thick: float = 0.0, at: Vec3 | None = None) -> Mount:
    """A plain face to stand something on, between two corners; its origin in the middle, or ``at``.

    ValueError where nothing of the face is left.
    """
    x, y, z = ((a + b) / 2.0 for a, b in zip(low, high, strict=True))
    pose = Pose.facing((x, y, z) if at is None else at, DIRECTIONS[facing])
    corners = pose.inverse.apply(np.array((low, high)))[:, :2]
    (x0, y0), (x1, y1) = corners.min(axis=0).tolist(), corners.max(axis=0).tolist()
    return Mount(pose, "stand", surface=((x0, y0), (x1, y1)), sheet=thick)


def fan_row(at: Vec3, facing: str, over_all: float, thick: float, up: str | None = None) -> Mount:
    """Two rails for each fan size, one long slot in each; ValueError for slots too short for a fan.

    at : middle of the row on the panel's inner face; over_all : length of the slots [mm]
    up : the way they run, as the mount's x
    """
    least = FAN_HOLE_SPACING_MM[120] + FAN_SCREW_MM
    if over_all < least:
        raise ValueError(f"screw slots of {over_all:g} mm take no fan: {least:g} mm or more, or 0 for none")
    rails = {}
    for size in (120, 140):
        half = FAN_HOLE_SPACING_MM[size] / 2.0
        rails[str(size)] = tuple(
            Hole((0.0, side), FAN_SCREW_MM, over_all - FAN_SCREW_MM) for side in (-half, half)
        )
    return mount(at, facing, "fan", rails, thick=thick, up=up)


def fan_place(at: Vec3, facing: str, size: str, thick: float) -> Mount:
    """Four short screw slots for one fan of ``size``, the word of its row."""
    holes = fan_holes(FAN_HOLE_SPACING_MM[int(size)], FAN_SCREW_MM, slot=_FAN_TRAVEL_MM)
    return mount(at, facing, "fan", {size: holes}, thick=thick)


def bulkhead_holes(corner: Vec3, number: int, diameter: float) -> dict[str, tuple[Vec3, float]]:
    """Round holes for bulkhead fittings behind a panel's front end, side by side toward the window.

    corner : the panel's inner front end, and the first hole's place across the case [mm]
    """
    (x, y, z), inset = corner, max(_BULKHEAD_INSET_MM, diameter / 2.0 + 6.0)
    return {
        f"bulkhead_{one + 1}": ((x - inset, y - _BULKHEAD_PITCH_MM * one, z), diameter)
        for one in range(number)
    }


def vented(
    name: str,
    low: Vec3,
    high: Vec3,
    row: Mount | None,
    vents: Mapping[str, Corners] = NONE,
    rounds: Mapping[str, tuple[Vec3, float]] = NONE,
    along: str | None = None,
) -> Solid:
    """A panel with a fan row's vent and screw slots in it; ``along`` the way the slots run."""
    if row is None:
        return sheet(name, low, high, rects=vents, rounds=rounds)
    screws = [(row.mount2part, holes) for holes in row.rows.values()]
    rects = {"fan row's vent": vent_of(row), **vents}
    return sheet(name, low, high, rects=rects, rounds=rounds, screws=screws, along=along)


def vent_of(row: Mount) -> Corners:
    """The opening between a fan row's inner screw slots."""
    over_all = row.rows["120"][0].slot + FAN_SCREW_MM
    across = FAN_HOLE_SPACING_MM[120] - FAN_SCREW_MM - 2 * _RAIL_MM
    return rect_of(row.mount2part, over_all, across)


def check_row(name: str, row: Mount, inside: Inside) -> None:
    """ValueError where a row's slots leave the panel's inner face."""
    ends = np.array(
        [
            row.mount2part.apply(np.array((hole.at[0] + end, hole.at[1], 0.0)))
            for holes in row.rows.values()
            for hole in holes
            for end in (-(hole.slot + hole.diameter) / 2.0, (hole.slot + hole.diameter) / 2.0)
        ]
    )
    low, high = np.array(inside.low), np.array(inside.high)
    if (ends < low - 1e-9).any() or (ends > high + 1e-9).any():
        reach = " x ".join(f"{a:g} to {b:g}" for a, b in zip(ends.min(axis=0), ends.max(axis=0), strict=True))
        room = " x ".join(f"{a:g} to {b:g}" for a, b in zip(low, high, strict=True))
        raise ValueError(f"the {name} row's screw slots reach {reach} mm, inside the case is {room} mm")


def rect_of(mount2part: Pose, along: float, across: float) -> Corners:
    """A rectangle about a mount's origin, ``along`` its x."""
    (ax, ay, az), (bx, by, bz) = mount2part.apply(
        np.array([(-along / 2.0, -across / 2.0, 0.0), (along / 2.0, across / 2.0, 0.0)])
    ).tolist()
    return (ax, ay, az), (bx, by, bz)


def square(middle: Vec3, side: float) -> Corners:
    """A square lying flat."""
    x, y, z = middle
    return (x - side / 2.0, y - side / 2.0, z), (x + side / 2.0, y + side / 2.0, z)


def supply_mount(
    at: Vec3, facing: str, style: str, *, thick: float, up: str = "roof", mirrored: bool = False
) -> Mount:
    """Where a power supply's rear face is screwed on, drilled for it either way up.

    at : middle of that face; up : the way the supply's roof side points; mirrored : drilled so that
    the part is right once it is seen in a mirror
    """
    holes = psu_holes(style) if mirrored else turned_over(psu_holes(style))
    holes += tuple(Hole((-hole.at[0], -hole.at[1]), hole.diameter) for hole in holes)
    return mount(at, facing, "psu", {style: holes}, thick=thick, up=up)


def supply_opening(supply: Mount) -> Corners:
    """The opening behind a power supply's rear face, inside the rim for its screws."""
    width, height, _ = PSU_SIZE_MM[next(iter(supply.rows))]
    rim = 2.0 * PSU_FLANGE_MM
    return rect_of(supply.mount2part, height - rim, width - rim)


def feet(depth: float, width: float, height: float, inset: Span = (40.0, 30.0)) -> Iterator[Solid]:
    """Four round feet under the floor."""
    for end, x in (("rear", inset[0]), ("front", depth - inset[0])):
        for side, y in (("window", inset[1]), ("tray", width - inset[1])):
            yield bar(f"foot_{end}_{side}", (x, y, 0.0), "floor", height, 30.0, "plastic")
