"""A steel tower case, mid or full size."""

from __future__ import annotations

from collections.abc import Iterator
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Literal

from pydantic import model_validator

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
from shapes.case_shroud import INSET_MM, Cage, Shroud
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

if TYPE_CHECKING:
    from shapes.case_bays import Bays

#: What a full tower has where nothing else is given (common practice, no source).
FULL_MM = MappingProxyType(
    {
        "width": 235.0,
        "depth": 560.0,
        "height": 590.0,
        "roof_slots": 505.0,
        "roof_middle": 275.0,
        "front_slots": 465.0,
        "front_middle": 344.0,
        "board_drop": 88.0,
        "rear_fan_drop": 140.0,
        "shroud_length": 470.0,
        "floor_middle": 280.0,
    }
)
#: And a mirrored mid tower: the CPU's power plug is at the board's lower edge.
MIRRORED_MM = MappingProxyType({"board_drop": 40.0, "rear_fan_drop": 92.0})


class CaseTower(Case):
    """A tower: sheet panels with real openings, tray with stand-offs, fan rails, shroud.

    Origin: rear lower corner of the outer shell on the window side; x to the front, y to the tray,
    z to the roof, so every coordinate of the shell is positive and the feet lie below z = 0.
    ``size: full`` is 235 x 560 x 590 mm with rails for 480 mm in the roof and 420 in front; what is
    given beside it counts. ``mirrored``: the board stands upside down and window and tray change
    sides, so that seen from the front the window is on the right; x, z and all words keep their
    ways, the window panel is then on the ``tray`` side (+y), ``board_drop`` counts to the board's slot
    end (40 in a mid tower) and the rear fan stays beside the I/O block: ``rear_fan_drop`` then counts
    up, from ``board_drop`` below the board.
    ``slide`` counts from a row's or face's middle: to the front on ``roof``, ``floor`` and ``shroud``,
    to the roof on ``front``, ``rear`` and ``tray_wall``; ``shift``, on plain faces only: to the tray on
    ``shroud``, to the rear on ``tray_wall`` (mirrored: to the front).
    The tray is drilled for every board form, ``stand_offs`` says whose are screwed in.
    Mounts: ``roof``, ``front``, ``rear``, ``floor`` for fans, radiators and grilles, with a row for
    each fan size; ``tray`` for the board, ``psu``, ``bracket_1`` and so on for plates in the slot
    openings, ``pass_1`` and so on in the shroud and ``bulkhead_1`` and so on in the roof for bulkhead
    fittings, ``drive_1`` and so on in the drive cage, ``bay_1`` and so on from below for 5.25 in
    devices (fixed ``by: tray``, mirrored ``by: window``), and plain faces to stand pumps and reservoirs
    on: ``shroud`` and ``tray_wall``, the tray in front of the board.
    Edges of cut sheet are sharp: deburr every opening before a tube or a hand goes through it.
    """

    size: Literal["mid", "full"] = choice("mid", "class of case: its sizes where none are given", source=CP)
    mirrored: bool = choice(False, "board upside down, window on the other side", source=CP)
    cable_room: Length = length(25.0, "between tray and tray-side panel", source=CP, least=8, most=80)
    board_drop: Length = length(
        68.0, "from the roof's inner face down to the board's upper edge", source=CP, least=30, most=300
    )
    stand_offs: BoardForm = choice("ATX", "board whose stand-offs are screwed in", source="microATX 1.2")
    slots: int = count(7, "slot openings in the rear panel", source="ATX hole table", least=1, most=8)
    roof_slots: Length = length(
        385.0, "length of the roof's screw slots; 0: none", source=CP, least=0, most=800
    )
    roof_middle: Length = length(
        215.0, "from the rear panel to the middle of the roof row", source=CP, least=0, most=800
    )
    roof_offset: Length = length(
        110.0, "from the tray to the middle of the roof row", source=CP, least=0, most=400
    )
    front_slots: Length = length(
        365.0, "length of the front's screw slots; 0: none", source=CP, least=0, most=800
    )
    front_middle: Length = length(
        264.0, "from the floor to the middle of the front row", source=CP, least=0, most=800
    )
    front_offset: Length = length(
        92.0, "from the tray to the middle of the front row", source=CP, least=0, most=400
    )
    rear_fan: RearFan = choice("120", "fan position beside the I/O aperture", source=CP)
    rear_fan_drop: Length = length(
        120.0,
        "from the roof's inner face down to the rear fan's middle",
        source=CP,
        least=60,
        most=400,
    )
    rear_fan_offset: Length = length(
        116.0, "from the tray to the middle of the rear fan", source=CP, least=60, most=400
    )
    floor_slots: Length = length(
        130.0, "length of the floor's screw slots; 0: none", source=CP, least=0, most=800
    )
    floor_middle: Length = length(
        310.0, "from the rear panel to the middle of the floor row", source=CP, least=0, most=800
    )
    psu: PsuStyle = choice("PS2", "power supply its opening is for", source=CP)
    psu_lift: Length = length(4.0, "height of the pads under the power supply", source=CP, least=0, most=40)
    shroud: bool = choice(True, "cover over the power supply", source=CP)
    shroud_height: Length = length(
        100.0, "from the floor to the shroud's top face", source=CP, least=60, most=200
    )
    shroud_length: Length = length(
        400.0, "from the rear panel to the shroud's front end", source=CP, least=170, most=800
    )
    passes: int = count(2, "round openings for tubes in the shroud", source=CP, least=0, most=3)
    pass_diameter: Length = length(30.0, "diameter of the shroud's openings", source=CP, least=10, most=60)
    bulkheads: int = count(0, "bulkhead holes in the roof's front end", source=CP, least=0, most=2)
    bulkhead_diameter: Length = length(21.0, "diameter of the bulkhead holes", source=CP, least=10, most=40)
    grommets: bool = choice(False, "rubber rims in the tray's cable openings", source=CP)
    drive_cage: bool = choice(False, "removable cage for drives under the shroud's front end", source=CP)
    drive_bays: int = count(2, "drives in the cage, one over the other", source=CP, least=1, most=5)

    bays: int = count(
        0, "places for 5.25 in devices in the front, one above the other", source=CP, least=0, most=4
    )
    bay_drop: Length = length(
        14.0, "from the roof's inner face down to the bays' opening", source=CP, least=2, most=300
    )

    @model_validator(mode="before")
    @classmethod
    def _full(cls, given: Any) -> Any:
        if not isinstance(given, dict):
            return given
        usual = FULL_MM if given.get("size") == "full" else MIRRORED_MM if given.get("mirrored") else {}
        return {**usual, **given}

    def build(self) -> Part:
        """The case in its own frame; ValueError for panels, rows or openings that run into each other."""
        self._check()
        rows, cage, shroud = self._rows(), self._cage(), self._shroud()
        drawers, drives = cage.build() if cage else ((), {})
        bays = self._bays(rows.get("front"))
        mounts = rows | self._mounts(shroud) | drives | (bays.mounts() if bays else {})
        solids = (
            *self._shell(rows, bays),
            rear_panel(
                (0.0, 0.0, self.panel),
                (self.panel, self.width, self._high[2]),
                rear_openings(self._seat, self.slots),
                mounts["psu"],
                rows.get("rear"),
            ),
            *self._side_panels(),
            *self._tray(cage),
            *(shroud.solids(cage) if shroud else ()),
            *drawers,
            *(bays.solids() if bays else ()),
            *feet(self.depth, self.width, self.feet),
        )
        removals = self._removals(**dict.fromkeys([solid.name for solid in drawers], "window"))
        part = Part(solids, mounts=MappingProxyType(mounts), removals=MappingProxyType(removals))
        return mirrored(part, self.width) if self.mirrored else part

    @property
    def _tray_y(self) -> float:
        """The tray's face toward the board."""
        return self._high[1] - self.cable_room - self.panel

    @property
    def _supply_height(self) -> float:
        """What the board must stay above: the shroud, or the power supply."""
        return self.shroud_height if self.shroud else self.psu_lift + PSU_SIZE_MM[self.psu][1]

    @property
    def _seat(self) -> Seat:
        x, y, z = self._low[0] + REAR_PANEL_MM, self._tray_y - STAND_OFF_MM, self._high[2] - self.board_drop
        if self.mirrored:
            return Seat((x, y, z - BOARD_OUTLINE_MM[self.stand_offs][0]), down="roof")
        return Seat((x, y, z))

    def _shroud(self) -> Shroud | None:
        if not self.shroud:
            return None
        low, end = self._low, self._low[0] + self.shroud_length
        passes = (self.passes, self.pass_diameter)
        return Shroud(low, end, self._tray_y, self.shroud_height, self.panel, *passes)

    def _check(self) -> None:
        (x0, _, z0), (x1, _, z1) = self._low, self._high
        down, along = BOARD_OUTLINE_MM[self.stand_offs]
        room_down, room_along = z1 - self.board_drop - z0 - self._supply_height, x1 - x0 - REAR_PANEL_MM
        if down > room_down or along > room_along:
            raise ValueError(
                f"no room for the {self.stand_offs} board of {down:g} x {along:g} mm: from its top edge to "
                f"the power supply's room there are {room_down:g} mm, to the front {room_along:g} mm"
            )
        if (self.shroud or self.drive_cage) and self.shroud_length > x1 - x0:
            raise ValueError(
                f"a shroud of {self.shroud_length:g} mm does not go into {x1 - x0:g} mm of length"
            )
        needed = self.psu_lift + PSU_SIZE_MM[self.psu][1] + self.panel
        if self.shroud and self.shroud_height < needed:
            raise ValueError(
                f"the shroud is {self.shroud_height:g} mm high, the power supply under it needs {needed:g} mm"
            )

    def _rows(self) -> dict[str, Mount]:
        (x0, y0, z0), (x1, _, z1), tray = self._low, self._high, self._tray_y
        rows: dict[str, Mount] = {}
        if self.roof_slots:
            at = (x0 + self.roof_middle, tray - self.roof_offset, z1)
            rows["roof"] = fan_row(at, "floor", self.roof_slots, self.panel)
        if self.front_slots:
            at = (x1, tray - self.front_offset, z0 + self.front_middle)
            rows["front"] = fan_row(at, "rear", self.front_slots, self.panel)
        if self.rear_fan != "none":
            z = self._seat.at(self.rear_fan_drop - self.board_drop, 0.0)[2]
            rows["rear"] = fan_place((x0, tray - self.rear_fan_offset, z), "front", self.rear_fan, self.panel)
        if self.floor_slots:
            at = (x0 + self.floor_middle, (y0 + tray) / 2.0, z0)
            rows["floor"] = fan_row(at, "roof", self.floor_slots, self.panel)
        for name, row in rows.items():
            check_row(name, row, Inside(self._low, (x1, tray, z1)))
        return rows

    def _mounts(self, shroud: Shroud | None) -> dict[str, Mount]:
        (x0, y0, z0), (x1, _, z1), tray, seat = self._low, self._high, self._tray_y, self._seat
        supply = (x0, (y0 + tray) / 2.0, z0 + self.psu_lift + PSU_SIZE_MM[self.psu][1] / 2.0)
        above = z0 + (self.shroud_height if self.shroud else 0.0)
        beside = seat.origin[0] + BOARD_OUTLINE_MM[self.stand_offs][1]
        mounts = {
            "tray": board_mount(seat, self.stand_offs),
            "psu": supply_mount(supply, "front", self.psu, thick=self.panel, mirrored=self.mirrored),
            "tray_wall": plain_face("window", (beside, tray, above), (x1, tray, z1)),
        }
        if shroud:
            mounts |= shroud.mounts()
        for name, (at, _) in self._bulkheads().items():
            mounts[name] = mount(at, "floor", "bulkhead", thick=self.panel)
        return mounts | bracket_mounts(seat, self.slots, self.panel)

    def _bulkheads(self) -> dict[str, tuple[Vec3, float]]:
        x, _, z = self._high
        return bulkhead_holes((x, self._tray_y - 60.0, z), self.bulkheads, self.bulkhead_diameter)

    def _shell(self, rows: dict[str, Mount], bays: Bays | None) -> Iterator[Solid]:
        (x0, y0, z0), (x1, _, z1) = self._low, self._high
        depth, width = self.depth, self.width
        yield vented(
            "roof", (0, 0, z1), (depth, width, self.height), rows.get("roof"), rounds=self._bulkheads()
        )
        places = {"bays": bays.opening} if bays else {}
        yield vented("front", (x1, 0, z0), (depth, width, z1), rows.get("front"), places)
        supply = PSU_SIZE_MM[self.psu][2]
        vent = square((x0 + supply / 2.0, (y0 + self._tray_y) / 2.0, 0.0), supply - 30.0)
        yield vented("floor", (0, 0, 0), (depth, width, z0), rows.get("floor"), {"supply's vent": vent})

    def _tray(self, cage: Cage | None) -> Iterator[Solid]:
        (x0, _, z0), (x1, _, z1), face = self._low, self._high, self._tray_y
        openings = tray_openings(self._seat, self.stand_offs, self.slots)
        top = z0 + self.psu_lift + PSU_SIZE_MM[self.psu][1]
        # The supply goes in from the tray's side, its cables leave by the same opening.
        behind = {"power supply's way in": ((x0 - 1.0, face, z0 - 1.0), (x0 + 280.0, face, top + 0.5))}
        if cage:
            behind["drives' plugs"] = cage.plugs()
        yield from tray(
            self._seat,
            self.stand_offs,
            (x0, face, z0),
            (x1, face + self.panel, z1),
            {**openings, **behind},
        )
        if self.grommets:
            yield from grommets(self._seat, openings)

    def _cage(self) -> Cage | None:
        if not self.drive_cage:
            return None
        (x0, y0, z0), end = self._low, self._low[0] + self.shroud_length
        cage = Cage(end, self._tray_y, z0, self.drive_bays)
        under = self._supply_height - self.panel
        cage.check(x0, y0 + INSET_MM + self.panel, under, x0 + self.floor_middle, self.floor_slots)
        return cage

    def _bays(self, row: Mount | None) -> Bays | None:
        if not self.bays:
            return None
        from shapes.case_bays import Bays  # few cases have any

        if self.bulkheads:
            raise ValueError(
                "the bulkhead holes lie over the bays in the roof's front end: bulkheads 0, or bays 0"
            )
        (_, y0, _), roof, tray = self._low, self._high[2], self._tray_y
        bays = Bays(self.bays, self.depth, (y0 + tray) / 2.0, roof, roof - self.bay_drop)
        board = self._seat.origin[0] + BOARD_OUTLINE_MM[self.stand_offs][1]
        bays.check(board, y0, tray, self.front_middle + self.front_slots / 2.0 + self.panel if row else 0.0)
        return bays
