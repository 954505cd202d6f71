"""A steel mid-tower case."""

from __future__ import annotations

from collections.abc import Iterator
from types import MappingProxyType
from typing import Literal

from shapes.case_parts import (
    FAN_SCREW_MM,
    Inside,
    check_row,
    fan_row,
    mount,
    plain_face,
    rear_openings,
    rect_of,
    square,
    tray,
    vented,
)
from shapes.fields import Length, Shape, choice, count, length
from shapes.form_factors import (
    BOARD_OUTLINE_MM,
    HOLE_SETS,
    PSU_SIZE_MM,
    REAR_PANEL_MM,
    STAND_OFF_MM,
    BoardForm,
    PsuStyle,
    board_holes,
    psu_holes,
    turned_over,
)
from shapes.part import Hole, Look, Mount, Part, Solid
from shapes.patterns import FAN_HOLE_SPACING_MM, fan_holes
from shapes.pose import Vec3
from shapes.solids import bar, block, sheet

_CP = "common practice, no source"
_REAR_TRAVEL_MM = 16.0
_PSU_FLANGE_MM = 11.0  # rim the supply's screws go through
_SHROUD_INSET_MM = 3.0
_CAGE_MM = (115.0, 155.0, 75.0)


class CaseTower(Shape):
    """A mid-tower: sheet panels with real openings, tray with stand-offs, fan rails, shroud.

    Origin: rear lower corner of the outer shell on the window side; x to the front, y to the tray,
    z to the roof, so every coordinate of the shell is positive and the feet lie below z = 0.
    Rails take fans and radiators anywhere their slots allow; ``slide`` counts from a row's middle.
    The tray is drilled for every board form, ``stand_offs`` says whose are screwed in.
    Mounts: ``roof``, ``front``, ``rear``, ``floor`` for fans, radiators and grilles, with a row for
    each fan size; ``tray`` for the board, ``psu``, and plain faces to stand pumps and reservoirs on:
    ``shroud`` and ``tray_wall``, the tray in front of the board.
    Edges of cut sheet are sharp: deburr every opening before a tube or a hand goes through it.
    """

    width: Length = length(215.0, "outside, window to tray side", source=_CP, least=180, most=400)
    depth: Length = length(480.0, "outside, rear to front", source=_CP, least=330, most=800)
    height: Length = length(480.0, "outside, without feet", source=_CP, least=400, most=800)
    panel: Length = length(
        1.0,
        "thickness of all sheet panels; 0.94 to 1.32 at the I/O aperture by microATX 1.2",
        source=_CP,
        least=0.5,
        most=3,
    )
    window: Literal["glass", "steel", "none"] = choice("glass", "side panel; none: taken off", source=_CP)
    glass: Length = length(4.0, "thickness of a glass side panel", source=_CP, least=2, most=8)
    feet: Length = length(15.0, "height of the feet", source=_CP, above=0, most=80)
    cable_room: Length = length(25.0, "between tray and tray-side panel", source=_CP, least=8, most=80)
    board_drop: Length = length(
        68.0, "from the roof's inner face down to the board's top edge", source=_CP, least=30, most=300
    )
    stand_offs: BoardForm = choice("ATX", "board whose stand-offs are screwed in", source="microATX 1.2")
    slots: int = count(7, "slot openings in the rear panel", source="ATX hole table", least=1, most=8)
    roof_slots: Length = length(
        385.0, "length of the roof's screw slots; 0: none", source=_CP, least=0, most=800
    )
    roof_middle: Length = length(
        215.0, "from the rear panel to the middle of the roof row", source=_CP, least=0, most=800
    )
    roof_offset: Length = length(
        110.0, "from the tray to the middle of the roof row", source=_CP, least=0, most=400
    )
    front_slots: Length = length(
        365.0, "length of the front's screw slots; 0: none", source=_CP, least=0, most=800
    )
    front_middle: Length = length(
        264.0, "from the floor to the middle of the front row", source=_CP, least=0, most=800
    )
    front_offset: Length = length(
        92.0, "from the tray to the middle of the front row", source=_CP, least=0, most=400
    )
    rear_fan: Literal["120", "140", "none"] = choice(
        "120", "fan position beside the I/O aperture", source=_CP
    )
    rear_fan_drop: Length = length(
        120.0, "from the roof's inner face to the middle of the rear fan", source=_CP, least=60, most=400
    )
    rear_fan_offset: Length = length(
        116.0, "from the tray to the middle of the rear fan", source=_CP, least=60, most=400
    )
    floor_slots: Length = length(
        130.0, "length of the floor's screw slots; 0: none", source=_CP, least=0, most=800
    )
    floor_middle: Length = length(
        310.0, "from the rear panel to the middle of the floor row", source=_CP, least=0, most=800
    )
    psu: PsuStyle = choice("PS2", "power supply its opening is for", source=_CP)
    psu_lift: Length = length(4.0, "pads under the power supply", source=_CP, least=0, most=40)
    shroud: bool = choice(True, "cover over the power supply", source=_CP)
    shroud_height: Length = length(
        100.0, "from the floor to the shroud's top face", source=_CP, least=60, most=200
    )
    shroud_length: Length = length(
        400.0, "from the rear panel to the shroud's front end", source=_CP, least=170, most=800
    )
    passes: int = count(2, "round openings for tubes in the shroud", source=_CP, least=0, most=3)
    pass_diameter: Length = length(30.0, "their diameter", source=_CP, least=10, most=60)
    drive_cage: bool = choice(False, "cage for two 3.5 in drives under the shroud's front end", source=_CP)

    def build(self) -> Part:
        """The case in its own frame; ValueError for panels, rows or openings that run into each other."""
        inside = self._inside()
        mounts = self._rows(inside) | self._mounts(inside)
        solids = (
            *self._shell(inside, mounts),
            self._rear(inside, mounts),
            *self._side_panels(inside),
            *tray(inside, self.stand_offs, self.slots, self.panel),
            *(self._shroud(inside) if self.shroud else ()),
            *((self._drive_cage(inside),) if self.drive_cage else ()),
        )
        return Part(solids=solids, mounts=MappingProxyType(mounts))

    def _inside(self) -> Inside:
        side = self.glass if self.window == "glass" else self.panel
        low = (self.panel, side, self.panel)
        high = (self.depth - self.panel, self.width - self.panel, self.height - self.panel)
        tray = high[1] - self.cable_room - self.panel
        board = (low[0] + REAR_PANEL_MM, tray - STAND_OFF_MM, high[2] - self.board_drop)
        self._check_board(board[2] - low[2] - self._supply_height, high[0] - board[0])
        if (self.shroud or self.drive_cage) and self.shroud_length > high[0] - low[0]:
            raise ValueError(
                f"a shroud of {self.shroud_length:g} mm does not go into {high[0] - low[0]:g} mm of length"
            )
        return Inside(low, high, tray, board)

    @property
    def _supply_height(self) -> float:
        """What the board must stay above: the shroud, or the power supply."""
        return self.shroud_height if self.shroud else self.psu_lift + PSU_SIZE_MM[self.psu][1]

    def _check_board(self, room_down: float, room_along: float) -> None:
        down, along = BOARD_OUTLINE_MM[self.stand_offs]
        if down > room_down or along > room_along:
            raise ValueError(
                f"no room for the {self.stand_offs} board of {down:g} x {along:g} mm: from its top edge to "
                f"the power supply's room there are {room_down:g} mm, to the front {room_along:g} mm"
            )

    def _rows(self, inside: Inside) -> dict[str, Mount]:
        (x0, _, z0), (x1, _, z1) = inside.low, inside.high
        roof, front = inside.tray - self.roof_offset, inside.tray - self.front_offset
        rows: dict[str, Mount] = {}
        if self.roof_slots:
            rows["roof"] = fan_row((x0 + self.roof_middle, roof, z1), "floor", self.roof_slots, self.panel)
        if self.front_slots:
            rows["front"] = fan_row((x1, front, z0 + self.front_middle), "rear", self.front_slots, self.panel)
        if self.rear_fan != "none":
            at = (x0, inside.tray - self.rear_fan_offset, z1 - self.rear_fan_drop)
            size = int(self.rear_fan)
            holes = fan_holes(FAN_HOLE_SPACING_MM[size], FAN_SCREW_MM, slot=_REAR_TRAVEL_MM)
            rows["rear"] = mount(at, "front", "fan", {self.rear_fan: holes}, self.panel)
        if self.floor_slots:
            middle = (inside.low[1] + inside.tray) / 2.0
            at = (x0 + self.floor_middle, middle, z0)
            rows["floor"] = fan_row(at, "roof", self.floor_slots, self.panel)
        for name, row in rows.items():
            check_row(name, row, inside)
        return rows

    def _mounts(self, inside: Inside) -> dict[str, Mount]:
        (x0, y0, z0), (x1, _, z1) = inside.low, inside.high
        supply = turned_over(psu_holes(self.psu))
        # Drilled for a supply either way up.
        supply += tuple(Hole((-hole.at[0], -hole.at[1]), hole.diameter) for hole in supply)
        fitted = set(HOLE_SETS[self.stand_offs])
        boards = {
            form: turned_over(board_holes(form)) for form, holes in HOLE_SETS.items() if fitted >= set(holes)
        }
        front_of_board = (inside.board[0] + BOARD_OUTLINE_MM[self.stand_offs][1] + x1) / 2.0
        above_shroud = z0 + self.shroud_height if self.shroud else z0
        wall = (front_of_board, inside.tray, (above_shroud + z1) / 2.0)
        mounts = {
            "tray": mount(inside.board, "window", "board", boards),
            "psu": mount(self._psu_middle(inside), "front", "psu", {self.psu: supply}, self.panel),
            "tray_wall": plain_face(
                wall,
                "window",
                (inside.board[0] + BOARD_OUTLINE_MM[self.stand_offs][1], inside.tray, above_shroud),
                (x1, inside.tray, z1),
            ),
        }
        if self.shroud:
            middle = ((x0 + self._shroud_front(inside)) / 2.0, (y0 + inside.tray) / 2.0, above_shroud)
            front = self._shroud_front(inside)
            low, high = (x0, y0, above_shroud), (front, inside.tray, above_shroud)
            mounts["shroud"] = plain_face(middle, "roof", low, high, self.panel)
        return mounts

    def _psu_middle(self, inside: Inside) -> Vec3:
        """Middle of the power supply's rear face."""
        x, y, z = inside.low
        return (x, (y + inside.tray) / 2.0, z + self.psu_lift + PSU_SIZE_MM[self.psu][1] / 2.0)

    def _shroud_front(self, inside: Inside) -> float:
        return inside.low[0] + self.shroud_length

    def _shell(self, inside: Inside, mounts: dict[str, Mount]) -> Iterator[Solid]:
        (x0, _, z0), (x1, _, z1) = inside.low, inside.high
        yield vented("roof", (0, 0, z1), (self.depth, self.width, self.height), mounts.get("roof"), {})
        yield vented("front", (x1, 0, z0), (self.depth, self.width, z1), mounts.get("front"), {})
        psu_depth = PSU_SIZE_MM[self.psu][2]
        psu_vent = square((x0 + psu_depth / 2.0, self._psu_middle(inside)[1], 0.0), psu_depth - 30.0)
        yield vented(
            "floor", (0, 0, 0), (self.depth, self.width, z0), mounts.get("floor"), {"supply's vent": psu_vent}
        )
        for end, x in (("rear", 40.0), ("front", self.depth - 40.0)):
            for side, y in (("window", 30.0), ("tray", self.width - 30.0)):
                yield bar(f"foot_{end}_{side}", (x, y, 0.0), "floor", self.feet, 30.0, "plastic")

    def _rear(self, inside: Inside, mounts: dict[str, Mount]) -> Solid:
        """The rear panel: I/O aperture, slots, room for brackets' bent ends, fan, power supply."""
        (x0, _, z0), (_, _, z1) = inside.low, inside.high
        rects = rear_openings(inside, self.slots)
        width, height, _ = PSU_SIZE_MM[self.psu]
        psu, fan = mounts["psu"], mounts.get("rear")
        rim = 2.0 * _PSU_FLANGE_MM
        rects["power supply"] = rect_of(psu.mount2part, height - rim, width - rim)
        screws = [(psu.mount2part, psu.rows[self.psu])]
        rounds = {}
        if fan is not None:
            x, y, z = (float(value) for value in fan.mount2part.origin)
            rounds["rear fan"] = ((x, y, z), int(self.rear_fan) - 5.0)
            screws.append((fan.mount2part, fan.rows[self.rear_fan]))
        high = (x0, self.width, z1)
        return sheet("rear", (0.0, 0.0, z0), high, rects=rects, rounds=rounds, screws=screws)

    def _side_panels(self, inside: Inside) -> Iterator[Solid]:
        (x0, y0, z0), (x1, y1, z1) = inside.low, inside.high
        if self.window != "none":
            look: Look = "glass" if self.window == "glass" else "panel"
            yield sheet("window_panel", (x0, 0.0, z0), (x1, y0, z1), look=look)
        yield sheet("tray_panel", (x0, y1, z0), (x1, self.width, z1))

    def _shroud(self, inside: Inside) -> Iterator[Solid]:
        x0, y0, z0 = inside.low
        x_end, top = self._shroud_front(inside), z0 + self.shroud_height
        needed = self.psu_lift + PSU_SIZE_MM[self.psu][1] + self.panel
        if self.shroud_height < needed:
            raise ValueError(
                f"the shroud is {self.shroud_height:g} mm high, the power supply under it needs {needed:g} mm"
            )
        y_side = y0 + _SHROUD_INSET_MM
        middle = (y_side + inside.tray) / 2.0
        tubes = {
            f"tube pass {number + 1}": ((x_end - 45.0 - 60.0 * number, middle, 0.0), self.pass_diameter)
            for number in range(self.passes)
        }
        cables = ((x0 + 60.0, inside.tray - 45.0, 0.0), (x0 + 160.0, inside.tray - 15.0, 0.0))
        low, high = (x0, y_side, top - self.panel), (x_end, inside.tray, top)
        yield sheet("shroud_top", low, high, rects={"cables": cables}, rounds=tubes)
        yield sheet("shroud_side", (x0, y_side, z0), (x_end, y_side + self.panel, top - self.panel))

    def _drive_cage(self, inside: Inside) -> Solid:
        """Two 3.5 in drives (101.6 x 147 x 26.1 mm, SFF-8301) in sleds, one over the other."""
        side = inside.low[1] + _SHROUD_INSET_MM + self.panel
        room = (self.shroud_length - 10.0, inside.tray - 10.0 - side, self._supply_height - self.panel)
        if any(size > free for size, free in zip(_CAGE_MM, room, strict=True)):
            needs, has = (" x ".join(f"{size:g}" for size in sizes) for sizes in (_CAGE_MM, room))
            raise ValueError(f"the drive cage of {needs} mm has a room of {has} mm under the shroud")
        high = (self._shroud_front(inside) - 5.0, inside.tray - 5.0, inside.low[2] + _CAGE_MM[2])
        low = (high[0] - _CAGE_MM[0], high[1] - _CAGE_MM[1], inside.low[2])
        row = inside.low[0] + self.floor_middle
        if (
            self.floor_slots
            and low[0] < row + self.floor_slots / 2.0
            and row - self.floor_slots / 2.0 < high[0]
        ):
            raise ValueError(
                f"the drive cage stands {low[0]:g} to {high[0]:g} mm from the rear, on the floor's screw "
                f"slots about {row:g} mm: move them with floor_middle or leave them out with floor_slots: 0"
            )
        return block("drive_cage", low, high, "metal")
