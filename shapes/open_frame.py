"""An open bench frame of two decks with a radiator rail."""

from __future__ import annotations

from collections.abc import Iterator
from types import MappingProxyType

from shapes.case import CP
from shapes.case_board import board_mount, bracket_mounts, rear_openings, rear_panel, tray, tray_openings
from shapes.case_drives import drive_place, drive_shelf
from shapes.case_parts import Inside, Seat, check_row, fan_row, feet, plain_face, supply_mount, vented
from shapes.drive_holes import DRIVE_HOLES_ALONG_MM
from shapes.fields import Length, Shape, choice, count, length
from shapes.form_factors import (
    BOARD_OUTLINE_MM,
    BRACKET_SHELF_MM,
    PCB_MM,
    PSU_SIZE_MM,
    REAR_PANEL_MM,
    SLOT_DATUM_MM,
    SLOT_PITCH_MM,
    STAND_OFF_MM,
    BoardForm,
    PsuStyle,
)
from shapes.part import Mount, Part, Solid
from shapes.pose import Vec3
from shapes.solids import block

_POST_MM = 12.0
_SHELF_EDGE_MM = 6.0  # of the bracket rail over the brackets' bent ends
_DRIVE_PITCH_MM = 190.0  # a 147 mm drive (SFF-8301) and its plugs
_DRIVES_MM = 60.0  # from the supply to the drives: plugs and cables


class OpenFrame(Shape):
    """A bench frame: the board lies on the upper deck, supply and drives on the lower one.

    Origin: rear lower corner of the lower deck on the window side; x to the front, y to the tray,
    z to the roof; feet below z = 0. Cards stand up at the window side, held by a rail with slot
    openings; there is no I/O panel. An upright rail at the tray side carries radiators, inside or,
    with ``side: outside``, away from the board.
    Mounts: ``tray`` for the board (components to the roof), ``rail`` for fans and radiators (``slide`` to
    the front, from the row's middle), ``psu``, ``bracket_1`` and so on for plates in the slots (x to
    the roof), ``drive_1`` and ``drive_2`` (``slide`` to the window), and the plain faces ``deck`` before
    the board and ``floor``, the lower deck (``slide`` to the front, ``shift`` to the tray).
    Nothing covers live or turning parts: keep hands, hair and spilled coolant away while it runs.
    """

    width: Length = length(400.0, "lower and upper deck, window to tray side", source=CP, least=200, most=700)
    depth: Length = length(380.0, "both decks, rear to front", source=CP, least=200, most=700)
    deck_height: Length = length(
        120.0, "from the lower deck's underside to the upper deck's top face", source=CP, least=70, most=300
    )
    panel: Length = length(2.0, "thickness of decks and rails", source=CP, least=0.8, most=6)
    feet: Length = length(12.0, "height of the feet", source=CP, above=0, most=80)
    stand_offs: BoardForm = choice("ATX", "board whose stand-offs are screwed in", source="microATX 1.2")
    slots: int = count(7, "slot openings in the bracket rail", source="ATX hole table", least=1, most=8)
    board_drop: Length = length(
        72.0, "from the rail's inner face to the board's top edge", source=CP, least=10, most=300
    )
    rail_slots: Length = length(
        365.0, "length of the rail's screw slots; 0: no rail", source=CP, least=0, most=700
    )
    rail_height: Length = length(
        160.0, "from the upper deck to the rail's top edge", source=CP, least=150, most=300
    )
    psu: PsuStyle = choice("PS2", "power supply its bracket is for", source=CP)
    psu_offset: Length = length(
        110.0, "from the tray side to the middle of the supply", source=CP, least=60, most=600
    )
    drives: int = count(2, "places for drives on the lower deck", source=CP, least=0, most=2)

    def build(self) -> Part:
        """The frame; ValueError where board, supply, drives or rail have no room."""
        self._check()
        row, places = self._row(), self._drives()
        mounts = self._mounts() | places | ({"rail": row} if row else {})
        thick, top = self.panel, self.deck_height
        deck = tray(
            self._seat,
            self.stand_offs,
            (0.0, 0.0, top - thick),
            (self.depth, self.width, top),
            tray_openings(self._seat, self.stand_offs, self.slots),
            name="upper_deck",
        )
        solids = (
            drive_shelf("lower_deck", (0.0, 0.0, 0.0), (self.depth, self.width, thick), *places.values()),
            *deck,
            *self._posts(),
            self._bracket_rail(),
            self._supply_bracket(mounts["psu"]),
            *((self._rail(row),) if row else ()),
            *feet(self.depth, self.width, self.feet),
        )
        return Part(solids, mounts=MappingProxyType(mounts))

    @property
    def _inner(self) -> float:
        """The rail's inner face."""
        return self.width - self.panel

    @property
    def _seat(self) -> Seat:
        at = (self.panel + REAR_PANEL_MM, self._inner - self.board_drop, self.deck_height + STAND_OFF_MM)
        return Seat(at, down="window", out="roof")

    @property
    def _last_slot(self) -> float:
        return SLOT_DATUM_MM[0] + (self.slots - 1) * SLOT_PITCH_MM

    def _check(self) -> None:
        down, along = BOARD_OUTLINE_MM[self.stand_offs]
        width, height, depth = PSU_SIZE_MM[self.psu]
        beside = max(down, self._last_slot + 20.0)
        reach = self.width - self.psu_offset - width / 2.0
        needs = [
            ("across board and slots", self.panel + self.board_drop + beside, self.width),
            ("along the board", self._seat.origin[0] + along, self.depth),
            ("for the supply between the decks", height, self.deck_height - 2.0 * self.panel),
            ("for the supply beside its posts", _POST_MM, min(reach, self.psu_offset - width / 2.0)),
        ]
        if self.drives:
            needs += [
                ("along supply and drives", depth + _DRIVES_MM + 102.0, self.depth),
                ("for the drives side by side", self.drives * _DRIVE_PITCH_MM, self.width),
            ]
        for what, need, have in needs:
            if need > have:
                raise ValueError(f"{what} {need:g} mm are needed, there are {have:g}")

    def _row(self) -> Mount | None:
        if not self.rail_slots:
            return None
        at = (self.depth / 2.0, self._inner, self.deck_height + self.rail_height / 2.0)
        row = fan_row(at, "window", self.rail_slots, self.panel, "front")
        low = (0.0, 0.0, self.deck_height)
        check_row("rail", row, Inside(low, (self.depth, self._inner, self.deck_height + self.rail_height)))
        return row

    def _mounts(self) -> dict[str, Mount]:
        thick, seat = self.panel, self._seat
        supply = (thick, self.width - self.psu_offset, thick + PSU_SIZE_MM[self.psu][1] / 2.0)
        before, top = seat.at(0.0, BOARD_OUTLINE_MM[self.stand_offs][1])[0], self.deck_height
        return {
            "tray": board_mount(seat, self.stand_offs),
            "psu": supply_mount(supply, "front", self.psu, thick=thick),
            "deck": plain_face("roof", (before, 0.0, top), (self.depth, self._inner, top), thick),
            "floor": plain_face("roof", (0.0, 0.0, thick), (self.depth, self.width, thick), thick),
        } | bracket_mounts(seat, self.slots, thick)

    def _drives(self) -> dict[str, Mount]:
        """Places side by side before the supply, the plugs to the tray side."""
        x = self.panel + PSU_SIZE_MM[self.psu][2] + _DRIVES_MM + 51.0
        holes = sum(DRIVE_HOLES_ALONG_MM["3.5"]) / 2.0
        places = {}
        for number in range(self.drives):
            plugs = self.width - 8.0 - _DRIVE_PITCH_MM * number
            places[f"drive_{number + 1}"] = drive_place((x, plugs - holes, self.panel), "roof", "window")
        return places

    def _posts(self) -> Iterator[Solid]:
        """Four posts between the decks."""
        z = (self.panel, self.deck_height - self.panel)
        for end, x in (("rear", self.panel), ("front", self.depth - _POST_MM)):
            for side, y in (("window", 0.0), ("tray", self.width - _POST_MM)):
                low, high = (x, y, z[0]), (x + _POST_MM, y + _POST_MM, z[1])
                yield block(f"post_{end}_{side}", low, high, "metal")

    def _bracket_rail(self) -> Solid:
        """The upright sheet that brackets are screwed to; it leaves the I/O block free."""
        seat = self._seat
        last, first = (seat.at(down, 0.0)[1] for down in (self._last_slot + 20.0, SLOT_DATUM_MM[0] - 5.5))
        top = seat.origin[2] + PCB_MM + BRACKET_SHELF_MM + _SHELF_EDGE_MM
        rects = rear_openings(seat, self.slots, io=False)
        return rear_panel((0.0, last, self.deck_height), (self.panel, first, top), rects, name="bracket_rail")

    def _supply_bracket(self, supply: Mount) -> Solid:
        middle, half = self.width - self.psu_offset, PSU_SIZE_MM[self.psu][0] / 2.0 + 4.0
        low = (0.0, middle - half, self.panel)
        high = (self.panel, middle + half, self.deck_height - self.panel)
        return rear_panel(low, high, {}, supply, name="supply_bracket")

    def _rail(self, row: Mount) -> Solid:
        low: Vec3 = (0.0, self._inner, self.deck_height)
        high = (self.depth, self.width, self.deck_height + self.rail_height)
        return vented("rail", low, high, row, along="front")
