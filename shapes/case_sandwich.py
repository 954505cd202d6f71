"""A small case: Mini-ITX board and card back to back on a spine."""

from __future__ import annotations

from collections.abc import Iterator
from types import MappingProxyType
from typing import Any

from pydantic import model_validator

from shapes.case import CP, Case
from shapes.case_board import board_mount, bracket_mounts, rear_openings, rear_panel, tray, tray_openings
from shapes.case_parts import (
    Inside,
    Seat,
    check_row,
    fan_row,
    feet,
    plain_face,
    supply_mount,
    supply_opening,
    vented,
)
from shapes.fields import Length, choice, count, length
from shapes.form_factors import (
    BOARD_OUTLINE_MM,
    BRACKET_END_DOWN_MM,
    HOLE_SETS,
    PCB_MM,
    PSU_SIZE_MM,
    REAR_PANEL_MM,
    SLOT_CONNECTOR_HEIGHT_MM,
    SLOT_CONNECTOR_MM,
    SLOT_CONNECTOR_REAR_MM,
    SLOT_CONNECTOR_WIDTH_MM,
    SLOT_DATUM_MM,
    SLOT_ENGAGEMENT_MM,
    SLOT_PITCH_MM,
    STAND_OFF_MM,
)
from shapes.mirror import mirrored
from shapes.part import Mount, Part, Solid
from shapes.pose import DIRECTIONS, OPPOSITE, Pose
from shapes.solids import block, sheet

_FORM = "Mini-ITX"
#: A mirrored case's riser leaves the card's bracket tab room over the floor (common practice, no source).
_MIRRORED_DROP_MM = 24.0


class CaseSandwich(Case):
    """A flat Mini-ITX case: board toward the window, card behind it, an upright spine between them.

    Origin: rear lower corner of the outer shell on the window side; x to the front, y to the tray,
    z to the roof. The card hangs from a riser under the top of the spine, its slots count from the
    spine outward; the supply, an SFX one standing on its side, looks to the front in the board's
    chamber, its mains lead comes from the rear by an extension: have that made and earthed by someone
    licensed for it. Radiators lie in the roof over both chambers.
    Mounts: ``tray`` for the board, ``riser`` for the card, ``psu``, ``roof`` for fans and radiators
    (``slide`` to the front, from the row's middle), ``bracket_1`` and so on for plates in the card's
    slots (x to the floor), and the plain faces ``floor`` before the card's chamber and ``spine_wall``
    before the board (``slide`` to the front and to the roof, ``shift`` to the tray and to the rear).
    ``mirrored``: window and tray change sides, the window panel is then on the ``tray`` side (+y). A
    board and a card have no mirror image, so both stand upside down: ``board_drop`` counts to the
    board's slot end, the card stands on a riser above the floor and ``card_drop`` counts from the floor
    up to the riser's top (24 where not given). x, z and all words keep their ways.
    Edges of cut sheet are sharp: deburr every opening before a tube or a hand goes through it.
    """

    mirrored: bool = choice(False, "board and card upside down, window on the other side", source=CP)
    width: Length = length(186.0, "outside, window to tray side", source=CP, least=140, most=300)
    depth: Length = length(385.0, "outside, rear to front", source=CP, least=300, most=500)
    height: Length = length(266.0, "outside, without feet", source=CP, least=200, most=400)
    board_room: Length = length(
        86.0, "from the window panel's inner face to the spine", source=CP, least=60, most=150
    )
    roof_room: Length = length(
        66.0, "from the roof's inner face down to the top of the spine", source=CP, least=0, most=150
    )
    board_drop: Length = length(
        10.0, "from the top of the spine to the board's top edge", source=CP, least=6, most=60
    )
    slots: int = count(3, "slots of the card's chamber", source=CP, least=1, most=4)
    card_offset: Length = length(
        14.0, "from the spine's far face to the middle of the card's board", source=CP, least=8, most=40
    )
    card_drop: Length = length(
        16.0, "from the top of the spine down to the riser's underside", source=CP, least=0, most=60
    )
    roof_slots: Length = length(
        290.0, "length of the roof's screw slots; 0: none", source=CP, least=0, most=500
    )
    roof_middle: Length = length(
        190.0, "from the rear panel to the middle of the roof row", source=CP, least=0, most=500
    )
    roof_offset: Length = length(
        91.0, "from the tray-side panel to the middle of the roof row", source=CP, least=60, most=250
    )
    supply_front: Length = length(
        40.0,
        "from the front panel to the supply's bracket: the mains plug's room",
        source=CP,
        least=25,
        most=120,
    )
    supply_lift: Length = length(4.0, "height of the pads under the supply", source=CP, least=0, most=40)

    @model_validator(mode="before")
    @classmethod
    def _turned(cls, given: Any) -> Any:
        if isinstance(given, dict) and given.get("mirrored"):
            return {"card_drop": _MIRRORED_DROP_MM, **given}
        return given

    def build(self) -> Part:
        """The case in its own frame; ValueError for chambers too small, or rows that run out of the roof."""
        self._check()
        (x0, _, z0), (x1, _, z1) = self._low, self._high
        row = self._row()
        mounts = self._mounts() | ({"roof": row} if row else {})
        rear = rear_openings(self._seat, 0)
        card = {f"card's {name}": at for name, at in rear_openings(self._card, self.slots, io=False).items()}
        solids = (
            vented("roof", (0.0, 0.0, z1), (self.depth, self.width, self.height), row),
            sheet("floor", (0.0, 0.0, 0.0), (self.depth, self.width, z0)),
            sheet("front", (x1, 0.0, z0), (self.depth, self.width, z1)),
            rear_panel((0.0, 0.0, z0), (x0, self.width, z1), rear | card),
            *self._side_panels(),
            *tray(
                self._seat,
                _FORM,
                (x0, self._spine, z0),
                (x1, self._spine + self.panel, self._top),
                tray_openings(self._seat, _FORM, 0),
                name="spine",
                drilled=HOLE_SETS[_FORM],
            ),
            *self._riser(),
            self._bracket(mounts["psu"]),
            *feet(self.depth, self.width, self.feet),
        )
        removals = MappingProxyType(self._removals())
        part = Part(solids, mounts=MappingProxyType(mounts), removals=removals)
        return mirrored(part, self.width) if self.mirrored else part

    @property
    def _spine(self) -> float:
        """The spine's face toward the board."""
        return self._low[1] + self.board_room

    @property
    def _top(self) -> float:
        return self._high[2] - self.roof_room

    @property
    def _seat(self) -> Seat:
        x, y, z = self._low[0] + REAR_PANEL_MM, self._spine - STAND_OFF_MM, self._top - self.board_drop
        if self.mirrored:
            return Seat((x, y, z - BOARD_OUTLINE_MM[_FORM][0]), down="roof")
        return Seat((x, y, z))

    @property
    def _card(self) -> Seat:
        """A board that would carry the card, lying over the card's chamber; under it where mirrored."""
        x, y = self._low[0] + REAR_PANEL_MM, self._spine + self.panel + self.card_offset - SLOT_DATUM_MM[0]
        riser = SLOT_CONNECTOR_HEIGHT_MM + PCB_MM
        if self.mirrored:
            return Seat((x, y, self._low[2] + self.card_drop - riser), down="tray", out="roof")
        return Seat((x, y, self._top - self.card_drop + riser), down="tray", out="floor")

    @property
    def _bracket_x(self) -> float:
        """The supply's rear face."""
        return self._high[0] - self.supply_front - self.panel

    def _check(self) -> None:
        down, along = BOARD_OUTLINE_MM[_FORM]
        if (room := self._top - self.board_drop - self._low[2]) < down:
            raise ValueError(
                f"the {_FORM} board of {down:g} mm has {room:g} mm from its top edge to the floor"
            )
        size = (PSU_SIZE_MM["SFX"][1], PSU_SIZE_MM["SFX"][0] + self.supply_lift)
        room_for = (self.board_room, self._top - self._low[2])
        if any(need > free for need, free in zip(size, room_for, strict=True)):
            raise ValueError(
                f"the supply on its side needs {size[0]:g} x {size[1]:g} mm, the board's chamber has "
                f"{room_for[0]:g} x {room_for[1]:g}"
            )
        if self.mirrored and (under := self._card.origin[2] - self._low[2]) < 0.0:
            raise ValueError(
                f"the riser reaches {-under:g} mm into the floor: "
                f"card_drop {self.card_drop - under:g} mm or more"
            )
        board_end = self._low[0] + REAR_PANEL_MM + along
        if (left := self._bracket_x - PSU_SIZE_MM["SFX"][2] - board_end) < 0.0:
            raise ValueError(
                f"the supply runs into the board by {-left:g} mm: make the case deeper than {self.depth:g} mm"
            )
        side = self._card.at(
            SLOT_DATUM_MM[0] + (self.slots - 1) * SLOT_PITCH_MM + BRACKET_END_DOWN_MM[1], 0.0
        )[1]
        if side > self._high[1]:
            raise ValueError(
                f"{self.slots} slots reach {side:g} mm from the window side, the tray-side panel stands at "
                f"{self._high[1]:g}"
            )

    def _row(self) -> Mount | None:
        if not self.roof_slots:
            return None
        at = (self._low[0] + self.roof_middle, self._high[1] - self.roof_offset, self._high[2])
        row = fan_row(at, "floor", self.roof_slots, self.panel)
        check_row("roof", row, Inside(self._low, self._high))
        return row

    def _mounts(self) -> dict[str, Mount]:
        (_, _, z0), (x1, y1, _) = self._low, self._high
        width, height, _ = PSU_SIZE_MM["SFX"]
        supply = (self._bracket_x, self._spine - height / 2.0, z0 + self.supply_lift + width / 2.0)
        mouth = self._card.at(SLOT_DATUM_MM[0], SLOT_DATUM_MM[1], SLOT_CONNECTOR_HEIGHT_MM)
        riser = Pose.facing(mouth, DIRECTIONS[self._card.out], DIRECTIONS[OPPOSITE[self._card.down]])
        board_end = self._low[0] + REAR_PANEL_MM + BOARD_OUTLINE_MM[_FORM][1]
        behind = self._spine + self.panel
        return {
            "tray": board_mount(self._seat, _FORM),
            "riser": Mount(riser, "slot", row_of="slots", through=True, engagement=SLOT_ENGAGEMENT_MM),
            "psu": supply_mount(supply, "rear", "SFX", thick=self.panel, up="window", mirrored=self.mirrored),
            "floor": plain_face("roof", (self._low[0], behind, z0), (x1, y1, z0), self.panel),
            "spine_wall": plain_face(
                "window", (board_end, self._spine, z0), (x1, self._spine, self._top), self.panel
            ),
        } | bracket_mounts(self._card, self.slots, self.panel)

    def _riser(self) -> Iterator[Solid]:
        """The riser's board, held by the spine, and its connector; the ribbon is left to its user."""
        rear = SLOT_DATUM_MM[1] - SLOT_CONNECTOR_REAR_MM
        along = (rear, rear + SLOT_CONNECTOR_MM["x16"])
        half = SLOT_CONNECTOR_WIDTH_MM / 2.0
        connector = self._card.spans(
            (SLOT_DATUM_MM[0] - half, SLOT_DATUM_MM[0] + half), along, (0.0, SLOT_CONNECTOR_HEIGHT_MM)
        )
        low, high = self._card.spans(
            (SLOT_DATUM_MM[0] - self.card_offset, SLOT_DATUM_MM[0] + 8.0),
            (along[0] - 6.0, along[1] + 6.0),
            (-PCB_MM, 0.0),
        )
        yield block("riser_board", low, high, "board")
        yield block("riser_slot", *connector, "plastic")

    def _bracket(self, supply: Mount) -> Solid:
        """The upright bracket the supply is screwed to, standing on the floor beside the spine."""
        width, height, _ = PSU_SIZE_MM["SFX"]
        x, (_, y, z) = self._bracket_x, supply.mount2part.origin.tolist()
        low = (x, max(y - height / 2.0 - 2.0, self._low[1]), self._low[2])
        high = (x + self.panel, self._spine, min(z + width / 2.0 + 2.0, self._top))
        screws = [(supply.mount2part, holes) for holes in supply.rows.values()]
        return sheet("supply_bracket", low, high, rects={"supply": supply_opening(supply)}, screws=screws)
