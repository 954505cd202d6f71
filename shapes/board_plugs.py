"""Power sockets and fan headers of a board, and the room their plugs and cables need.

Places are (down, along) as in ``shapes.form_factors``. Sizes: sockets with 4.2 mm pin pitch in two
rows, fan headers with four pins 2.54 mm apart; where they stand is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TypeAlias

from shapes.form_factors import on_board
from shapes.part import Look, Solid, Zone
from shapes.solids import Corners, block, room

Span: TypeAlias = tuple[float, float]

_CPU_SOCKET_MM = (9.6, 18.6)  # across the rows, along them: 8 pins
_MAIN_DOWN_MM = (70.0, 121.6)  # 24 pins
_SOCKET_HEIGHT_MM = 13.0
_CPU_DOWN_MM = 4.0
_MARGIN_MM = 4.0  # about a socket, for fingers and the plug's latch
_HEADER_MM = (6.0, 10.2, 8.0)  # across the pins, along them, high
_HEADER_EDGE_MM = 3.0
_HEADER_PITCH_MM = 15.0
_BOTTOM_HEADERS_MM = 105.0


@dataclass(frozen=True, slots=True)
class Plugs:
    """What a board has to be plugged in.

    size : the board's (down, along)
    cpu_begin, cpu_plugs : rear end of the CPU power sockets, and how many stand in a row
    over, over_fan : power and fan plugs with their cables' bends, over the board
    past_top, past_front : how far the cables bend out past the edges
    bottom : whether fan headers may stand at the bottom edge

    All lengths in mm.
    """

    size: Span
    cpu_begin: float
    cpu_plugs: int
    cpu_along: float
    fan_headers: int
    over: float
    over_fan: float
    past_top: float
    past_front: float
    bottom: bool

    def sockets(self) -> Iterator[Solid]:
        """The sockets and headers themselves."""
        high, front = (0.0, _SOCKET_HEIGHT_MM), self.size[1]
        for number, along in enumerate(self._cpu_sockets(), 1):
            name = "cpu_power" if number == 1 else f"cpu_power_{number}"
            down = (_CPU_DOWN_MM, _CPU_DOWN_MM + _CPU_SOCKET_MM[0])
            yield standing(name, down, along, high, "plastic")
        yield standing("main_power", _MAIN_DOWN_MM, (front - 11.6, front - 2.0), high, "plastic")
        for number, place in enumerate(self._headers(), 1):
            yield standing(f"fan_header_{number}", *place, (0.0, _HEADER_MM[2]), "plastic")

    def rooms(self) -> Iterator[Zone]:
        """Room of the plugs: needed for power, likely taken for fans."""
        (begin, end), front, (top, bottom) = self._cpu_power(), self.size[1], _MAIN_DOWN_MM
        margin, over = _MARGIN_MM, (0.0, self.over)
        down = (-self.past_top, _CPU_DOWN_MM + _CPU_SOCKET_MM[0] + margin)
        yield room(
            "cpu_power_room",
            *corners(down, (begin - margin, end + margin), over),
            "the CPU power plug and its cable",
        )
        yield room(
            "main_power_room",
            *corners((top - margin, bottom + margin), (front - 11.6, front + self.past_front), over),
            "the main power plug and its cable",
        )
        for number, place in enumerate(self._headers(), 1):
            reason = f"a fan's plug and its cable on header {number}"
            yield room(f"fan_plug_room_{number}", *corners(*place, (0.0, self.over_fan)), reason, likely=True)

    def _cpu_sockets(self) -> Iterator[Span]:
        for number in range(self.cpu_plugs):
            begin = self.cpu_begin + number * (_CPU_SOCKET_MM[1] + 1.0)
            yield begin, begin + _CPU_SOCKET_MM[1]

    def _cpu_power(self) -> Span:
        sockets = list(self._cpu_sockets())
        return sockets[0][0], sockets[-1][1]

    def _headers(self) -> Iterator[tuple[Span, Span]]:
        across, along, _ = _HEADER_MM
        first = max(self._cpu_power()[1] + _MARGIN_MM + 1.0, self.cpu_along)
        bottom = self.size[0] - _HEADER_EDGE_MM - across
        for number in range(self.fan_headers if self.bottom else min(self.fan_headers, 2)):
            down = _HEADER_EDGE_MM if number < 2 else bottom
            begin = (first if number < 2 else _BOTTOM_HEADERS_MM) + number % 2 * _HEADER_PITCH_MM
            yield (down, down + across), (begin, begin + along)


def about(middle: float, size: float) -> Span:
    """The span of ``size`` mm about a middle."""
    return (middle - size / 2.0, middle + size / 2.0)


def corners(down: Span, along: Span, height: Span) -> Corners:
    """Low and high corner in the board's frame of what spans these [mm]."""
    return on_board(down[1], along[0], height[1]), on_board(down[0], along[1], height[0])


def standing(name: str, down: Span, along: Span, height: Span, look: Look = "black") -> Solid:
    """A block on the component face."""
    return block(name, *corners(down, along, height), look)
