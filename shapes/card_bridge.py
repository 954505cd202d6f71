"""A bridge between the terminals of two graphics cards in one mainboard."""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType

from shapes.card_terminal import Terminal, terminal_length
from shapes.fields import Length, Shape, choice, count, length
from shapes.form_factors import SLOT_PITCH_MM
from shapes.part import Mount, Part, Port
from shapes.patterns import PORT_DEPTH_MM
from shapes.pose import DIRECTIONS, Pose
from shapes.solids import block

_CP = "common practice, no source"
_CARD_FACES = ("in_roof", "out_roof", "in_floor", "out_floor")


class CardBridge(Shape):
    """A rigid block from the floor face of the upper card's terminal to the roof face of the lower one's.

    Origin: its middle; x to the front, y to the tray, z to the roof. Both channels go straight through:
    ``in_roof``, ``out_roof``, ``in_floor``, ``out_floor`` meet the cards' openings face to face, sealed by
    O-rings. ``in_window`` and ``out_window``, ``in_rear`` and ``out_front`` take fittings. Mounts:
    ``cards`` goes to the upper card's ``terminal_floor``, ``below`` to a lower card's ``terminal_roof``;
    name the other card under ``touches``.
    """

    slots_apart: int = count(
        3, "slots from one card to the other", source="slot pitch 20.32 mm: ATX hole table", least=1, most=6
    )
    terminal: Length = length(
        20.57,
        "thickness of the cards' terminals: block, circuit board, backplate",
        source=_CP,
        least=8,
        most=90,
    )
    port_spacing: Length = length(25.4, "middle to middle", source=_CP, least=20, most=60)
    reach: Length = length(24.0, "window side to tray side, as the terminals", source=_CP, least=22, most=60)
    window_ports: bool = choice(True, "openings in the window side", source=_CP)
    end_ports: bool = choice(False, "openings in both ends", source=_CP)
    port_depth: Length = length(PORT_DEPTH_MM, "thread of those openings", source=_CP, least=3, most=12)

    def build(self) -> Part:
        """The bridge in its own frame; ValueError where the terminals leave no room for it."""
        high = self.slots_apart * SLOT_PITCH_MM - self.terminal
        if high < 2.0:
            raise ValueError(
                f"terminals {self.terminal:g} mm thick on cards "
                f"{self.slots_apart * SLOT_PITCH_MM:g} mm apart leave {high:g} mm; a bridge needs 2 mm"
            )
        half = (terminal_length(self.port_spacing) / 2.0, self.reach / 2.0, high / 2.0)
        low = (-half[0], -half[1], -half[2])
        body = Terminal(low, half, self.port_spacing, self.port_depth)
        names = ("in_window", "out_window") * self.window_ports + ("in_rear", "out_front") * self.end_ports
        body.check(names)
        threaded, bores = body.openings(names)
        meeting = {name: self._meeting(body, name) for name in _CARD_FACES}
        return Part(
            solids=(block("bridge", *body.corners),),
            ports=MappingProxyType(meeting | threaded),
            mounts=MappingProxyType(
                {
                    "cards": Mount(Pose.facing((0.0, 0.0, half[2]), DIRECTIONS["roof"]), "terminal"),
                    "below": Mount(Pose.facing((0.0, 0.0, low[2]), DIRECTIONS["floor"]), "terminal"),
                }
            ),
            bores=tuple(replace(bore, into=("bridge",)) for bore in bores),
        )

    def _meeting(self, body: Terminal, name: str) -> Port:
        channel, _, face = name.partition("_")
        return Port(Pose.facing(body.place(channel, face), DIRECTIONS[face]))
