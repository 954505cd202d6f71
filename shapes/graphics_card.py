"""A graphics card with a full-cover water block and a port terminal."""

from __future__ import annotations

from collections.abc import Iterator
from types import MappingProxyType
from typing import Literal

from shapes.fields import Length, Shape, choice, count
from shapes.fields import length as mm
from shapes.form_factors import SLOT_ENGAGEMENT_MM, SLOT_PITCH_MM
from shapes.part import Bore, Mount, Part, Port, Solid, Zone
from shapes.patterns import PORT_DEPTH_MM, threaded_port
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
_TERMINAL_RIM_MM = 12.0  # a port's middle to the terminal's edge: room for a 20 mm collar and more


class GraphicsCard(Shape):
    """A card as it lies in a tower: edge in the slot toward the tray, water block toward the floor.

    Origin: the slot's datum (the key of the card's edge) where the slot begins, in the middle of
    the board's thickness; x to the front, y to the tray, z to the roof. The edge goes on into the
    slot, everything else lies in y < 0 but for the bracket's end, which passes the mainboard.
    Ports: ``in_roof``, ``in_floor``, ``out_roof``, ``out_floor`` of the terminal's two channels, each
    open to both sides: plug what is not used. Mount: ``edge``, for a board's slot.
    """

    length: Length = mm(
        267.0, "circuit board, rear to front; 312 is a full-length card", source=_CP, least=168, most=400
    )
    height: Length = mm(
        111.15, "from the end of the edge to the window-side edge", source=_CEM, least=90, most=160
    )
    pcb: Length = mm(1.57, "thickness of the circuit board", source=_CEM, least=1, most=2.4)
    slots: int = count(2, "slots its bracket takes", source=_CP, least=1, most=4)
    block_thickness: Length = mm(16.0, "water block under the circuit board", source=_CP, least=6, most=60)
    block_length: Length = mm(180.0, "water block, rear to front", source=_CP, least=60, most=380)
    backplate: Length = mm(3.0, "plate on the roof side; 0: none", source=_CP, least=0, most=20)
    terminal_at: Length = mm(
        120.0, "from the board's rear edge to the terminal's middle", source=_CP, least=30, most=380
    )
    terminal_reach: Length = mm(24.0, "terminal beyond the window-side edge", source=_CP, least=22, most=60)
    port_spacing: Length = mm(25.4, "middle to middle", source=_CP, least=20, most=60)
    port_depth: Length = mm(PORT_DEPTH_MM, "thread in the terminal", source=_CP, least=3, most=12)
    plug: Literal["window", "front", "none"] = choice("window", "edge the power plug goes in at", source=_CP)
    plug_room: Length = mm(40.0, "power plug and its cable's bend", source=_CP, least=10, most=120)

    def build(self) -> Part:
        """The card in its own frame; ValueError where block, terminal and plug do not go together."""
        self._check()
        ports, bores = self._ports()
        edge = Mount(Pose.facing((0.0, 0.0, 0.0), DIRECTIONS["tray"]), "slot", engagement=SLOT_ENGAGEMENT_MM)
        return Part(
            solids=(*self._card(), *self._bracket(), *self._water(), *self._power_socket()),
            ports=MappingProxyType(ports),
            mounts=MappingProxyType({"edge": edge}),
            zones=tuple(self._zones()),
            bores=bores,
        )

    @property
    def _front(self) -> float:
        return _PCB_REAR_MM + self.length

    @property
    def _window(self) -> float:
        """The window-side edge."""
        return SLOT_ENGAGEMENT_MM - self.height

    @property
    def _block_x(self) -> tuple[float, float]:
        rear = _PCB_REAR_MM + _OUTLETS_MM[0]
        return rear, rear + self.block_length

    @property
    def _terminal(self) -> Corners:
        middle = _PCB_REAR_MM + self.terminal_at
        half = self.port_spacing / 2.0 + _TERMINAL_RIM_MM
        low = (middle - half, self._window - self.terminal_reach, -self.pcb / 2.0 - self.block_thickness)
        return low, (middle + half, self._window, self.pcb / 2.0 + self.backplate)

    def _check(self) -> None:
        low, high = self._block_x
        taken = 0.0 if self.plug == "none" else _POWER_MM[0] + 5.0
        if high > self._front - taken:
            raise ValueError(
                f"the block of {self.block_length:g} mm is too long: behind the outlets and before the power "
                f"socket the card has {self._front - taken - low:g} mm"
            )
        (begin, _, floor), (end, _, roof) = self._terminal
        if begin < low or end > high:
            begin, end, low, high = (x - _PCB_REAR_MM for x in (begin, end, low, high))
            raise ValueError(
                f"the terminal reaches {begin:g} to {end:g} mm from the rear edge, "
                f"the block {low:g} to {high:g} mm"
            )
        thick = roof - floor
        if thick < 2.0 * self.port_depth:
            raise ValueError(
                f"two ports of {self.port_depth:g} mm face each other in a terminal {thick:g} mm thick; "
                f"{2.0 * self.port_depth:g} mm is the least"
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

    def _water(self) -> Iterator[Solid]:
        half, begin = self.pcb / 2.0, SLOT_ENGAGEMENT_MM - _EDGE_HEIGHT_MM
        rear, front = self._block_x
        low = (rear, self._window, -half - self.block_thickness)
        yield block("water_block", low, (front, begin, -half), "clear")
        yield block("terminal", *self._terminal)

    def _ports(self) -> tuple[dict[str, Port], tuple[Bore, ...]]:
        (x0, y0, z0), (x1, y1, z1) = self._terminal
        x, y, half = (x0 + x1) / 2.0, (y0 + y1) / 2.0, self.port_spacing / 2.0
        made = {
            f"{name}_{face}": threaded_port(
                (x + side, y, z), DIRECTIONS[face], depth=self.port_depth, into=("terminal",)
            )
            for name, side in (("in", -half), ("out", half))
            for face, z in (("roof", z1), ("floor", z0))
        }
        return {name: port for name, (port, _) in made.items()}, tuple(bore for _, bore in made.values())

    def _socket(self) -> Corners:
        along, into, high = _POWER_MM
        half = self.pcb / 2.0
        if self.plug == "front":
            middle = (self._window + SLOT_ENGAGEMENT_MM - _EDGE_HEIGHT_MM) / 2.0
            low = (self._front - into, middle - along / 2.0, -half - high)
            return low, (self._front, middle + along / 2.0, -half)
        x = self._front - 3.0
        return (x - along, self._window, -half - high), (x, self._window + into, -half)

    def _power_socket(self) -> Iterator[Solid]:
        if self.plug != "none":
            yield block("power_socket", *self._socket(), "plastic")

    def _zones(self) -> Iterator[Zone]:
        (x0, y0, z0), (x1, y1, z1) = self._socket()
        reason = "the card's power plug and its cable"
        if self.plug == "window":
            yield room("plug_room", (x0, y0 - self.plug_room, z0), (x1, y0, z1), reason)
        elif self.plug == "front":
            yield room("plug_room", (x1, y0, z0), (x1 + self.plug_room, y1, z1), reason)
