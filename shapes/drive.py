"""A drive of 2.5, 3.5 or 5.25 in with its bottom and side screw holes.

Figures by their names in SFF-8201 (2.5 in), SFF-8301 (3.5 in) and SFF-8551 (5.25 in); transcriptions
read, originals not. ``shapes.drive_holes`` has the 2.5 and 3.5 in bottom holes.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from types import MappingProxyType
from typing import Annotated, Literal

from pydantic import BeforeValidator

from shapes.drive_holes import (
    DRIVE_HOLE_MM,
    DRIVE_HOLES_ACROSS_MM,
    DRIVE_HOLES_ALONG_MM,
    DRIVE_SIZE_MM,
)
from shapes.fields import Length, Shape, choice, length
from shapes.part import Hole, Mount, Part, Solid, Zone
from shapes.pose import DIRECTIONS, Pose
from shapes.solids import block, room

_CP = "common practice, no source"


@dataclass(frozen=True, slots=True)
class _Size:
    """length, width, height, tallest : outside; along, across : bottom holes; side_along, side_up : side
    holes from the plugs' end and over the underside; hole : their diameter. All in mm."""

    length: float
    width: float
    height: float
    tallest: float
    along: tuple[float, ...]
    across: float
    side_along: tuple[float, ...]
    side_up: tuple[float, ...]
    hole: float


def _known(size: str, tallest: float, side_along: tuple[float, ...], side_up: float) -> _Size:
    along, across = DRIVE_HOLES_ALONG_MM[size], DRIVE_HOLES_ACROSS_MM[size]
    return _Size(*DRIVE_SIZE_MM[size], tallest, along, across, side_along, (side_up,), DRIVE_HOLE_MM[size])


#: 2.5 in: A1 up to 19.05, A23 3.00, sides at A52 and A53. 3.5 in: A1 up to 42.00, A8 28.50, A9 101.60 on,
#: A10 6.35. 5.25 in: A1 41.53, A4 202.80 with holes at A9 47.40 and A11 79.25 on from the front, A5
#: 146.05, A6 139.70, A13 10.00, A14 21.84; its M3 holes from memory, ISO 273 fine.
_SIZES = MappingProxyType(
    {
        "2.5": _known("2.5", 19.05, DRIVE_HOLES_ALONG_MM["2.5"], 3.0),
        "3.5": _known("3.5", 42.0, (28.5, 130.1), 6.35),
        "5.25": _Size(202.8, 146.05, 41.53, 41.53, (76.15, 155.4), 139.7, (76.15, 155.4), (10.0, 21.84), 3.2),
    }
)
_OUTER_ALONG_MM = 76.2  # A13 of SFF-8301: from A7's holes to the pair tall drives have instead
_BEZEL_MM = (5.0, 148.0, 42.3)  # SFF-8551 A17, A3, A2: thick, wide, high


def _drive_size(word: object) -> object:
    if isinstance(word, int | float) and not isinstance(word, bool):
        return f"{word:g}"
    return word.removesuffix("in").rstrip(' "') if isinstance(word, str) else word


class Drive(Shape):
    """A drive as it lies on its underside.

    Origin: middle of the underside at the end with the plugs; x away from the plugs, y to the tray,
    z to the roof. Mounts, all of kind "drive": ``bottom``, and ``window`` and ``tray`` on its sides.
    """

    size: Annotated[Literal["2.5", "3.5", "5.25"], BeforeValidator(_drive_size)] = choice(
        "3.5", "form factor in inches", source="SFF-8201, SFF-8301, SFF-8551 by transcriptions"
    )
    height: Length | None = length(
        None,
        "over all; 9.5, 26.1 or 41.53 if left out. Usual: 5, 7, 9.5, 15; 17.8, 26.1, 42",
        source="SFF-8201, SFF-8301 and SFF-8551, A1, by transcriptions",
        least=5,
        most=42,
    )
    depth: Length | None = length(
        None,
        "plugs' end to the other end; 100.45, 147 or 202.8, the most there is, if left out",
        source="SFF-8201 A6, SFF-8301 A2, SFF-8551 A4 by transcriptions",
        least=95,
        most=202.8,
    )
    bottom_holes: Literal["near", "outer"] = choice(
        "near",
        "of 3.5 in: pairs 44.45 apart, or 76.20 apart as on tall drives",
        source="SFF-8301 A6 and A13, by transcription",
    )
    bezel: bool = choice(True, "front plate of a 5.25 in drive", source="SFF-8551 A2, A3, A17")
    cable_room: Length = length(
        30.0, "plugs and their cables' bends behind the drive; 0: none", source=_CP, least=0, most=80
    )

    def build(self) -> Part:
        """The drive in its own frame; ValueError where its size does not hold its holes."""
        self._check()
        return Part(
            solids=tuple(self._solids()),
            mounts=MappingProxyType(dict(self._mounts())),
            zones=tuple(self._zones()),
        )

    @property
    def _of(self) -> _Size:
        return _SIZES[self.size]

    @property
    def _high(self) -> float:
        return self._of.height if self.height is None else self.height

    @property
    def _long(self) -> float:
        return self._of.length if self.depth is None else self.depth

    @property
    def _along(self) -> tuple[float, ...]:
        first, *_ = self._of.along
        outer = self.size == "3.5" and self.bottom_holes == "outer"
        return (first, first + _OUTER_ALONG_MM) if outer else self._of.along

    def _check(self) -> None:
        of, high, long = self._of, self._high, self._long
        if self.bottom_holes == "outer" and self.size != "3.5":
            raise ValueError(f"a {self.size} in drive has one set of bottom holes; `outer` is for 3.5 in")
        least = max(of.side_up) + of.hole / 2.0
        if not least <= high <= of.tallest:
            raise ValueError(
                f"a {self.size} in drive is {least:g} to {of.tallest:g} mm high, got {high:g} mm"
            )
        least = max(*self._along, *of.side_along) + of.hole / 2.0
        if not least <= long <= of.length:
            raise ValueError(f"a {self.size} in drive is {least:g} to {of.length:g} mm long, got {long:g} mm")

    def _solids(self) -> Iterator[Solid]:
        half = self._of.width / 2.0
        yield block("drive", (0.0, -half, 0.0), (self._long, half, self._high), "metal")
        if self.size == "5.25" and self.bezel:
            thick, wide, high = _BEZEL_MM
            under = (self._high - high) / 2.0
            low = (self._long, -wide / 2.0, under)
            yield block("bezel", low, (self._long + thick, wide / 2.0, under + high))

    def _mounts(self) -> Iterator[tuple[str, Mount]]:
        of = self._of
        name = f"{self.size} outer" if self.bottom_holes == "outer" else self.size
        yield "bottom", self._mount(name, "floor", (0.0, 0.0), self._along, (-of.across / 2, of.across / 2))
        middle = sum(of.side_up) / len(of.side_up)
        ups = tuple(up - middle for up in of.side_up)
        for side, sign in (("window", -1.0), ("tray", 1.0)):
            at = (sign * of.width / 2.0, middle)
            yield side, self._mount(f"{self.size} side", side, at, of.side_along, ups)

    def _mount(
        self,
        row: str,
        facing: str,
        at: tuple[float, float],
        along: tuple[float, ...],
        across: tuple[float, ...],
    ) -> Mount:
        """A mount about the middle of its holes, x away from the plugs; ``across`` is symmetric."""
        middle = sum(along) / len(along)
        pose = Pose.facing((middle, *at), DIRECTIONS[facing], DIRECTIONS["front"])
        holes = tuple(Hole((x - middle, y), self._of.hole) for x in along for y in across)
        return Mount(pose, "drive", MappingProxyType({row: holes}))

    def _zones(self) -> Iterator[Zone]:
        if self.cable_room:
            half = self._of.width / 2.0
            low, high = (-self.cable_room, -half, 0.0), (0.0, half, self._high)
            yield room("cable_room", low, high, "the drive's plugs and cables", likely=True)
