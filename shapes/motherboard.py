"""A motherboard: outline, holes, what stands on it, and the room it needs."""

from __future__ import annotations

from collections.abc import Iterator
from types import MappingProxyType
from typing import Literal, TypeAlias

from shapes.fields import Length, Shape, choice, count, length
from shapes.form_factors import (
    BOARD_OUTLINE_MM,
    IO_HEIGHT_MM,
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
from shapes.part import Hole, Look, Mount, Part, Solid, Zone
from shapes.pose import DIRECTIONS, Pose
from shapes.solids import Corners, block, room, sheet

SlotSize: TypeAlias = Literal["none", "x1", "x4", "x8", "x16"]
Span: TypeAlias = tuple[float, float]

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
#: Height limits over the component face: A middle, B slots, C front strip, D rear strip. Secondary
#: source; the larger forms state no D, theirs is the top of the I/O aperture, and the
#: strips' extent is the Mini-ITX drawing's, from memory for the larger forms.
_HEIGHT_LIMITS_MM = MappingProxyType(
    {
        "ATX": (76.2, 15.24, 38.1, IO_HEIGHT_MM[1]),
        "microATX": (76.2, 15.24, 38.1, IO_HEIGHT_MM[1]),
        "Mini-ITX": (57.0, 16.0, 38.0, 39.0),
    }
)
_REAR_STRIP_MM, _FRONT_STRIP_MM, _SLOT_STRIP_MM = 27.0, 30.0, 15.0
_SOCKET_MM = 58.0
_COOLER_MM = 88.0  # bracket of the widest square cooler pattern
_TALL_COOLER_MM = 106.0  # and of the tallest oblong one
_SINK_MM, _SINK_GAP_MM = 20.0, 3.0  # width of the regulators' heat sinks, and what is left beside them
_MODULE_MM = (133.35, 7.0)  # memory module with heat spreader: length, thickness
_MODULE_PITCH_MM = 9.5
_PLUG_MARGIN_MM = 4.0


class Motherboard(Shape):
    """A board as it stands in a tower: components toward the window, slots below the CPU.

    Origin: the rear top corner of the board's underside (the tray side); x to the front, y to the
    tray, z to the roof, so the board lies in x > 0, z < 0 and its components in y < 0.
    What stands on it is what most boards have, at usual places: measure a real board where it
    matters. Height limits of the form factor are warnings, the plugs' room is an error.
    Mounts: ``back`` with the form's holes, ``cpu`` on the CPU's lid with a row for each cooler
    pattern, ``slot_1`` and so on where there is a connector.
    """

    form: BoardForm = choice("ATX", "outline and holes", source="microATX 1.2, Mini-ITX addendum 1.1")
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
    slots: tuple[SlotSize, ...] = choice(
        ("x16", "none", "x1", "x16", "none", "x1", "x16"),
        "connectors from slot 1 down; those past the form's last slot do not count",
        source=_CP,
    )
    chipset_height: Length = length(10.0, "chipset's heat sink; 0: none", source=_CP, least=0, most=15.24)
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
            zones=(*self._plug_rooms(), *self._height_limits()),
        )

    @property
    def _size(self) -> Span:
        return BOARD_OUTLINE_MM[self.form]

    def _connectors(self) -> list[tuple[int, SlotSize]]:
        fitted = enumerate(self.slots[: SLOT_COUNT[self.form]], 1)
        return [(number, size) for number, size in fitted if size != "none"]

    def _check(self) -> None:
        front = self._size[1]
        memory = front - self.module_edge - (self.modules - 1) * _MODULE_PITCH_MM - _MODULE_MM[1] / 2.0
        room = (self._rear_sink()[1], memory if self.modules else front)
        low, high = _about(self.cpu_along, _COOLER_MM)
        if low < room[0] or high > room[1]:
            raise ValueError(
                f"a cooler on the CPU reaches {low:g} to {high:g} mm from the rear; I/O block, heat sink and "
                f"{self.modules} memory modules of a {self.form} board leave {room[0]:g} to {room[1]:g} mm"
            )

    def _rear_sink(self) -> Span:
        """The heat sink behind the I/O block, from the rear edge; no width where there is none."""
        begin = self.io_depth + _SINK_GAP_MM
        return (begin, begin + _SINK_MM) if self.heat_sinks else (self.io_depth, self.io_depth)

    def _cpu_power(self) -> Span:
        """The CPU power socket before the I/O block, from the rear edge."""
        begin = max(40.0, self.io_depth + _SINK_GAP_MM)
        return begin, begin + 18.6

    def _solids(self) -> Iterator[Solid]:
        down, along = self._size
        back = Pose.facing((0.0, 0.0, 0.0), DIRECTIONS["tray"])
        screws = [(back, board_holes(self.form))]
        yield sheet("pcb", (0.0, -PCB_MM, -down), (along, 0.0, 0.0), screws=screws, look="board")
        yield _standing("io_block", (0.86, 153.01), (-1.14, self.io_depth), (0.0, self.io_height), "metal")
        cpu = (self.cpu_down, self.cpu_along)
        yield _standing(
            "cpu_socket", _about(cpu[0], _SOCKET_MM), _about(cpu[1], _SOCKET_MM), (0.0, 4.0), "plastic"
        )
        yield _standing("cpu", _about(cpu[0], 36.0), _about(cpu[1], 36.0), (4.0, self.cpu_height), "metal")
        yield from self._sinks()
        for number in range(self.modules):
            middle = along - self.module_edge - number * _MODULE_PITCH_MM
            span = _about(78.0, _MODULE_MM[0])
            yield _standing(
                f"memory_{number + 1}", span, _about(middle, _MODULE_MM[1]), (0.0, self.module_height)
            )
        for number, size in self._connectors():
            yield self._connector(number, size)
        yield _standing("cpu_power", (4.0, 13.6), self._cpu_power(), (0.0, 13.0), "plastic")
        yield _standing("main_power", (70.0, 121.6), (along - 11.6, along - 2.0), (0.0, 13.0), "plastic")

    def _sinks(self) -> Iterator[Solid]:
        if self.heat_sinks:
            height = (0.0, self.heat_sinks)
            rear = self._rear_sink()
            low = self.cpu_down - _TALL_COOLER_MM / 2.0
            down = (max(low - _SINK_MM, 15.0), low)
            along = (rear[1] + _SINK_GAP_MM, self.cpu_along + 36.0)
            yield _standing("rear_heat_sink", (20.0, 140.0), rear, height, "metal")
            yield _standing("top_heat_sink", down, along, height, "metal")
        if self.chipset_height and self.form != "Mini-ITX":
            height = (0.0, self.chipset_height)
            yield _standing("chipset_sink", (192.0, 236.0), (172.0, 228.0), height, "metal")

    def _connector(self, number: int, size: SlotSize) -> Solid:
        rear = SLOT_DATUM_MM[1] - SLOT_CONNECTOR_REAR_MM
        across = _about(_slot_down(number), SLOT_CONNECTOR_WIDTH_MM)
        height = (0.0, SLOT_CONNECTOR_HEIGHT_MM)
        return _standing(f"slot_{number}", across, (rear, rear + SLOT_CONNECTOR_MM[size]), height, "plastic")

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

    def _plug_rooms(self) -> Iterator[Zone]:
        along, height, margin = self._size[1], (0.0, self.plug_room), _PLUG_MARGIN_MM
        down, (begin, end) = (-self.cable_bend, 13.6 + margin), self._cpu_power()
        yield room(
            "cpu_power_room",
            *_corners(down, (begin - margin, end + margin), height),
            "the CPU power plug and its cable",
        )
        yield room(
            "main_power_room",
            *_corners((70.0 - margin, 121.6 + margin), (along - 11.6, along + self.main_cable_bend), height),
            "the main power plug and its cable",
        )

    def _height_limits(self) -> Iterator[Zone]:
        down, along = self._size
        a, b, c, d = _HEIGHT_LIMITS_MM[self.form]
        slots = SLOT_DATUM_MM[0] - SLOT_PITCH_MM / 2 if self.form != "Mini-ITX" else down - _SLOT_STRIP_MM
        front = along - _FRONT_STRIP_MM
        for name, downs, alongs, limit in (
            ("area_a", (0.0, slots), (_REAR_STRIP_MM, front), a),
            ("area_b", (slots, down), (0.0, along), b),
            ("area_c", (0.0, slots), (front, along), c),
            ("area_d", (0.0, slots), (0.0, _REAR_STRIP_MM), d),
        ):
            yield room(
                name,
                *_corners(downs, alongs, (0.0, limit)),
                f"tall components on this {self.form} board, up to {limit:g} mm",
                likely=True,
                only_parts=True,
            )


def cooler_holes(pattern: str) -> tuple[Hole, ...]:
    """The four holes of a cooler pattern, about the CPU's middle; x to the roof."""
    x, y = (spacing / 2.0 for spacing in COOLER_PATTERNS_MM[pattern])
    return tuple(Hole(at, COOLER_HOLE_MM) for at in ((-x, -y), (x, -y), (x, y), (-x, y)))


def _slot_down(number: int) -> float:
    return SLOT_DATUM_MM[0] + (number - 1) * SLOT_PITCH_MM


def _about(middle: float, size: float) -> Span:
    return (middle - size / 2.0, middle + size / 2.0)


def _corners(down: Span, along: Span, height: Span) -> Corners:
    return on_board(down[1], along[0], height[1]), on_board(down[0], along[1], height[0])


def _standing(name: str, down: Span, along: Span, height: Span, look: Look = "black") -> Solid:
    """A block on the component face."""
    return block(name, *_corners(down, along, height), look)
