"""Places for 5.25 in devices in a case's front: the cage they are screwed into, and their opening.

Sizes and side holes of the devices are those of SFF-8551, as ``shapes.bay_reservoir`` states them.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from types import MappingProxyType

from shapes.bay_reservoir import (
    BEZEL_HEIGHT_MM,
    BEZEL_MM,
    BEZEL_WIDTH_MM,
    HEIGHT_MM,
    HOLES_BEHIND_MM,
    SIDE_HOLES_UP_MM,
    WIDTH_MM,
    side_holes,
)
from shapes.part import Mount, Solid
from shapes.pose import DIRECTIONS, Pose
from shapes.solids import Corners, sheet

# Common practice, no source.
_CAGE_SHEET_MM = 1.0
_SLIDE_ROOM_MM = 0.95  # across the cage: a device slides in
_BEZEL_ROOM_MM = 0.5  # all round a bezel in its opening
_BEHIND_HOLES_MM = 15.0  # from the rear screw holes to the cage's end
_UNDER_MM = 0.5  # from the lowest device to the sheet under it


@dataclass(frozen=True, slots=True)
class Bays:
    """``count`` places one above the other, their bezels flush with the front, in the case's frame.

    front : outer face of the front panel; middle : of the places across the case
    roof : the roof's inner face, which the cage hangs from; top : upper edge of the opening [mm]
    """

    count: int
    front: float
    middle: float
    roof: float
    top: float

    @property
    def opening(self) -> Corners:
        """The opening in the front panel."""
        half = BEZEL_WIDTH_MM / 2.0 + _BEZEL_ROOM_MM
        height = self.count * BEZEL_HEIGHT_MM + 2.0 * _BEZEL_ROOM_MM
        return (self.front, self.middle - half, self.top - height), (self.front, self.middle + half, self.top)

    @property
    def rear(self) -> float:
        """The cage's rear end."""
        return self.front - BEZEL_MM - HOLES_BEHIND_MM[1] - _BEHIND_HOLES_MM

    @property
    def sides(self) -> tuple[float, float]:
        """The cage's outer faces toward window and tray."""
        half = (WIDTH_MM + _SLIDE_ROOM_MM) / 2.0 + _CAGE_SHEET_MM
        return self.middle - half, self.middle + half

    def mounts(self) -> dict[str, Mount]:
        """``bay_1`` and so on from below, on the cage's tray side; ``slide`` to the front."""
        y = self.sides[1] - _CAGE_SHEET_MM
        x = self.front - BEZEL_MM - sum(HOLES_BEHIND_MM) / 2.0
        rows = MappingProxyType({"5.25": side_holes()})
        return {
            f"bay_{number + 1}": Mount(
                Pose.facing(
                    (x, y, self._floor(number) + sum(SIDE_HOLES_UP_MM) / 2.0),
                    DIRECTIONS["window"],
                    DIRECTIONS["front"],
                ),
                "drive",
                rows,
                row_of="bays",
                sheet=_CAGE_SHEET_MM,
            )
            for number in range(self.count)
        }

    def solids(self) -> Iterator[Solid]:
        """Two drilled sides hanging from the roof, and the sheet that joins them under the devices."""
        (low, high), t, end = self.sides, _CAGE_SHEET_MM, self.front - BEZEL_MM
        under = self._floor(0) - _UNDER_MM
        screws = [
            (place.mount2part, holes) for place in self.mounts().values() for holes in place.rows.values()
        ]
        for name, y in (("window", low), ("tray", high - t)):
            corners = (self.rear, y, under), (end, y + t, self.roof)
            yield sheet(f"bay_cage_{name}", *corners, screws=screws, look="metal", along="front")
        yield sheet("bay_cage_floor", (self.rear, low, under - t), (end, high, under), look="metal")

    def check(self, behind: float, window: float, tray: float, row: float) -> None:
        """ValueError where the cage or its opening does not go in.

        behind : how far the board reaches to the front; window, tray : the faces it stands between
        row : upper end of the front's screw slots [mm]
        """
        low, high = self.sides
        if low < window or high > tray:
            raise ValueError(f"the bays need {high - low:g} mm across, there are {tray - window:g}")
        if self.rear < behind:
            raise ValueError(
                f"the bays' cage begins {self.rear:g} mm from the rear, the board ends at {behind:g}: "
                f"make the case {behind - self.rear:g} mm deeper"
            )
        under = self.opening[0][2]
        if under < row:
            raise ValueError(
                f"the bays' opening reaches down to {under:g} mm, the front's screw slots up to {row:g}: "
                f"shorten or lower them with front_slots and front_middle"
            )

    def _floor(self, number: int) -> float:
        """The floor face of a device in this place, from below; its bezel stands over at both ends."""
        bezel = self.opening[0][2] + _BEZEL_ROOM_MM + number * BEZEL_HEIGHT_MM
        return bezel + (BEZEL_HEIGHT_MM - HEIGHT_MM) / 2.0
