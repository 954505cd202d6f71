"""A riser: a slot on a cable, on which a graphics card stands upright before the mainboard."""

from __future__ import annotations

from collections.abc import Iterator
from types import MappingProxyType
from typing import Literal

from shapes.fields import Length, Shape, choice, count, length
from shapes.form_factors import (
    PCB_MM,
    SLOT_CONNECTOR_HEIGHT_MM,
    SLOT_CONNECTOR_MM,
    SLOT_CONNECTOR_REAR_MM,
    SLOT_CONNECTOR_WIDTH_MM,
    SLOT_ENGAGEMENT_MM,
    SLOT_OPENING_DOWN_MM,
    SLOT_OPENING_HEIGHT_MM,
    SLOT_PITCH_MM,
)
from shapes.idle import check_idle
from shapes.part import Mount, Part, Solid, Zone
from shapes.pose import DIRECTIONS, Pose
from shapes.solids import block, room, sheet

_CEM = "PCI Express card drawings, secondary source, original not read"
_CP = "common practice, no source"
_BOARD_RIM_MM = 10.0  # the riser's circuit board before and behind the connector
_BOARD_Y_MM = (-12.0, 20.0)
_POST_MM = 8.0
_FOOT_MM, _FOOT_RIM_MM = 3.0, 10.0
_ARM_Y_MM = (4.0, 20.0)  # on the tray side of the card's bracket, which reaches 2.06 mm
_ARM_MM = 8.0
_FRAME_MM, _FRAME_RIM_MM = 1.0, 4.0


class Riser(Shape):
    """Carries a card upright, its edge to the floor, its cooler to the window, its bracket to the rear.

    Origin: where the card's own origin comes, the slot's datum at the mouth of the connector; x to the
    front, y to the tray, z to the roof. Mounts: ``slot`` for the card; ``foot`` on a plain surface, or,
    ``held`` by the slots, ``bracket`` on the case's topmost of ``frame_slots`` slot openings (their kind
    is "bracket"). The picture cables leave through those openings.
    """

    held: Literal["foot", "slots"] = choice(
        "foot", "stands on a surface, or hangs on the rear panel's slot openings", source=_CP
    )
    height: Length = length(
        27.0,
        "slot's mouth over the surface; the end of a card's bracket goes 22.96 below the mouth",
        source=_CEM,
        least=23,
        most=200,
    )
    frame_slots: int = count(3, "slot openings its frame takes", source=_CP, least=2, most=7)
    set_back: Length = length(
        110.0,
        "slot's datum before the rear panel; the bent end of a card's bracket reaches 70.48 to the rear",
        source=_CEM,
        least=72,
        most=300,
    )
    out: Length = length(
        20.0, "card's middle plane to the window of the openings' middle", source=_CP, least=-60, most=120
    )
    cable_room: Length = length(
        12.0, "riser cable's bend behind the connector; 0: none", source=_CP, least=0, most=60
    )

    def build(self) -> Part:
        """The riser in its own frame; ValueError where its frame does not reach its arm."""
        check_idle(self, "held", "slots", "frame_slots", "set_back", "out")
        check_idle(self, "held", "foot", "height")
        mounts = {"slot": self._slot()}
        if self.held == "foot":
            solids = tuple(self._foot())
            below = Pose.facing((0.0, 0.0, -self.height), DIRECTIONS["floor"])
            mounts["foot"] = Mount(below, "stand")
        else:
            solids = tuple(self._frame())
            at = (-self.set_back, self.out, self._top_opening)
            mounts["bracket"] = Mount(Pose.facing(at, DIRECTIONS["rear"], DIRECTIONS["window"]), "bracket")
        return Part(
            solids=(*self._connector(), *solids),
            mounts=MappingProxyType(mounts),
            zones=tuple(self._cable()),
        )

    def _cable(self) -> Iterator[Zone]:
        if self.cable_room:
            (x0, x1), y = self._board_x, _BOARD_Y_MM[1]
            far = (x1, y + self.cable_room, 0.0)
            yield room("cable_room", (x0, y, self._under), far, "the riser's cable", likely=True)

    @property
    def _board_x(self) -> tuple[float, float]:
        rear = -SLOT_CONNECTOR_REAR_MM
        return rear - _BOARD_RIM_MM, rear + SLOT_CONNECTOR_MM["x16"] + _BOARD_RIM_MM

    @property
    def _under(self) -> float:
        """Underside of the riser's circuit board."""
        return -SLOT_CONNECTOR_HEIGHT_MM - PCB_MM

    @property
    def _top_opening(self) -> float:
        """Middle of the topmost opening: the lowest one's frame ends level with the arm."""
        half = (SLOT_OPENING_DOWN_MM[1] - SLOT_OPENING_DOWN_MM[0]) / 2.0 + _FRAME_RIM_MM
        return self._under - _ARM_MM + half + (self.frame_slots - 1) * SLOT_PITCH_MM

    def _slot(self) -> Mount:
        pose = Pose.facing((0.0, 0.0, 0.0), DIRECTIONS["roof"], DIRECTIONS["tray"])
        return Mount(pose, "slot", through=True, engagement=SLOT_ENGAGEMENT_MM)

    def _connector(self) -> Iterator[Solid]:
        rear, half = -SLOT_CONNECTOR_REAR_MM, SLOT_CONNECTOR_WIDTH_MM / 2.0
        low = (rear, -half, -SLOT_CONNECTOR_HEIGHT_MM)
        yield block("slot", low, (rear + SLOT_CONNECTOR_MM["x16"], half, 0.0), "plastic")
        (x0, x1), (y0, y1) = self._board_x, _BOARD_Y_MM
        yield block("pcb", (x0, y0, self._under), (x1, y1, -SLOT_CONNECTOR_HEIGHT_MM), "board")

    def _foot(self) -> Iterator[Solid]:
        (x0, x1), (y0, y1), rim = self._board_x, _BOARD_Y_MM, _FOOT_RIM_MM
        top = -self.height + _FOOT_MM
        yield block("foot", (x0, y0 - rim, -self.height), (x1, y1 + rim, top), "metal")
        for name, x in (("post_rear", x0), ("post_front", x1 - _POST_MM)):
            yield block(name, (x, y0, top), (x + _POST_MM, y1, self._under), "metal")

    def _frame(self) -> Iterator[Solid]:
        tall = (SLOT_OPENING_HEIGHT_MM[1] - SLOT_OPENING_HEIGHT_MM[0]) / 2.0
        wide = (SLOT_OPENING_DOWN_MM[1] - SLOT_OPENING_DOWN_MM[0]) / 2.0
        x, top, rim = (-self.set_back, -self.set_back + _FRAME_MM), self._top_opening, _FRAME_RIM_MM
        bottom = top - (self.frame_slots - 1) * SLOT_PITCH_MM
        y0, y1 = self.out - tall, self.out + tall
        if not (y0 <= _ARM_Y_MM[0] and _ARM_Y_MM[1] <= y1):
            raise ValueError(
                f"the frame reaches {y0:g} to {y1:g} mm across, "
                f"its arm {_ARM_Y_MM[0]:g} to {_ARM_Y_MM[1]:g} mm: "
                f"out can be {_ARM_Y_MM[1] - tall:g} to {_ARM_Y_MM[0] + tall:g} mm"
            )
        openings = {
            f"slot {number + 1}": ((x[0], y0, z - wide), (x[1], y1, z + wide))
            for number, z in enumerate(top - k * SLOT_PITCH_MM for k in range(self.frame_slots))
        }
        low, high = (x[0], y0 - rim, bottom - wide - rim), (x[1], y1 + rim, top + wide + rim)
        yield sheet("frame", low, high, rects=openings, look="metal")
        arm = (x[1], _ARM_Y_MM[0], self._under - _ARM_MM)
        yield block("arm", arm, (self._board_x[1] - _BOARD_RIM_MM, _ARM_Y_MM[1], self._under), "metal")
