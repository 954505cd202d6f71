"""The terminal of a card's water block: two channels along the card, open to faces and ends."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from shapes.part import Bore, Mount, Port
from shapes.patterns import G_THREAD_MAJOR_MM, threaded_port
from shapes.pose import DIRECTIONS, Pose, Vec3
from shapes.solids import Corners

#: Openings in the order terminals have them: both on one face, both on the other, the ends, the edge.
OPENINGS = ("in_roof", "out_roof", "in_floor", "out_floor", "in_rear", "out_front", "in_window")
#: A port's middle to the terminal's end: room for a 20 mm collar and more (common practice, no source).
TERMINAL_RIM_MM = 12.0
#: Wall that is left beside the thread of an opening in the end or the edge.
_WALL_MM = 1.0


@dataclass(frozen=True, slots=True)
class Terminal:
    """A block about ``middle`` whose channels ``in`` (rear) and ``out`` lie ``spacing`` apart.

    low, high : its corners; depth : thread of an opening [mm]
    """

    low: Vec3
    high: Vec3
    spacing: float
    depth: float

    @property
    def corners(self) -> Corners:
        """Its corners [mm]."""
        return self.low, self.high

    def check(self, names: tuple[str, ...]) -> None:
        """ValueError where it is too thin for the openings of these names."""
        thick = self.high[2] - self.low[2]
        faces = {name.partition("_")[2] for name in names} & {"roof", "floor"}
        if thick < len(faces) * self.depth:
            ports = "two ports face each other" if len(faces) == 2 else "a port opens"
            raise ValueError(
                f"{ports}, {self.depth:g} mm deep, in a terminal {thick:g} mm thick; "
                f"{len(faces) * self.depth:g} mm is the least"
            )
        least = G_THREAD_MAJOR_MM["G1/4"] + 2.0 * _WALL_MM
        sideways = [name for name in names if name.partition("_")[2] not in ("roof", "floor")]
        if sideways and thick < least:
            raise ValueError(
                f"the terminal is {thick:g} mm thick, its opening {sideways[0]} needs {least:.4g} mm"
            )

    def openings(self, names: tuple[str, ...]) -> tuple[dict[str, Port], tuple[Bore, ...]]:
        """Threaded ports "channel_face" and their bores into the solid "terminal"."""
        made = {}
        for name in names:
            channel, _, face = name.partition("_")
            made[name] = threaded_port(
                self.place(channel, face), DIRECTIONS[face], depth=self.depth, into=("terminal",)
            )
        return {name: port for name, (port, _) in made.items()}, tuple(bore for _, bore in made.values())

    def place(self, channel: str, face: str) -> Vec3:
        """Middle of a channel's opening in a face; in the middle of the end for ``rear`` and ``front``."""
        (x0, y0, z0), (x1, y1, z1) = self.corners
        x = (x0 + x1) / 2.0 + (self.spacing / 2.0 if channel == "out" else -self.spacing / 2.0)
        y, z = (y0 + y1) / 2.0, (z0 + z1) / 2.0
        return {
            "roof": (x, y, z1),
            "floor": (x, y, z0),
            "rear": (x0, y, z),
            "front": (x1, y, z),
            "window": (x, y0, z),
        }[face]

    def mounts(self) -> Iterator[tuple[str, Mount]]:
        """The faces a bridge to another card lies on, of kind "terminal"."""
        (x0, y0, z0), (x1, y1, z1) = self.corners
        for face, z in (("roof", z1), ("floor", z0)):
            middle = ((x0 + x1) / 2.0, (y0 + y1) / 2.0, z)
            yield f"terminal_{face}", Mount(Pose.facing(middle, DIRECTIONS[face]), "terminal")


def terminal_length(spacing: float) -> float:
    """From end to end, for channels ``spacing`` mm apart [mm]."""
    return spacing + 2.0 * TERMINAL_RIM_MM
