"""What a case is drawn from: its inner faces, fan rows, and the openings a board asks for."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import TypeAlias

import numpy as np

from shapes.form_factors import (
    BOARD_HOLES_MM,
    BOARD_OUTLINE_MM,
    BRACKET_END_DOWN_MM,
    BRACKET_SHELF_MM,
    HOLE_SETS,
    IO_DOWN_MM,
    IO_HEIGHT_MM,
    REAR_PANEL_MM,
    SLOT_DATUM_MM,
    SLOT_OPENING_DOWN_MM,
    SLOT_OPENING_HEIGHT_MM,
    SLOT_PITCH_MM,
    STAND_OFF_MM,
    on_board,
)
from shapes.part import Hole, Mount, Solid
from shapes.patterns import FAN_HOLE_SPACING_MM
from shapes.pose import DIRECTIONS, Pose, Vec3
from shapes.solids import Corners, bar, sheet

#: Width of fan screw slots: design clearance of a fan screw, common practice.
FAN_SCREW_MM = 4.5
_RAIL_MM = 6.0  # metal left between a row's screw slots and its vent
_SHELF_ROOM_MM = 12.0  # to get a screwdriver at the brackets' bent ends
_STAND_OFF_DIAMETER_MM = 6.0
_TRAY_HOLE_MM = 3.5
_TAB_NOTCH_MM = 4.0  # the brackets' tabs go down between board and rear panel

Span: TypeAlias = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Inside:
    """The inner faces [mm] and the board's origin, in the case's frame."""

    low: Vec3
    high: Vec3
    tray: float
    board: Vec3

    def at_board(self, down: float, along: float, height: float = 0.0) -> Vec3:
        """A place on the board, in the case's frame."""
        x, y, z = (a + b for a, b in zip(self.board, on_board(down, along, height), strict=True))
        return (x, y, z)


def mount(at: Vec3, facing: str, kind: str, rows: dict[str, tuple[Hole, ...]], thick: float = 0.0) -> Mount:
    """A mount at a place of the case, its x to the roof, or to the front on a lying face."""
    pose = Pose.facing(at, DIRECTIONS[facing])
    return Mount(pose, kind, MappingProxyType(rows or {"": ()}), sheet=thick)


def plain_face(at: Vec3, facing: str, low: Vec3, high: Vec3, thick: float = 0.0) -> Mount:
    """A plain face to stand something on, from one corner to the other in the case's frame."""
    pose = Pose.facing(at, DIRECTIONS[facing])
    corners = pose.inverse.apply(np.array((low, high)))[:, :2]
    (x0, y0), (x1, y1) = corners.min(axis=0).tolist(), corners.max(axis=0).tolist()
    return Mount(pose, "stand", surface=((x0, y0), (x1, y1)), sheet=thick)


def fan_row(at: Vec3, facing: str, over_all: float, thick: float) -> Mount:
    """Two rails for each fan size, one long slot in each; ValueError for slots too short for a fan.

    at : middle of the row on the panel's inner face; over_all : length of the slots [mm]
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
    return mount(at, facing, "fan", rails, thick)


def vented(name: str, low: Vec3, high: Vec3, row: Mount | None, vents: Mapping[str, Corners]) -> Solid:
    """A panel with a fan row's vent and screw slots in it."""
    if row is None:
        return sheet(name, low, high, rects=vents)
    over_all = row.rows["120"][0].slot + FAN_SCREW_MM
    across = FAN_HOLE_SPACING_MM[120] - FAN_SCREW_MM - 2 * _RAIL_MM
    vent = rect_of(row.mount2part, over_all, across)
    screws = [(row.mount2part, holes) for holes in row.rows.values()]
    return sheet(name, low, high, rects={"fan row's vent": vent, **vents}, screws=screws)


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
    low, high = np.array(inside.low), np.array((inside.high[0], inside.tray, inside.high[2]))
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


def rear_openings(inside: Inside, slots: int) -> dict[str, Corners]:
    """I/O aperture, slots, and the opening that brackets' bent ends pass and are screwed in."""
    datum = SLOT_DATUM_MM[0]
    openings = {"I/O aperture": _spans(inside, IO_DOWN_MM, IO_HEIGHT_MM)}
    for number in range(slots):
        begin, end = (datum + number * SLOT_PITCH_MM + down for down in SLOT_OPENING_DOWN_MM)
        openings[f"slot {number + 1}"] = _spans(inside, (begin, end), SLOT_OPENING_HEIGHT_MM)
    last = datum + (slots - 1) * SLOT_PITCH_MM
    ends = (datum + BRACKET_END_DOWN_MM[0], last + BRACKET_END_DOWN_MM[1])
    shelf = (BRACKET_SHELF_MM, BRACKET_SHELF_MM + _SHELF_ROOM_MM)
    return openings | {"brackets' opening": _spans(inside, ends, shelf)}


def tray(inside: Inside, form: str, slots: int, thick: float) -> Iterator[Solid]:
    """The board's tray, drilled for every form, and the stand-offs of one."""
    openings = _tray_openings(inside, slots, BOARD_OUTLINE_MM[form][1])
    holes = tuple(Hole((-down, -along), _TRAY_HOLE_MM) for down, along in BOARD_HOLES_MM.values())
    board = Pose.facing(inside.board, DIRECTIONS["window"])
    low, high = (
        (inside.low[0], inside.tray, inside.low[2]),
        (inside.high[0], inside.tray + thick, inside.high[2]),
    )
    yield sheet("tray", low, high, rects=openings, screws=[(board, holes)])
    for letter in HOLE_SETS[form]:
        x, _, z = inside.at_board(*BOARD_HOLES_MM[letter])
        foot = (x, inside.tray, z)
        yield bar(f"stand_off_{letter}", foot, "window", STAND_OFF_MM, _STAND_OFF_DIAMETER_MM)


def _tray_openings(inside: Inside, slots: int, board: float) -> dict[str, Corners]:
    """CPU cut-out, cable openings and the notch for brackets' tabs, for a board ``board`` mm wide."""
    x0, _, z0 = inside.low
    last = SLOT_DATUM_MM[0] + (slots - 1) * SLOT_PITCH_MM
    notch = (-REAR_PANEL_MM, -REAR_PANEL_MM + _TAB_NOTCH_MM)
    return {
        "CPU cut-out": _spans(inside, (20.0, 150.0), along=(42.0, 155.0)),
        "CPU power cable": _spans(inside, (-26.0, -6.0), along=(25.0, 105.0)),
        "main power cable": _spans(inside, (40.0, 130.0), along=(board + 8.0, board + 38.0)),
        "brackets' notch": _spans(inside, (SLOT_DATUM_MM[0] - 5.0, last + 18.0), along=notch),
        "power supply's cables": ((x0 + 160.0, 0.0, z0 + 15.0), (x0 + 280.0, 0.0, z0 + 55.0)),
    }


def _spans(inside: Inside, down: Span, height: Span = (0.0, 0.0), along: Span = (0.0, 0.0)) -> Corners:
    """A rectangle in board terms, in the case's frame."""
    return inside.at_board(down[0], along[0], height[0]), inside.at_board(down[1], along[1], height[1])
