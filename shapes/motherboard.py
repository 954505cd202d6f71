"""A motherboard: outline, holes, what stands on it, and the room it needs."""

from __future__ import annotations

from collections.abc import Iterator
from types import MappingProxyType
from typing import Literal, TypeAlias

from shapes import board_plugs
from shapes.board_limits import clip_rooms, height_limits
from shapes.board_plugs import Span, about, standing
from shapes.fields import Length, Shape, choice, count, length
from shapes.form_factors import (
    BOARD_EDGE_MM,
    BOARD_OUTLINE_MM,
    MODULE_COVER_MM,
    PCB_MM,
    SLOT_CONNECTOR_HEIGHT_MM,
    SLOT_CONNECTOR_MM,
    SLOT_CONNECTOR_REAR_MM,
    SLOT_CONNECTOR_WIDTH_MM,
    SLOT_COUNT,
    SLOT_DATUM_MM,
    SLOT_ENGAGEMENT_MM,
    SLOT_PITCH_MM,
    BoardForm,
    board_holes,
    on_board,
)
from shapes.part import Hole, Mount, Part, Solid, Zone
from shapes.pose import DIRECTIONS, Pose
from shapes.solids import sheet

SlotSize: TypeAlias = Literal["none", "x1", "x4", "x8", "x16", "m2"]

_CP = "common practice, no source"
#: Cooler hole patterns: toward the roof, toward the front. 54 x 90 is quoted from the Mini-ITX
#: drawings, the others are from memory.
COOLER_PATTERNS_MM = MappingProxyType(
    {
        "72": (72.0, 72.0),
        "75": (75.0, 75.0),
        "78": (78.0, 78.0),
        "80": (80.0, 80.0),
        "54x90": (90.0, 54.0),
        "56x94": (94.0, 56.0),
        "48x96": (96.0, 48.0),
    }
)
COOLER_HOLE_MM = 4.0
_SOCKET_MM = 58.0
_COOLER_MM = 88.0  # bracket of the widest square cooler pattern
_TALL_COOLER_MM = 106.0  # and of the tallest oblong one
_SINK_MM, _SINK_GAP_MM = 20.0, 3.0  # width of the regulators' heat sinks, and what is left beside them
_MODULE_MM = (133.35, 7.0)  # memory module with heat spreader: length, thickness
_MODULES_DOWN_MM, _MODULE_PITCH_MM = 78.0, 9.5


class Motherboard(Shape):
    """A board as it stands in a tower: components toward the window, slots below the CPU.

    Origin: the rear top corner of the board's underside (the tray side); x to the front, y to the
    tray, z to the roof, so the board lies in x > 0, z < 0 and its components in y < 0.
    What stands on it is what most boards have, at usual places: measure a real board where it
    matters. A board wider than ATX with ATX holes is ``form: ATX`` with its ``depth``. Room that is
    likely taken (height limits of the form factor, memory clips, fan plugs) is a warning, the power
    plugs' room is an error.
    Mounts: ``back`` with the form's holes, ``cpu`` on the CPU's lid with a row for each cooler
    pattern, ``slot_1`` and so on where there is a connector.
    """

    form: BoardForm = choice("ATX", "outline and holes", source="microATX 1.2, Mini-ITX addendum 1.1")
    depth: Length | None = length(
        None,
        "rear edge to front edge, where it is not the form's own: wider boards with ATX holes, shorter ones",
        source="boards of 305 x 267 mm have ATX holes: secondary source; others common practice, no source",
        least=165,
        most=340,
    )
    cpu_down: Length = length(80.0, "from the top edge to the CPU's middle", source=_CP, least=72, most=105)
    cpu_along: Length = length(97.0, "from the rear edge to the CPU's middle", source=_CP, least=60, most=180)
    cpu_height: Length = length(
        7.5, "the CPU's lid over the board, where a cold plate sits", source=_CP, least=4.5, most=15
    )
    io_height: Length = length(
        37.0,
        "I/O block over the board; its zone is 37.34 high",
        source="microATX 1.2 figure 5",
        least=10,
        most=40.64,
    )
    io_depth: Length = length(
        30.0, "I/O block's front face from the rear edge", source=_CP, least=10, most=60
    )
    heat_sinks: Length = length(
        35.0, "height of the voltage regulators' heat sinks; 0: none", source=_CP, least=0, most=76.2
    )
    modules: int = count(2, "memory modules; Mini-ITX has room for 2", source=_CP, least=0, most=8)
    module_height: Length = length(
        44.0,
        "top of the memory over the board: 34 bare, 44 and more with heat spreaders",
        source=_CP,
        least=25,
        most=76,
    )
    module_edge: Length = length(
        15.5, "from the front edge to the middle of the nearest module", source=_CP, least=15.1, most=120
    )
    clips: Literal["both", "upper", "none"] = choice(
        "both", "ends of the memory whose clips swing out", source=_CP
    )
    slots: tuple[SlotSize, ...] = choice(
        ("x16", "none", "x1", "x16", "none", "x1", "x16"),
        "connectors from slot 1 down, `m2` for a drive module's cover in that place; those past the "
        "form's last slot do not count",
        source=_CP,
    )
    chipset_height: Length = length(10.0, "chipset's heat sink; 0: none", source=_CP, least=0, most=15.24)
    m2_height: Length = length(8.0, "drive modules' covers over the board", source=_CP, least=2, most=15.24)
    cpu_plugs: int = count(1, "CPU power sockets of 8 pins at the top edge", source=_CP, least=1, most=3)
    fan_headers: int = count(
        3,
        "fan headers: two at the top edge, others at the bottom edge (none there on Mini-ITX)",
        source=_CP,
        least=0,
        most=4,
    )
    fan_plug_room: Length = length(
        20.0, "fan plug and its cable's bend, over the board", source=_CP, least=10, most=40
    )
    plug_room: Length = length(
        45.0, "power plug and its cable's bend, over the board", source=_CP, least=20, most=90
    )
    cable_bend: Length = length(
        12.0, "CPU power cable's bend past the top edge", source=_CP, least=0, most=40
    )
    main_cable_bend: Length = length(
        25.0, "main power cable's bend past the front edge", source=_CP, least=0, most=60
    )

    def build(self) -> Part:
        """The board in its own frame; ValueError where what stands on it runs into each other."""
        self._check()
        return Part(
            solids=tuple(self._solids()),
            mounts=MappingProxyType(dict(self._mounts())),
            zones=(*self._plugs.rooms(), *self._clip_rooms, *height_limits(self.form, self._size)),
            pulled=MappingProxyType(
                {f"memory_{number + 1}": DIRECTIONS["window"] for number in range(self.modules)}
            ),
        )

    @property
    def _size(self) -> Span:
        down, along = BOARD_OUTLINE_MM[self.form]
        return down, along if self.depth is None else self.depth

    @property
    def _clip_rooms(self) -> tuple[Zone, ...]:
        if not self.modules:
            return ()
        nearest = self._size[1] - self.module_edge
        furthest = nearest - (self.modules - 1) * _MODULE_PITCH_MM
        half = _MODULE_MM[1] / 2.0
        return tuple(
            clip_rooms(about(_MODULES_DOWN_MM, _MODULE_MM[0]), (furthest - half, nearest + half), self.clips)
        )

    @property
    def _plugs(self) -> board_plugs.Plugs:
        return board_plugs.Plugs(
            size=self._size,
            cpu_begin=max(40.0, self.io_depth + _SINK_GAP_MM),
            cpu_plugs=self.cpu_plugs,
            cpu_along=self.cpu_along,
            fan_headers=self.fan_headers,
            over=self.plug_room,
            over_fan=self.fan_plug_room,
            past_top=self.cable_bend,
            past_front=self.main_cable_bend,
            bottom=self.form != "Mini-ITX",
        )

    def _connectors(self) -> list[tuple[int, SlotSize]]:
        fitted = enumerate(self.slots[: SLOT_COUNT[self.form]], 1)
        return [(number, size) for number, size in fitted if size not in ("none", "m2")]

    def _covers(self) -> list[int]:
        fitted = enumerate(self.slots[: SLOT_COUNT[self.form]], 1)
        return [number for number, size in fitted if size == "m2"]

    def _check(self) -> None:
        down, front = self._size
        least = max(hole.at[1] for hole in board_holes(self.form)) + BOARD_EDGE_MM
        if front < least:
            raise ValueError(
                f"the holes of a {self.form} board need a depth of {least:g} mm, got {front:g} mm"
            )
        covers = self._covers()
        for number in covers:
            end = _slot_down(number) + MODULE_COVER_MM[0] / 2.0
            if end > down:
                raise ValueError(
                    f"slot {number}: a module's cover ends {end:g} mm down, the board at {down:g} mm"
                )
            if number + 1 in covers:
                raise ValueError(
                    f"slots {number} and {number + 1}: two covers {MODULE_COVER_MM[0]:g} mm wide do not lie "
                    f"{SLOT_PITCH_MM:g} mm apart"
                )
        memory = front - self.module_edge - (self.modules - 1) * _MODULE_PITCH_MM - _MODULE_MM[1] / 2.0
        room = (self._rear_sink()[1], memory if self.modules else front)
        low, high = about(self.cpu_along, _COOLER_MM)
        if low < room[0] or high > room[1]:
            raise ValueError(
                f"a cooler on the CPU reaches {low:g} to {high:g} mm from the rear; I/O block, heat sink and "
                f"{self.modules} memory modules of a {self.form} board leave {room[0]:g} to {room[1]:g} mm"
            )

    def _rear_sink(self) -> Span:
        """The heat sink behind the I/O block, from the rear edge; no width where there is none."""
        begin = self.io_depth + _SINK_GAP_MM
        return (begin, begin + _SINK_MM) if self.heat_sinks else (self.io_depth, self.io_depth)

    def _solids(self) -> Iterator[Solid]:
        down, along = self._size
        back = Pose.facing((0.0, 0.0, 0.0), DIRECTIONS["tray"])
        screws = [(back, board_holes(self.form))]
        yield sheet("pcb", (0.0, -PCB_MM, -down), (along, 0.0, 0.0), screws=screws, look="board")
        yield standing("io_block", (0.86, 153.01), (-1.14, self.io_depth), (0.0, self.io_height), "metal")
        cpu = (self.cpu_down, self.cpu_along)
        yield standing(
            "cpu_socket", about(cpu[0], _SOCKET_MM), about(cpu[1], _SOCKET_MM), (0.0, 4.0), "plastic"
        )
        yield standing("cpu", about(cpu[0], 36.0), about(cpu[1], 36.0), (4.0, self.cpu_height), "metal")
        yield from self._sinks()
        for number in range(self.modules):
            middle = along - self.module_edge - number * _MODULE_PITCH_MM
            span = about(_MODULES_DOWN_MM, _MODULE_MM[0])
            yield standing(
                f"memory_{number + 1}", span, about(middle, _MODULE_MM[1]), (0.0, self.module_height)
            )
        for number, size in self._connectors():
            yield self._connector(number, size)
        for number in self._covers():
            across = about(_slot_down(number), MODULE_COVER_MM[0])
            yield standing(f"m2_cover_{number}", across, MODULE_COVER_MM[1], (0.0, self.m2_height), "metal")
        yield from self._plugs.sockets()

    def _sinks(self) -> Iterator[Solid]:
        if self.heat_sinks:
            height = (0.0, self.heat_sinks)
            rear = self._rear_sink()
            low = self.cpu_down - _TALL_COOLER_MM / 2.0
            down = (max(low - _SINK_MM, 15.0), low)
            along = (rear[1] + _SINK_GAP_MM, self.cpu_along + 36.0)
            yield standing("rear_heat_sink", (20.0, 140.0), rear, height, "metal")
            yield standing("top_heat_sink", down, along, height, "metal")
        if self.chipset_height and self.form != "Mini-ITX":
            height = (0.0, self.chipset_height)
            yield standing("chipset_sink", (192.0, 236.0), (172.0, 228.0), height, "metal")

    def _connector(self, number: int, size: SlotSize) -> Solid:
        rear = SLOT_DATUM_MM[1] - SLOT_CONNECTOR_REAR_MM
        across = about(_slot_down(number), SLOT_CONNECTOR_WIDTH_MM)
        height = (0.0, SLOT_CONNECTOR_HEIGHT_MM)
        return standing(f"slot_{number}", across, (rear, rear + SLOT_CONNECTOR_MM[size]), height, "plastic")

    def _mounts(self) -> Iterator[tuple[str, Mount]]:
        back = Pose.facing((0.0, 0.0, 0.0), DIRECTIONS["tray"])
        yield "back", Mount(back, "board", MappingProxyType({self.form: board_holes(self.form)}))
        lid = Pose.facing(on_board(self.cpu_down, self.cpu_along, self.cpu_height), DIRECTIONS["window"])
        rows = {name: cooler_holes(name) for name in COOLER_PATTERNS_MM}
        yield "cpu", Mount(lid, "cpu", MappingProxyType(rows))
        for number, _ in self._connectors():
            mouth = on_board(_slot_down(number), SLOT_DATUM_MM[1], SLOT_CONNECTOR_HEIGHT_MM)
            pose = Pose.facing(mouth, DIRECTIONS["window"])
            yield (
                f"slot_{number}",
                Mount(pose, "slot", row_of="slots", through=True, engagement=SLOT_ENGAGEMENT_MM),
            )


def cooler_holes(pattern: str) -> tuple[Hole, ...]:
    """The four holes of a cooler pattern, about the CPU's middle; x to the roof."""
    x, y = (spacing / 2.0 for spacing in COOLER_PATTERNS_MM[pattern])
    return tuple(Hole(at, COOLER_HOLE_MM) for at in ((-x, -y), (x, -y), (x, y), (-x, y)))


def _slot_down(number: int) -> float:
    return SLOT_DATUM_MM[0] + (number - 1) * SLOT_PITCH_MM
