"""A CPU water block."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from types import MappingProxyType
from typing import Literal

import numpy as np

from shapes.fields import Length, Shape, choice, length
from shapes.motherboard import COOLER_PATTERNS_MM, cooler_holes
from shapes.part import Bore, Hole, Mount, Part, Solid
from shapes.patterns import PORT_DEPTH_MM, threaded_port
from shapes.pose import DIRECTIONS, Pose
from shapes.solids import bar, block, sheet

_CP = "common practice, no source"
_BRACKET_RIM_MM = 4.0
_POST_MM = 6.0  # under the bracket, about the screws
_NUT_MM = (8.0, 10.0)  # knurled nut: diameter, height
_PORT_EDGE_MM = 10.0  # a port's middle to the body's edge: half a 20 mm collar
_MARK_MM, _MARK_EDGE_MM = (3.0, 0.5), 4.0  # the dimple: diameter, depth; its middle to both edges
#: Unit step from ``in`` to ``out``: to the front, up.
_WAYS = MappingProxyType({"front": (1.0, 0.0), "roof": (0.0, 1.0), "diagonal": (0.5**0.5, 0.5**0.5)})


class CpuBlock(Shape):
    """A block as it sits on a CPU in a tower: cold plate toward the tray, ports toward the window.

    Origin: middle of the cold plate's contact face; x to the front, y to the tray, z to the roof,
    so the block lies in y < 0. Ports: ``in``, nearer the rear (or the floor where they lie above each
    other), and ``out``; a dimple in the face's corner marks the inlet's side. Mount: ``base``, for a
    board's ``cpu``.
    """

    pattern: Literal["72", "75", "78", "80", "54x90", "56x94", "48x96"] = choice(
        "75", "cooler holes of the board: side of the square, or front by roof", source=_CP
    )
    width: Length = length(64.0, "body, rear to front", source=_CP, least=40, most=120)
    height: Length = length(64.0, "body, floor to roof", source=_CP, least=40, most=120)
    thickness: Length = length(22.0, "body without cold plate", source=_CP, least=8, most=60)
    cold_plate: Length = length(3.0, "thickness of the cold plate", source=_CP, least=1, most=10)
    cold_plate_side: Length = length(50.0, "side of the square cold plate", source=_CP, least=30, most=120)
    bracket: Length = length(
        3.0, "thickness of the bracket about the body's foot", source=_CP, least=1, most=6
    )
    port_spacing: Length = length(25.4, "middle to middle", source=_CP, least=20, most=60)
    ports_along: Literal["front", "roof", "diagonal"] = choice(
        "front", "way from ``in`` to ``out``; diagonal: to the front and roof", source=_CP
    )
    ports_front: Length = length(
        0.0, "middle of the two ports before the block's middle", source=_CP, least=-40, most=40
    )
    ports_up: Length = length(
        0.0, "middle of the two ports above the block's middle", source=_CP, least=-40, most=40
    )
    port_depth: Length = length(PORT_DEPTH_MM, "thread in the body", source=_CP, least=3, most=15)

    def build(self) -> Part:
        """The block in its own frame; ValueError where body, ports and holes do not go together."""
        self._check()
        face = -(self.cold_plate + self.thickness)
        threaded = {
            name: threaded_port((x, face, z), DIRECTIONS["window"], depth=self.port_depth, into=("body",))
            for name, (x, z) in self._places().items()
        }
        base = Pose.facing((0.0, 0.0, 0.0), DIRECTIONS["tray"])
        rows: Mapping[str, tuple[Hole, ...]] = MappingProxyType({self.pattern: cooler_holes(self.pattern)})
        return Part(
            solids=tuple(self._solids(face)),
            ports=MappingProxyType({name: port for name, (port, _) in threaded.items()}),
            mounts=MappingProxyType({"base": Mount(base, "cpu", rows)}),
            bores=(*(bore for _, bore in threaded.values()), self._inlet_mark(face)),
        )

    def _places(self) -> dict[str, tuple[float, float]]:
        """Middle of each port on the face, to the front and up."""
        x, z = _WAYS[self.ports_along]
        return {
            name: (
                self.ports_front + side * x * self.port_spacing,
                self.ports_up + side * z * self.port_spacing,
            )
            for name, side in (("in", -0.5), ("out", 0.5))
        }

    def _inlet_mark(self, face: float) -> Bore:
        x, z = (side / 2.0 - _MARK_EDGE_MM for side in (self.width, self.height))
        at = np.array((-x, face, -z))
        return Bore(Pose.facing(at, DIRECTIONS["window"]), *_MARK_MM, into=("body",))

    def _check(self) -> None:
        up, front = COOLER_PATTERNS_MM[self.pattern]
        nut = _NUT_MM[0]
        if min(self.width, self.height) < self.cold_plate_side:
            raise ValueError(
                f"the body of {self.width:g} x {self.height:g} mm is smaller than its cold plate of "
                f"{self.cold_plate_side:g} mm"
            )
        if front - nut < self.width and up - nut < self.height:
            raise ValueError(
                f"the body of {self.width:g} x {self.height:g} mm covers the screws of pattern "
                f"{self.pattern}: {front - nut:g} mm wide or {up - nut:g} mm high clears them"
            )
        for name, place in self._places().items():
            for word, at, side in zip(("wide", "high"), place, (self.width, self.height), strict=True):
                if 2.0 * (abs(at) + _PORT_EDGE_MM) > side + 1e-9:
                    raise ValueError(
                        f"port {name}, {at:g} mm from the middle, needs a body "
                        f"{2.0 * (abs(at) + _PORT_EDGE_MM):g} mm {word}, got {side:g} mm"
                    )
        if self.port_depth >= self.thickness:
            raise ValueError(f"{self.port_depth:g} mm of thread do not go into {self.thickness:g} mm of body")
        if self.bracket + _NUT_MM[1] > self.thickness:
            raise ValueError(
                f"the bracket's nuts end {self.bracket + _NUT_MM[1]:g} mm over the cold plate, "
                f"above the body of {self.thickness:g} mm"
            )

    def _solids(self, face: float) -> Iterator[Solid]:
        side, x, z = self.cold_plate_side / 2.0, self.width / 2.0, self.height / 2.0
        foot = -self.cold_plate
        yield block("cold_plate", (-side, foot, -side), (side, 0.0, side), "copper")
        yield block("body", (-x, face, -z), (x, foot, z), "clear")
        up, front = (spacing / 2.0 for spacing in COOLER_PATTERNS_MM[self.pattern])
        rim_x, rim_z = front + _BRACKET_RIM_MM, up + _BRACKET_RIM_MM
        low, high = (-rim_x, foot - self.bracket, -rim_z), (rim_x, foot, rim_z)
        base = Pose.facing((0.0, 0.0, 0.0), DIRECTIONS["tray"])
        body = ((-x, 0.0, -z), (x, 0.0, z))
        yield sheet(
            "bracket",
            low,
            high,
            rects={"body": body},
            screws=[(base, cooler_holes(self.pattern))],
            look="metal",
        )
        corners = [(sx * front, sz * up) for sx in (-1, 1) for sz in (-1, 1)]
        for number, (x, z) in enumerate(corners, 1):
            yield bar(f"post_{number}", (x, foot, z), "tray", self.cold_plate, _POST_MM)
            yield bar(f"nut_{number}", (x, foot - self.bracket, z), "window", _NUT_MM[1], _NUT_MM[0])
