"""A small case: Mini-ITX board lying on a deck, the supply under it."""

from __future__ import annotations

from types import MappingProxyType
from typing import Annotated, Literal

from shapes.case import CP, Case, FanWord
from shapes.case_board import board_mount, bracket_mounts, rear_openings, rear_panel, tray, tray_openings
from shapes.case_drives import CAGE_MM, cage_height, drive_cage
from shapes.case_parts import (
    Inside,
    Seat,
    bulkhead_holes,
    check_row,
    fan_place,
    fan_row,
    feet,
    mount,
    plain_face,
    square,
    supply_mount,
    vented,
)
from shapes.fields import Length, choice, count, length
from shapes.form_factors import (
    BOARD_OUTLINE_MM,
    BRACKET_SHELF_MM,
    HOLE_SETS,
    PCB_MM,
    PSU_SIZE_MM,
    REAR_PANEL_MM,
    STAND_OFF_MM,
    PsuStyle,
)
from shapes.mirror import mirrored
from shapes.part import Mount, Part
from shapes.pose import Vec3

_FORM = "Mini-ITX"
_CABLES_MM = 50.0  # between supply and drive cage


class CaseShoebox(Case):
    """A box for a Mini-ITX board lying flat, the supply under its deck, the card upright at the window.

    Origin: rear lower corner of the outer shell on the window side; x to the front, y to the tray,
    z to the roof. The deck ends behind the front chamber, where a radiator stands from floor to roof.
    Mounts: ``tray`` for the board (components to the roof), ``psu``, ``roof`` and ``front`` for fans
    and radiators (``slide`` to the front and to the roof, from the row's middle), ``rear`` for a fan,
    ``bracket_1`` and so on for plates in the slots (x to the roof), ``bulkhead_1`` and so on in the
    roof, ``drive_1`` and so on in the cage, and the plain faces ``deck`` before the board and
    ``floor`` before the supply (``slide`` to the front, ``shift`` to the tray).
    ``mirrored``: window and tray change sides, the window panel is then on the ``tray`` side (+y), and
    the cage is drawn out there. A board that lies with its components up has no mirror image: it, the
    card's slots and the fan rows stay where they are, so ``board_drop`` and the rows' offsets then
    count from the window's inner face, and the card stands at the side away from it.
    Edges of cut sheet are sharp: deburr every opening before a tube or a hand goes through it.
    """

    mirrored: bool = choice(False, "window on the other side, over the board's top edge", source=CP)
    width: Length = length(240.0, "outside, window to tray side", source=CP, least=195, most=400)
    depth: Length = length(400.0, "outside, rear to front", source=CP, least=250, most=600)
    height: Length = length(310.0, "outside, without feet", source=CP, least=220, most=500)
    deck_height: Length = length(96.0, "from the floor to the deck's top face", source=CP, least=60, most=200)
    deck_length: Length = length(
        280.0, "from the rear panel to the deck's front end", source=CP, least=180, most=600
    )
    board_drop: Length = length(
        12.0, "from the tray-side panel to the board's top edge", source=CP, least=6, most=120
    )
    slots: int = count(2, "slots for the card", source=CP, least=1, most=3)
    roof_slots: Length = length(
        290.0, "length of the roof's screw slots; 0: none", source=CP, least=0, most=600
    )
    roof_middle: Length = length(
        170.0, "from the rear panel to the middle of the roof row", source=CP, least=0, most=600
    )
    roof_offset: Length = length(
        100.0, "from the tray-side panel to the middle of the roof row", source=CP, least=0, most=400
    )
    front_slots: Length = length(
        290.0, "length of the front's screw slots; 0: none", source=CP, least=0, most=500
    )
    front_middle: Length = length(
        154.0, "from the floor to the middle of the front row", source=CP, least=0, most=500
    )
    front_offset: Length = length(
        118.0, "from the tray-side panel to the middle of the front row", source=CP, least=0, most=400
    )
    rear_fan: Annotated[Literal["92", "120", "none"], FanWord] = choice(
        "92", "fan position over the I/O aperture", source=CP
    )
    rear_fan_drop: Length = length(
        60.0, "from the roof's inner face to the middle of the rear fan", source=CP, least=45, most=300
    )
    rear_fan_offset: Length = length(
        70.0, "from the tray-side panel to the middle of the rear fan", source=CP, least=45, most=300
    )
    psu: PsuStyle = choice("PS2", "power supply its opening is for", source=CP)
    psu_lift: Length = length(4.0, "height of the pads under the power supply", source=CP, least=0, most=40)
    bulkheads: int = count(
        0, "holes for bulkhead fittings in the roof's front end", source=CP, least=0, most=2
    )
    bulkhead_diameter: Length = length(21.0, "diameter of the bulkhead holes", source=CP, least=10, most=40)
    drive_cage: bool = choice(
        False, "removable cage for drives before the supply, drawn out at the window side", source=CP
    )
    drive_bays: int = count(1, "drives in the cage, one over the other", source=CP, least=1, most=5)

    def build(self) -> Part:
        """The case in its own frame; ValueError for what does not go in, or rows that run out of a panel."""
        self._check()
        (x0, y0, z0), (x1, y1, z1) = self._low, self._high
        rows, holes = self._rows(), self._bulkheads()
        cage, drives = drive_cage(self._cage_low, self.drive_bays) if self.drive_cage else ((), {})
        mounts = rows | self._mounts() | drives
        supply = PSU_SIZE_MM[self.psu][2]
        vent = square((x0 + supply / 2.0, (y0 + y1) / 2.0, 0.0), supply - 30.0)
        size, rear = (self.depth, self.width, self.height), rear_openings(self._seat, self.slots)
        end = (x0 + self.deck_length, y1, z0 + self.deck_height)
        solids = (
            vented("roof", (0.0, 0.0, z1), size, rows.get("roof"), rounds=holes),
            vented("front", (x1, 0.0, z0), (self.depth, self.width, z1), rows.get("front")),
            vented("floor", (0.0, 0.0, 0.0), (*size[:2], z0), None, {"supply's vent": vent}),
            rear_panel((0.0, 0.0, z0), (x0, self.width, z1), rear, mounts["psu"], rows.get("rear")),
            *self._side_panels(),
            *tray(
                self._seat,
                _FORM,
                (x0, y0, end[2] - self.panel),
                end,
                tray_openings(self._seat, _FORM, self.slots),
                name="deck",
                drilled=HOLE_SETS[_FORM],
            ),
            *cage,
            *feet(self.depth, self.width, self.feet),
        )
        removals = self._removals(**dict.fromkeys([solid.name for solid in cage], "window"))
        part = Part(solids, mounts=MappingProxyType(mounts), removals=MappingProxyType(removals))
        return mirrored(part, self.width) if self.mirrored else part

    def _across(self, offset: float) -> float:
        """A place so far from the side panel beside the board's top edge."""
        return self._low[1] + offset if self.mirrored else self._high[1] - offset

    @property
    def _seat(self) -> Seat:
        x0, _, z0 = self._low
        at = (x0 + REAR_PANEL_MM, self._across(self.board_drop), z0 + self.deck_height + STAND_OFF_MM)
        return Seat(at, down="tray" if self.mirrored else "window", out="roof")

    @property
    def _cage_low(self) -> Vec3:
        (x0, y0, z0), (_, y1, _) = self._low, self._high
        x = x0 + PSU_SIZE_MM[self.psu][2] + _CABLES_MM
        return x, (y0 + y1 - CAGE_MM[1]) / 2.0, z0

    def _check(self) -> None:
        (x0, y0, z0), (x1, y1, z1) = self._low, self._high
        width, height, depth = PSU_SIZE_MM[self.psu]
        beside = self.board_drop + BOARD_OUTLINE_MM[_FORM][0]
        over = self._seat.origin[2] + PCB_MM + BRACKET_SHELF_MM
        under = self.deck_height - self.panel
        needs = [
            ("across the board", beside, y1 - y0),
            ("from floor to the card's bracket end", over - z0, z1 - z0),
            ("for the supply under the deck", self.psu_lift + height, under),
            ("across the supply", width, y1 - y0),
            ("for the deck", self.deck_length, x1 - x0),
            ("along the board", REAR_PANEL_MM + BOARD_OUTLINE_MM[_FORM][1], self.deck_length),
        ]
        if self.drive_cage:
            needs += [
                ("for the drive cage under the deck", cage_height(self.drive_bays), under),
                ("for supply and drive cage", depth + _CABLES_MM + CAGE_MM[0], x1 - x0),
            ]
        for what, need, have in needs:
            if need > have:
                raise ValueError(f"{what} {need:g} mm are needed, there are {have:g}")

    def _rows(self) -> dict[str, Mount]:
        (x0, _, z0), (x1, _, z1) = self._low, self._high
        rows: dict[str, Mount] = {}
        if self.roof_slots:
            at = (x0 + self.roof_middle, self._across(self.roof_offset), z1)
            rows["roof"] = fan_row(at, "floor", self.roof_slots, self.panel)
        if self.front_slots:
            at = (x1, self._across(self.front_offset), z0 + self.front_middle)
            rows["front"] = fan_row(at, "rear", self.front_slots, self.panel)
        if self.rear_fan != "none":
            at = (x0, self._across(self.rear_fan_offset), z1 - self.rear_fan_drop)
            rows["rear"] = fan_place(at, "front", self.rear_fan, self.panel)
        for name, row in rows.items():
            check_row(name, row, Inside(self._low, self._high))
        return rows

    def _mounts(self) -> dict[str, Mount]:
        (x0, y0, z0), (x1, y1, _) = self._low, self._high
        _, height, depth = PSU_SIZE_MM[self.psu]
        supply = (x0, (y0 + y1) / 2.0, z0 + self.psu_lift + height / 2.0)
        before = self._seat.at(0.0, BOARD_OUTLINE_MM[_FORM][1])[0]
        deck = z0 + self.deck_height
        mounts = {
            "tray": board_mount(self._seat, _FORM),
            "psu": supply_mount(supply, "front", self.psu, thick=self.panel, mirrored=self.mirrored),
            "deck": plain_face("roof", (before, y0, deck), (x0 + self.deck_length, y1, deck), self.panel),
            "floor": plain_face("roof", (x0 + depth, y0, z0), (x1, y1, z0), self.panel),
        }
        for name, (at, _) in self._bulkheads().items():
            mounts[name] = mount(at, "floor", "bulkhead", thick=self.panel)
        return mounts | bracket_mounts(self._seat, self.slots, self.panel)

    def _bulkheads(self) -> dict[str, tuple[Vec3, float]]:
        x, y, z = self._high
        return bulkhead_holes((x, y - 60.0, z), self.bulkheads, self.bulkhead_diameter)
