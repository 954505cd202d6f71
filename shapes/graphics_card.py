"""A graphics card: with a full-cover water block and its terminal, with an air cooler, or bare."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from types import MappingProxyType
from typing import Literal

from shapes.card_terminal import OPENINGS, Terminal, terminal_length
from shapes.fields import Length, Shape, choice, count
from shapes.fields import length as mm
from shapes.form_factors import SLOT_ENGAGEMENT_MM, SLOT_PITCH_MM
from shapes.idle import check_idle
from shapes.part import Look, Mount, Part, Solid, Zone
from shapes.patterns import PORT_DEPTH_MM
from shapes.pose import DIRECTIONS, Pose
from shapes.solids import Corners, block, room, sheet

_CEM = "PCI Express card drawings, secondary source, original not read"
_CP = "common practice, no source"
# x about the slot's datum
_PCB_REAR_MM = -57.15
_EDGE_MM = (-12.15, 72.15)  # of a x16 card
_BRACKET_OUTER_MM = -59.05  # its screw, at -64.13, is 5.08 behind
_BRACKET_SHEET_MM = 0.86
_BENT_END_MM = 11.43
# over the end of the card's edge, toward the window
_EDGE_HEIGHT_MM = 12.75
_SHELF_MM = 104.91
# from the bracket's bent end down
_BRACKET_MM, _BRACKET_TAB_MM = 112.75, 120.02
# across the card, z about its middle plane
_BRACKET_ROOF_MM, _BRACKET_WIDTH_MM = 2.055, 18.42
_TAB_Z_MM = (-12.245, -2.055)
_BENT_Z_MM = (-13.825, 5.225)
# what stands at the rear and front of the board side of the card
_OUTLETS_MM = (22.0, 12.0)  # depth, height of the picture outlets
_POWER_MM = (40.0, 14.0, 10.0)  # power socket: along, into the card, high
_SOCKET_GAP_MM = 2.0  # left about the power socket, for fingers and the plug's latch
_SOCKET_FRONT_MM = 3.0  # from the socket to the board's front edge
# A single-slot card's block leaves 2.7 mm to the next card's 3 mm backplate one slot pitch on.
_BLOCK_MM, _THIN_BLOCK_MM = 16.0, 13.0
_COOLER_CLEAR_MM = 5.0  # from an air cooler to the end of the slots it takes

_AIR_ONLY = ("cooler_thickness", "cooler_length", "cooler_reach", "air_room")
_TERMINAL_ONLY = ("openings", "port_spacing", "port_depth", "terminal_at", "terminal_reach")


class GraphicsCard(Shape):
    """A card as it lies in a tower: edge in the slot toward the tray, its cooler toward the floor.

    Origin: the slot's datum (the key of the card's edge) where the slot begins, in the middle of
    the board's thickness; x to the front, y to the tray, z to the roof. The edge goes on into the
    slot, everything else lies in y < 0 but for the bracket's end, which passes the mainboard.
    Ports of a water block's terminal, the first ``openings`` of ``in_roof``, ``out_roof``,
    ``in_floor``, ``out_floor``, ``in_rear``, ``out_front``, ``in_window``: the channel (``in`` is the
    rear one) and the face it opens in. Plug what is not used. Mounts: ``edge``, for a board's slot;
    ``terminal_roof`` and ``terminal_floor``, for a bridge to another card.
    """

    length: Length = mm(
        267.0, "circuit board, rear to front; 312 is a full-length card", source=_CP, least=168, most=400
    )
    height: Length = mm(
        111.15, "from the end of the edge to the window-side edge", source=_CEM, least=90, most=160
    )
    pcb: Length = mm(1.57, "thickness of the circuit board", source=_CEM, least=1, most=2.4)
    slots: int = count(2, "slots its bracket takes", source=_CP, least=1, most=4)
    cooling: Literal["block", "air", "none"] = choice(
        "block", "full-cover water block, air cooler, or bare", source=_CP
    )
    block_thickness: Length | None = mm(
        None,
        "water block under the circuit board; 16, or 13 on a single-slot card, if left out",
        source=_CP,
        least=6,
        most=60,
    )
    block_length: Length = mm(180.0, "water block, rear to front", source=_CP, least=60, most=380)
    backplate: Length = mm(3.0, "plate on the roof side; 0: none", source=_CP, least=0, most=20)
    terminal_at: Length = mm(
        120.0, "from the board's rear edge to the terminal's middle", source=_CP, least=30, most=380
    )
    terminal_reach: Length = mm(24.0, "terminal beyond the window-side edge", source=_CP, least=22, most=60)
    openings: int = count(4, "of the terminal, in the order above", source=_CP, least=2, most=7)
    port_spacing: Length = mm(25.4, "middle to middle", source=_CP, least=20, most=60)
    port_depth: Length = mm(PORT_DEPTH_MM, "thread in the terminal", source=_CP, least=3, most=12)
    plug: Literal["window", "front", "none"] = choice("window", "edge the power plug goes in at", source=_CP)
    plug_at: Length | None = mm(
        None,
        "from the board's rear edge to the middle of a plug in the window-side edge; left out: at the front",
        source=_CP,
        least=40,
        most=380,
    )
    plug_room: Length = mm(40.0, "power plug and its cable's bend", source=_CP, least=10, most=120)
    cooler_thickness: Length | None = mm(
        None,
        "air cooler under the circuit board; what its slots leave if left out",
        source=_CP,
        least=8,
        most=90,
    )
    cooler_length: Length | None = mm(
        None,
        "air cooler before the outlets; to the board's front edge if left out",
        source=_CP,
        least=80,
        most=400,
    )
    cooler_reach: Length = mm(0.0, "air cooler beyond the window-side edge", source=_CP, least=0, most=40)
    air_room: Length = mm(10.0, "room before an air cooler's fans; 0: none", source=_CP, least=0, most=60)

    def build(self) -> Part:
        """The card in its own frame; ValueError where cooler, terminal and plug do not go together."""
        check_idle(self, "cooling", "air", *_AIR_ONLY)
        check_idle(self, "cooling", "block", "block_thickness", "block_length", *_TERMINAL_ONLY)
        check_idle(self, "plug", "window", "plug_at")
        socket = None if self.plug == "none" else self._socket()
        mounts = {"edge": self._edge()}
        if self.cooling != "block":
            cooler = self._cooler(socket)
            return self._part((*self._card(), *self._bracket(), *cooler, *_drawn(socket)), mounts, socket)
        terminal, names = self._terminal, OPENINGS[: self.openings]
        self._check_block(socket)
        terminal.check(names)
        ports, bores = terminal.openings(names)
        water = (*self._water(socket), block("terminal", *terminal.corners))
        part = self._part(
            (*self._card(), *self._bracket(), *water, *_drawn(socket)),
            mounts | dict(terminal.mounts()),
            socket,
        )
        return replace(part, ports=MappingProxyType(ports), bores=bores)

    def _part(self, solids: tuple[Solid, ...], mounts: dict[str, Mount], socket: Corners | None) -> Part:
        return Part(solids, mounts=MappingProxyType(mounts), zones=tuple(self._zones(socket)))

    @staticmethod
    def _edge() -> Mount:
        pose = Pose.facing((0.0, 0.0, 0.0), DIRECTIONS["tray"])
        return Mount(pose, "slot", engagement=SLOT_ENGAGEMENT_MM)

    @property
    def _front(self) -> float:
        return _PCB_REAR_MM + self.length

    @property
    def _window(self) -> float:
        """The window-side edge."""
        return SLOT_ENGAGEMENT_MM - self.height

    @property
    def _under(self) -> float:
        """Thickness of block or cooler under the board."""
        if self.cooling == "air":
            free = self.slots * SLOT_PITCH_MM - _COOLER_CLEAR_MM - self.pcb / 2.0
            return free if self.cooler_thickness is None else self.cooler_thickness
        usual = _THIN_BLOCK_MM if self.slots == 1 else _BLOCK_MM
        return usual if self.block_thickness is None else self.block_thickness

    @property
    def _under_x(self) -> tuple[float, float]:
        """Rear and front end of block or cooler."""
        rear = _PCB_REAR_MM + _OUTLETS_MM[0]
        if self.cooling == "air":
            taken = _POWER_MM[1] + _SOCKET_GAP_MM if self.plug == "front" else 0.0
            return rear, self._front - taken if self.cooler_length is None else rear + self.cooler_length
        return rear, rear + self.block_length

    @property
    def _terminal(self) -> Terminal:
        middle = _PCB_REAR_MM + self.terminal_at
        half = terminal_length(self.port_spacing) / 2.0
        low = (middle - half, self._window - self.terminal_reach, -self.pcb / 2.0 - self._under)
        high = (middle + half, self._window, self.pcb / 2.0 + self.backplate)
        return Terminal(low, high, self.port_spacing, self.port_depth)

    def _check_block(self, socket: Corners | None) -> None:
        low, high = self._under_x
        if high > self._front:
            raise ValueError(
                f"the block of {self.block_length:g} mm is too long: before the outlets the card has "
                f"{self._front - low:g} mm"
            )
        begin, end = (corner[0] - _PCB_REAR_MM for corner in self._terminal.corners)
        low, high = low - _PCB_REAR_MM, high - _PCB_REAR_MM
        if begin < low or end > high:
            raise ValueError(
                f"the terminal reaches {begin:g} to {end:g} mm from the rear edge, "
                f"the block {low:g} to {high:g} mm"
            )
        if socket is not None and self.plug == "window":
            rear, front = (corner[0] - _PCB_REAR_MM for corner in socket)
            if begin < front + _SOCKET_GAP_MM and rear - _SOCKET_GAP_MM < end:
                raise ValueError(
                    f"the terminal reaches {begin:g} to {end:g} mm from the rear edge, "
                    f"over the power plug at {rear:g} to {front:g} mm"
                )

    def _card(self) -> Iterator[Solid]:
        half, begin = self.pcb / 2.0, SLOT_ENGAGEMENT_MM - _EDGE_HEIGHT_MM
        yield block("pcb", (_PCB_REAR_MM, self._window, -half), (self._front, begin, half), "board")
        edge = (_EDGE_MM[0], begin, -half), (_EDGE_MM[1], SLOT_ENGAGEMENT_MM, half)
        yield block("edge_connector", *edge, "copper")
        if self.backplate:
            low = (_PCB_REAR_MM + 5.0, self._window, half)
            yield block("backplate", low, (self._front, begin, half + self.backplate), "metal")

    def _bracket(self) -> Iterator[Solid]:
        shelf = SLOT_ENGAGEMENT_MM - _SHELF_MM
        x = (_BRACKET_OUTER_MM, _BRACKET_OUTER_MM + _BRACKET_SHEET_MM)
        further = (self.slots - 1) * SLOT_PITCH_MM
        tabs = shelf + _BRACKET_MM
        z_low = _BRACKET_ROOF_MM - _BRACKET_WIDTH_MM - further
        yield sheet("bracket", (x[0], shelf, z_low), (x[1], tabs, _BRACKET_ROOF_MM), look="metal")
        bent = (x[0] - _BENT_END_MM, shelf - _BRACKET_SHEET_MM, _BENT_Z_MM[0] - further)
        yield sheet("bracket_end", bent, (x[1], shelf, _BENT_Z_MM[1]), look="metal")
        for number in range(self.slots):
            low, high = (z - number * SLOT_PITCH_MM for z in _TAB_Z_MM)
            end = shelf + _BRACKET_TAB_MM
            yield sheet(f"bracket_tab_{number + 1}", (x[0], tabs, low), (x[1], end, high), look="metal")
        out, high = _OUTLETS_MM
        y = SLOT_ENGAGEMENT_MM - _EDGE_HEIGHT_MM - 15.0
        half = self.pcb / 2.0
        yield block(
            "outlets", (x[1], shelf + 15.0, -half - high), (_PCB_REAR_MM + out - 2.0, y, -half), "metal"
        )

    def _water(self, socket: Corners | None) -> Iterator[Solid]:
        yield from self._notched("water_block", self._window, "clear", socket)

    def _cooler(self, socket: Corners | None) -> Iterator[Solid]:
        if self.cooling == "air":
            yield from self._notched("cooler", self._window - self.cooler_reach, "black", socket)

    def _notched(self, name: str, window: float, look: Look, socket: Corners | None) -> Iterator[Solid]:
        """Block or cooler from its window-side face to the card's edge, open about the power socket."""
        half, tray = self.pcb / 2.0, SLOT_ENGAGEMENT_MM - _EDGE_HEIGHT_MM
        (rear, front), z = self._under_x, (-half - self._under, -half)
        if socket is None or socket[0][0] - _SOCKET_GAP_MM >= front:
            yield block(name, (rear, window, z[0]), (front, tray, z[1]), look)
            return
        (begin, _, _), (end, y1, _) = socket
        if self.plug == "front":
            raise ValueError(
                f"the {name.replace('_', ' ')} ends {front - _PCB_REAR_MM:g} mm from the rear edge; "
                f"the power socket in the front edge leaves {begin - _SOCKET_GAP_MM - _PCB_REAR_MM:g} mm"
            )
        begin, end, inner = begin - _SOCKET_GAP_MM, end + _SOCKET_GAP_MM, y1 + _SOCKET_GAP_MM
        yield block(name, (rear, inner, z[0]), (front, tray, z[1]), look)
        if begin > rear:
            yield block(f"{name}_rear", (rear, window, z[0]), (begin, inner, z[1]), look)
        if end < front:
            yield block(f"{name}_front", (end, window, z[0]), (front, inner, z[1]), look)

    def _socket(self) -> Corners:
        along, into, high = _POWER_MM
        half = self.pcb / 2.0
        if self.plug == "front":
            middle = (self._window + SLOT_ENGAGEMENT_MM - _EDGE_HEIGHT_MM) / 2.0
            low = (self._front - into, middle - along / 2.0, -half - high)
            return low, (self._front, middle + along / 2.0, -half)
        x = self._front - _SOCKET_FRONT_MM if self.plug_at is None else self._plug_end()
        return (x - along, self._window, -half - high), (x, self._window + into, -half)

    def _plug_end(self) -> float:
        at = self.plug_at or 0.0
        least = _OUTLETS_MM[0] + _POWER_MM[0] / 2.0
        most = self.length - _SOCKET_FRONT_MM - _POWER_MM[0] / 2.0
        if not least <= at <= most:
            raise ValueError(
                f"plug_at {at:g} mm: the power socket's middle can be {least:g} to {most:g} mm "
                "from the rear edge"
            )
        return _PCB_REAR_MM + at + _POWER_MM[0] / 2.0

    def _zones(self, socket: Corners | None) -> Iterator[Zone]:
        reason = "the card's power plug and its cable"
        if socket is not None:
            (x0, y0, z0), (x1, y1, z1) = socket
            if self.plug == "window":
                yield room("plug_room", (x0, y0 - self.plug_room, z0), (x1, y0, z1), reason)
            else:
                yield room("plug_room", (x1, y0, z0), (x1 + self.plug_room, y1, z1), reason)
        if self.cooling == "air" and self.air_room:
            (rear, front), floor = self._under_x, -self.pcb / 2.0 - self._under
            low = (rear, self._window - self.cooler_reach, floor - self.air_room)
            high = (front, SLOT_ENGAGEMENT_MM - _EDGE_HEIGHT_MM, floor)
            yield room("air_room", low, high, "the card's fans draw their air here", likely=True)


def _drawn(socket: Corners | None) -> Iterator[Solid]:
    if socket is not None:
        yield block("power_socket", *socket, "plastic")
