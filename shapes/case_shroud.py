"""The cover over a power supply in a case's foot, and the drive cage under its front end."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from shapes.case_drives import CAGE_MM, cage_height, drive_cage
from shapes.case_parts import mount, plain_face
from shapes.part import Mount, Solid
from shapes.pose import Vec3
from shapes.solids import NONE, Corners, sheet

INSET_MM = 3.0  # between the side panel and the cover
_WALL_MM = 5.0  # from the cage to cover and tray


@dataclass(frozen=True, slots=True)
class Shroud:
    """A cover from the rear panel to ``end`` and from the side panel to the tray, in the case's frame.

    low : inner corner of the case: rear, window, floor; tray : the tray's face [mm]
    height : from the floor to the top face; panel : thickness of the sheet
    passes : round openings in the top, ``pass_diameter`` wide
    """

    low: Vec3
    end: float
    tray: float
    height: float
    panel: float
    passes: int
    pass_diameter: float

    def holes(self) -> dict[str, tuple[Vec3, float]]:
        """Round openings in the top: middle and diameter."""
        middle, top = (self.low[1] + INSET_MM + self.tray) / 2.0, self.low[2] + self.height
        return {
            f"pass_{number + 1}": ((self.end - 45.0 - 60.0 * number, middle, top), self.pass_diameter)
            for number in range(self.passes)
        }

    def mounts(self) -> dict[str, Mount]:
        """The top as a plain face, and its round openings for bulkhead fittings."""
        (x0, y0, _), top = self.low, self.low[2] + self.height
        middle = ((x0 + self.end) / 2.0, (y0 + self.tray) / 2.0, top)
        low, high = (x0, y0 + INSET_MM, top), (self.end, self.tray, top)
        holes = {
            name: mount(at, "roof", "bulkhead", thick=self.panel) for name, (at, _) in self.holes().items()
        }
        return {"shroud": plain_face("roof", low, high, self.panel, middle)} | holes

    def solids(self, cage: Cage | None) -> Iterator[Solid]:
        """Top and side; the side is open where a cage is drawn out."""
        x0, y0, z0 = self.low
        side, under = y0 + INSET_MM, z0 + self.height - self.panel
        cables = ((x0 + 60.0, self.tray - 45.0, 0.0), (x0 + 160.0, self.tray - 15.0, 0.0))
        high = (self.end, self.tray, z0 + self.height)
        yield sheet("shroud_top", (x0, side, under), high, rects={"cables": cables}, rounds=self.holes())
        door = NONE if cage is None else {"cage's opening": cage.door()}
        yield sheet("shroud_side", (x0, side, z0), (self.end, side + self.panel, under), rects=door)


@dataclass(frozen=True, slots=True)
class Cage:
    """A drive cage whose front ends at ``end``, beside the tray; ``floor`` it stands on [mm]."""

    end: float
    tray: float
    floor: float
    bays: int

    @property
    def low(self) -> Vec3:
        """Its lower corner: rear, window, floor."""
        return self.end - _WALL_MM - CAGE_MM[0], self.tray - _WALL_MM - CAGE_MM[1], self.floor

    def build(self) -> tuple[tuple[Solid, ...], dict[str, Mount]]:
        """Its solids and mounts."""
        return drive_cage(self.low, self.bays)

    def door(self) -> Corners:
        """The opening it is drawn out of, toward the window."""
        (x, _, z), room = self.low, 1.0
        high = (x + CAGE_MM[0] + room, 0.0, z + cage_height(self.bays) + room / 2.0)
        return (x - room, 0.0, z - room), high

    def plugs(self) -> Corners:
        """The opening in the tray for the drives' plugs."""
        (x, _, z), web = self.low, 3.0
        return (x + web, 0.0, z + web), (x + CAGE_MM[0] - web, 0.0, z + cage_height(self.bays) - web)

    def check(self, rear: float, side: float, height: float, row: float, slots: float) -> None:
        """ValueError where it does not fit or stands on the floor's fan row.

        rear, side : inner faces toward rear and window; height : up to the sheet above [mm]
        row, slots : middle of the floor's screw slots and their length, 0 for none
        """
        room = (self.end - rear - 2.0 * _WALL_MM, self.tray - 2.0 * _WALL_MM - side, height)
        sizes = (*CAGE_MM, cage_height(self.bays))
        if any(size > free for size, free in zip(sizes, room, strict=True)):
            needs, has = (" x ".join(f"{one:g}" for one in three) for three in (sizes, room))
            raise ValueError(f"the drive cage of {needs} mm has a room of {has} mm under the shroud")
        begin, end = self.low[0], self.low[0] + CAGE_MM[0]
        if slots and begin < row + slots / 2.0 and row - slots / 2.0 < end:
            raise ValueError(
                f"the drive cage stands {begin:g} to {end:g} mm from the rear, on the floor's screw "
                f"slots about {row:g} mm: move them with floor_middle or leave them out with floor_slots: 0"
            )
