"""A dual-chamber case: board and loop behind the window, supply and drives behind the tray."""

from __future__ import annotations

from collections.abc import Iterator
from types import MappingProxyType
from typing import Literal

from shapes.case import CP, Case, RearFan
from shapes.case_board import (
    board_mount,
    bracket_mounts,
    grommets,
    rear_openings,
    rear_panel,
    tray,
    tray_openings,
)
from shapes.case_drives import drive_place, drive_shelf
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
    supply_mount,
    vent_of,
    vented,
)
from shapes.drive_holes import DRIVE_HOLES_ALONG_MM
from shapes.fields import Length, choice, count, length
from shapes.form_factors import (
    BOARD_OUTLINE_MM,
    PSU_SIZE_MM,
    REAR_PANEL_MM,
    STAND_OFF_MM,
    BoardForm,
    PsuStyle,
)
from shapes.mirror import mirrored
from shapes.part import Mount, Part, Solid
from shapes.pose import Vec3
from shapes.solids import Corners, sheet

_PLATE_MM = (155.0, 112.0)  # along and up: a 3.5 in drive and its plugs
_PLATE_GAP_MM = 6.0
_PLATE_SHEET_MM = 1.0
_CABLES_MM = 50.0  # between supply and drive plates


class CaseDual(Case):
    """A wide case of two chambers with an upright tray between them; the front is glass or sheet.

    Origin: rear lower corner of the outer shell on the window side; x to the front, y to the tray,
    z to the roof. The window's chamber takes board, cards and radiators in roof, floor and side; the
    supply stands upright behind the tray, drives on plates that are drawn off to the tray side.
    ``mirrored``: the board stands upside down and the chambers change sides; x, z and all words
    keep their ways, the window panel is then on the ``tray`` side (+y).
    Mounts: ``roof`` and ``floor`` (``slide`` to the front), ``side`` in the tray before the board
    (``slide`` to the roof) and ``rear`` for fans and radiators, from each row's middle; ``tray`` for
    the board, ``psu``, ``bracket_1`` and so on for plates in the slots, ``bulkhead_1`` and so on in the
    roof, ``drive_1`` and so on (``slide`` to the rear), and the plain face ``chamber_floor`` of the
    supply's chamber (``slide`` to the front, ``shift`` to the tray).
    Edges of cut sheet are sharp: deburr every opening before a tube or a hand goes through it.
    """

    width: Length = length(290.0, "outside, window to tray side", source=CP, least=250, most=450)
    depth: Length = length(475.0, "outside, rear to front", source=CP, least=330, most=700)
    height: Length = length(450.0, "outside, without feet", source=CP, least=330, most=700)
    mirrored: bool = choice(False, "board upside down, chambers on the other sides", source=CP)
    front: Literal["glass", "steel"] = choice("glass", "front panel", source=CP)
    chamber: Length = length(
        180.0, "from the window panel's inner face to the tray", source=CP, least=150, most=300
    )
    board_drop: Length = length(
        68.0, "from the roof's inner face down to the board's upper edge", source=CP, least=30, most=300
    )
    stand_offs: BoardForm = choice("ATX", "board whose stand-offs are screwed in", source="microATX 1.2")
    slots: int = count(7, "slot openings in the rear panel", source="ATX hole table", least=1, most=8)
    roof_slots: Length = length(
        385.0, "length of the roof's screw slots; 0: none", source=CP, least=0, most=700
    )
    floor_slots: Length = length(
        385.0, "length of the floor's screw slots; 0: none", source=CP, least=0, most=700
    )
    row_middle: Length = length(
        215.0, "from the rear panel to the middle of roof and floor row", source=CP, least=0, most=700
    )
    row_offset: Length = length(
        85.0, "from the tray to the middle of roof and floor row", source=CP, least=60, most=300
    )
    side_slots: Length = length(
        365.0, "length of the side's screw slots; 0: none", source=CP, least=0, most=700
    )
    side_middle: Length = length(
        224.0, "from the floor to the middle of the side row", source=CP, least=0, most=700
    )
    side_inset: Length = length(
        80.0, "from the front panel's inner face to the middle of the side row", source=CP, least=60, most=300
    )
    rear_fan: RearFan = choice("120", "fan position beside the I/O aperture", source=CP)
    rear_fan_drop: Length = length(
        52.0, "from the board's top edge to the middle of the rear fan", source=CP, least=20, most=300
    )
    rear_fan_offset: Length = length(
        116.0, "from the tray to the middle of the rear fan", source=CP, least=60, most=300
    )
    psu: PsuStyle = choice("PS2", "power supply its opening is for", source=CP)
    psu_lift: Length = length(4.0, "height of the pads under the power supply", source=CP, least=0, most=40)
    grommets: bool = choice(False, "rubber rims in the tray's cable openings", source=CP)
    drive_plates: int = count(2, "plates for one drive each, behind the tray", source=CP, least=0, most=2)
    bulkheads: int = count(
        0, "holes for bulkhead fittings in the roof's front end", source=CP, least=0, most=2
    )
    bulkhead_diameter: Length = length(21.0, "diameter of the bulkhead holes", source=CP, least=10, most=40)

    def build(self) -> Part:
        """The case in its own frame; ValueError for chambers too small or openings that run together."""
        self._check()
        (x0, _, z0), (x1, _, z1) = self._low, self._high
        rows, drives = self._rows(), self._drives()
        mounts = rows | self._mounts() | drives
        plates = tuple(self._plates(drives))
        size, thick = (self.depth, self.width, self.height), self.panel
        solids = (
            vented("roof", (0.0, 0.0, z1), size, rows.get("roof"), rounds=self._bulkheads()),
            sheet(
                "front",
                (x1, 0.0, z0),
                (self.depth, self.width, z1),
                look="glass" if self._glazed else "panel",
            ),
            vented("floor", (0.0, 0.0, 0.0), (*size[:2], z0), rows.get("floor")),
            rear_panel(
                (0.0, 0.0, z0),
                (x0, self.width, z1),
                rear_openings(self._seat, self.slots),
                mounts["psu"],
                rows.get("rear"),
            ),
            *self._side_panels(),
            *self._tray(rows.get("side"), thick),
            *plates,
            *feet(self.depth, self.width, self.feet),
        )
        removals = self._removals(**dict.fromkeys([plate.name for plate in plates], "tray"))
        part = Part(solids, mounts=MappingProxyType(mounts), removals=MappingProxyType(removals))
        return mirrored(part, self.width) if self.mirrored else part

    @property
    def _glazed(self) -> bool:
        return self.front == "glass"

    @property
    def _high(self) -> Vec3:
        front = self.glass if self._glazed else self.panel
        return (self.depth - front, self.width - self.panel, self.height - self.panel)

    @property
    def _tray_y(self) -> float:
        """The tray's face toward the board."""
        return self._low[1] + self.chamber

    @property
    def _seat(self) -> Seat:
        x, y, z = self._low[0] + REAR_PANEL_MM, self._tray_y - STAND_OFF_MM, self._high[2] - self.board_drop
        if self.mirrored:
            return Seat((x, y, z - BOARD_OUTLINE_MM[self.stand_offs][0]), down="roof")
        return Seat((x, y, z))

    def _check(self) -> None:
        (x0, _, z0), (x1, y1, z1) = self._low, self._high
        down, along = BOARD_OUTLINE_MM[self.stand_offs]
        width, height, depth = PSU_SIZE_MM[self.psu]
        plates = self.drive_plates * (_PLATE_MM[1] + _PLATE_GAP_MM)
        needs = [
            (f"for the {self.stand_offs} board down from its upper edge", down, z1 - self.board_drop - z0),
            ("along the board", REAR_PANEL_MM + along, x1 - x0),
            ("for the supply behind the tray", height, y1 - self._tray_y - self.panel),
            ("for the upright supply", self.psu_lift + width, z1 - z0),
            ("for supply and drive plates", depth + _CABLES_MM + _PLATE_MM[0] * bool(plates), x1 - x0),
            ("for the drive plates, one over the other", plates, z1 - z0),
        ]
        for what, need, have in needs:
            if need > have:
                raise ValueError(f"{what} {need:g} mm are needed, there are {have:g}")

    def _rows(self) -> dict[str, Mount]:
        (x0, _, z0), (x1, _, z1), tray = self._low, self._high, self._tray_y
        rows: dict[str, Mount] = {}
        along = (x0 + self.row_middle, tray - self.row_offset)
        if self.roof_slots:
            rows["roof"] = fan_row((*along, z1), "floor", self.roof_slots, self.panel)
        if self.floor_slots:
            rows["floor"] = fan_row((*along, z0), "roof", self.floor_slots, self.panel)
        if self.side_slots:
            at = (x1 - self.side_inset, tray, z0 + self.side_middle)
            rows["side"] = fan_row(at, "window", self.side_slots, self.panel)
        if self.rear_fan != "none":
            at = (x0, tray - self.rear_fan_offset, self._seat.at(self.rear_fan_drop, 0.0)[2])
            rows["rear"] = fan_place(at, "front", self.rear_fan, self.panel)
        for name, row in rows.items():
            check_row(name, row, Inside(self._low, (x1, tray, z1)))
        return rows

    def _mounts(self) -> dict[str, Mount]:
        (x0, _, z0), (x1, y1, _) = self._low, self._high
        behind = self._tray_y + self.panel
        width, _, depth = PSU_SIZE_MM[self.psu]
        supply = (x0, (behind + y1) / 2.0, z0 + self.psu_lift + width / 2.0)
        mounts = {
            "tray": board_mount(self._seat, self.stand_offs),
            "psu": supply_mount(
                supply, "front", self.psu, thick=self.panel, up="tray", mirrored=self.mirrored
            ),
            "chamber_floor": plain_face("roof", (x0 + depth, behind, z0), (x1, y1, z0), self.panel),
        }
        for name, (at, _) in self._bulkheads().items():
            mounts[name] = mount(at, "floor", "bulkhead", thick=self.panel)
        return mounts | bracket_mounts(self._seat, self.slots, self.panel)

    def _bulkheads(self) -> dict[str, tuple[Vec3, float]]:
        x, _, z = self._high
        return bulkhead_holes((x, self._tray_y - 50.0, z), self.bulkheads, self.bulkhead_diameter)

    def _tray(self, side: Mount | None, thick: float) -> Iterator[Solid]:
        (x0, _, z0), (x1, _, z1), face = self._low, self._high, self._tray_y
        openings = tray_openings(self._seat, self.stand_offs, self.slots)
        supply: Corners = ((x0 + 165.0, 0.0, z0 + 6.0), (x0 + 245.0, 0.0, z0 + 46.0))
        vent = {} if side is None else {"fan row's vent": vent_of(side)}
        yield from tray(
            self._seat,
            self.stand_offs,
            (x0, face, z0),
            (x1, face + thick, z1),
            {**openings, "supply's cables": supply, **vent},
            screws=() if side is None else (side,),
        )
        if self.grommets:
            yield from grommets(self._seat, openings)

    def _drives(self) -> dict[str, Mount]:
        """Places on the plates' far faces; a drive's plugs point to the front."""
        x = self._low[0] + PSU_SIZE_MM[self.psu][2] + _CABLES_MM
        y = self._tray_y + self.panel + _PLATE_SHEET_MM
        places = {}
        for number in range(self.drive_plates):
            z = self._low[2] + _PLATE_GAP_MM + number * (_PLATE_MM[1] + _PLATE_GAP_MM) + _PLATE_MM[1] / 2.0
            holes = x + _PLATE_MM[0] - sum(DRIVE_HOLES_ALONG_MM["3.5"]) / 2.0 - 4.0
            places[f"drive_{number + 1}"] = drive_place((holes, y, z), "tray", "rear")
        return places

    def _plates(self, drives: dict[str, Mount]) -> Iterator[Solid]:
        x = self._low[0] + PSU_SIZE_MM[self.psu][2] + _CABLES_MM
        for name, place in drives.items():
            _, y, z = place.mount2part.origin.tolist()
            low = (x, y - _PLATE_SHEET_MM, z - _PLATE_MM[1] / 2.0)
            yield drive_shelf(f"{name}_plate", low, (x + _PLATE_MM[0], y, z + _PLATE_MM[1] / 2.0), place)
