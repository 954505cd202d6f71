"""What a case has for its board: tray, stand-offs, I/O aperture, slots, cable openings and grommets."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from shapes.case_parts import Seat, mount, supply_opening
from shapes.form_factors import (
    BOARD_HOLE_MM,
    BOARD_HOLES_MM,
    BOARD_OUTLINE_MM,
    BRACKET_END_DOWN_MM,
    BRACKET_SHELF_MM,
    HOLE_SETS,
    IO_DOWN_MM,
    IO_HEIGHT_MM,
    PCB_MM,
    REAR_PANEL_MM,
    SLOT_DATUM_MM,
    SLOT_OPENING_DOWN_MM,
    SLOT_OPENING_HEIGHT_MM,
    SLOT_PITCH_MM,
    STAND_OFF_MM,
)
from shapes.part import Mount, Solid
from shapes.pose import DIRECTIONS, OPPOSITE, Vec3
from shapes.solids import Corners, bar, sheet

_SHELF_ROOM_MM = 24.0  # cards come off their slots and a screwdriver gets at the brackets' bent ends
_STAND_OFF_DIAMETER_MM = 6.0
_TRAY_HOLE_MM = 3.5
_FAN_RIM_MM = 5.0  # a fan's opening is that much less than its frame
_TAB_NOTCH_MM = 4.0  # the brackets' tabs go down between board and rear panel
#: A grommet's rim on the board's side of the tray (common practice, no source).
_GROMMET_MM = 2.0
_GROMMET_RIM_MM = 4.0
_GROMMETED = ("CPU power cable", "main power cable")


def rear_openings(seat: Seat, slots: int, *, io: bool = True) -> dict[str, Corners]:
    """I/O aperture, slots, and the opening that brackets' bent ends pass and are screwed in."""
    datum = SLOT_DATUM_MM[0]
    openings = {"I/O aperture": seat.spans(IO_DOWN_MM, height=IO_HEIGHT_MM)} if io else {}
    for number in range(slots):
        begin, end = (datum + number * SLOT_PITCH_MM + down for down in SLOT_OPENING_DOWN_MM)
        openings[f"slot {number + 1}"] = seat.spans((begin, end), height=SLOT_OPENING_HEIGHT_MM)
    if not slots:
        return openings
    last = datum + (slots - 1) * SLOT_PITCH_MM
    ends = (datum + BRACKET_END_DOWN_MM[0], last + BRACKET_END_DOWN_MM[1])
    shelf = (BRACKET_SHELF_MM, BRACKET_SHELF_MM + _SHELF_ROOM_MM)
    return openings | {"brackets' opening": seat.spans(ends, height=shelf)}


def rear_panel(
    low: Vec3,
    high: Vec3,
    rects: Mapping[str, Corners],
    supply: Mount | None = None,
    fan: Mount | None = None,
    name: str = "rear",
) -> Solid:
    """A rear panel with openings, a power supply's opening and screws, and a fan's."""
    screws, rounds = [], {}
    if supply is not None:
        rects = {**rects, "power supply": supply_opening(supply)}
        screws += [(supply.mount2part, holes) for holes in supply.rows.values()]
    if fan is not None:
        x, y, z = (float(value) for value in fan.mount2part.origin)
        size, holes = next(iter(fan.rows.items()))
        rounds["rear fan"] = ((x, y, z), int(size) - _FAN_RIM_MM)
        screws.append((fan.mount2part, holes))
    return sheet(name, low, high, rects=rects, rounds=rounds, screws=screws)


def bracket_mounts(seat: Seat, slots: int, thick: float) -> dict[str, Mount]:
    """A mount of kind "bracket" in the middle of each slot opening, on the rear panel's inner face.

    It faces the front, its x the way the board's components stand: up along the bracket.
    """
    places = {}
    for number in range(slots):
        down = SLOT_DATUM_MM[0] + number * SLOT_PITCH_MM + sum(SLOT_OPENING_DOWN_MM) / 2.0
        at = seat.at(down, -REAR_PANEL_MM, sum(SLOT_OPENING_HEIGHT_MM) / 2.0)
        places[f"bracket_{number + 1}"] = mount(at, "front", "bracket", thick=thick, up=seat.out)
    return places


def board_mount(seat: Seat, fitted: str) -> Mount:
    """The mount of a board: every form all of whose holes have stand-offs of the form ``fitted``.

    Its x is the way to the board's top edge.
    """
    there = set(HOLE_SETS[fitted])
    rows = {
        form: seat.holes({letter: BOARD_HOLES_MM[letter] for letter in holes}, BOARD_HOLE_MM)
        for form, holes in HOLE_SETS.items()
        if there >= set(holes)
    }
    return mount(seat.origin, seat.out, "board", rows, up=OPPOSITE[seat.down])


def tray_openings(seat: Seat, form: str, slots: int) -> dict[str, Corners]:
    """CPU cut-out, cable openings and the notch for brackets' tabs, for a board of this form."""
    board = BOARD_OUTLINE_MM[form][1]
    openings = {
        "CPU cut-out": seat.spans((20.0, 150.0), (42.0, 155.0)),
        "CPU power cable": seat.spans((-26.0, -6.0), (25.0, 105.0)),
        "main power cable": seat.spans((40.0, 130.0), (board + 8.0, board + 38.0)),
    }
    if slots:
        last = SLOT_DATUM_MM[0] + (slots - 1) * SLOT_PITCH_MM
        notch = (-REAR_PANEL_MM, -REAR_PANEL_MM + _TAB_NOTCH_MM)
        openings["brackets' notch"] = seat.spans((SLOT_DATUM_MM[0] - 5.0, last + 18.0), notch)
    return openings


def tray(
    seat: Seat,
    form: str,
    low: Vec3,
    high: Vec3,
    openings: Mapping[str, Corners],
    name: str = "tray",
    screws: tuple[Mount, ...] = (),
    drilled: str = "".join(BOARD_HOLES_MM),
) -> Iterator[Solid]:
    """The board's tray between two corners, and the stand-offs of one form.

    screws : fan rows in the tray; drilled : the board holes it has, by letter, all if left out
    """
    holes = seat.holes({letter: BOARD_HOLES_MM[letter] for letter in drilled}, _TRAY_HOLE_MM)
    screw_holes = [(seat.pose, holes)]
    screw_holes += [(row.mount2part, holes) for row in screws for holes in row.rows.values()]
    yield sheet(name, low, high, rects=openings, screws=screw_holes)
    for letter in HOLE_SETS[form]:
        foot = seat.at(*BOARD_HOLES_MM[letter], -PCB_MM - STAND_OFF_MM)
        yield bar(f"stand_off_{letter}", foot, seat.out, STAND_OFF_MM, _STAND_OFF_DIAMETER_MM)


def grommets(seat: Seat, openings: Mapping[str, Corners]) -> Iterator[Solid]:
    """A rubber rim round each opening that boards' cables pass, on the board's side of the tray."""
    face = seat.at(0.0, 0.0, -PCB_MM - STAND_OFF_MM)
    out = DIRECTIONS[seat.out]
    for opening in _GROMMETED:
        corners = openings[opening]
        low = tuple(min(pair) for pair in zip(*corners, strict=True))
        high = tuple(max(pair) for pair in zip(*corners, strict=True))
        ends = []
        for side, corner in ((-1.0, low), (1.0, high)):
            beside = (c + side * _GROMMET_RIM_MM for c in corner)
            over = _GROMMET_MM if side * sum(out) > 0.0 else 0.0
            ends.append([f + o * over if o else b for f, o, b in zip(face, out, beside, strict=True)])
        (ax, ay, az), (bx, by, bz) = ends
        name = f"grommet_{opening.replace(' ', '_').lower()}"
        yield sheet(name, (ax, ay, az), (bx, by, bz), rects={opening: corners}, look="plastic")
