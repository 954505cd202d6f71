"""A square block with a male thread below and ports in other faces: tees and crosses."""

from __future__ import annotations

from types import MappingProxyType

from shapes.fields import Length, length
from shapes.fitting import Adapter
from shapes.part import Bore, Part, Port, Solid
from shapes.patterns import G_THREAD_MAJOR_MM, threaded_port
from shapes.pose import DIRECTIONS, Pose, Vec3
from shapes.primitives import Box


class Branching(Adapter):
    """A cube of ``block`` mm over the base, with a port in each of some of its faces."""

    block: Length = length(26.0, "edge of the square block", source="from memory; measure", least=12, most=80)

    def branched(self, faces: tuple[str, ...]) -> Part:
        """The part with ports named after the faces they open in; ValueError where they do not fit."""
        solids = self.stud()
        major, half = G_THREAD_MAJOR_MM[self.thread], self.block / 2
        if half - self.port_depth < major / 2:
            raise ValueError(
                f"block {self.block:g} mm is too small for {self.thread} ports {self.port_depth:g} mm deep "
                f"round one middle; least {2 * self.port_depth + major:.5g}"
            )
        middle = self.base_length + half
        ports: dict[str, Port] = {"thread": self.male()}
        bores = [self.bored(self.bore, middle)]
        for face in faces:
            x, y, z = DIRECTIONS[face]
            at: Vec3 = (x * half, y * half, middle + z * half)
            ports[face], bore = threaded_port(
                at, (x, y, z), thread=self.thread, depth=self.port_depth, into=("block",)
            )
            # Past the middle, so that ways at right angles meet wall to wall.
            bores += [bore, Bore(ports[face].port2part, self.bore, half + self.bore / 2, ("block",))]
        cube = Solid("block", Box((self.block, self.block, self.block)), Pose.at((0.0, 0.0, middle)), "metal")
        return Part(solids=(*solids, cube), ports=MappingProxyType(ports), bores=tuple(bores))
