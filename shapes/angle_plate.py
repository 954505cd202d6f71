"""Angle: stands on one plain surface and offers another at right angles to it."""

from __future__ import annotations

from types import MappingProxyType

from shapes.fields import Length, Shape, length
from shapes.part import Mount, Part
from shapes.pose import DIRECTIONS, Pose, Vec3
from shapes.solids import block

_SOURCE = "common practice, no source"


class AnglePlate(Shape):
    """A sheet bent to a right angle: a lying leg and an upright one at its rear end.

    Origin in the middle of the lying leg's floor face; x from the upright leg to the front, y along
    the bend, z up. Mounts: ``foot`` (floor face) and ``back`` (rear face) stand on plain surfaces;
    ``seat`` (roof face of the lying leg) and ``face`` (front face of the upright one) carry parts,
    with `slide` and `shift` from the middle of the leg's free face.
    """

    base: Length = length(60.0, "length of the lying leg, over the bend", source=_SOURCE, least=5, most=300)
    height: Length = length(
        60.0, "height of the upright leg, over the bend", source=_SOURCE, least=5, most=400
    )
    width: Length = length(60.0, "width along the bend", source=_SOURCE, least=5, most=400)
    thickness: Length = length(3.0, "thickness of the sheet", source=_SOURCE, least=0.5, most=20)

    def build(self) -> Part:
        """The part in its own frame. ValueError where the sheet is as thick as a leg is long."""
        leg = min(self.base, self.height)
        if self.thickness >= leg:
            raise ValueError(f"thickness {self.thickness:g} mm leaves nothing of a leg of {leg:g} mm")
        half_x, half_y, thick = self.base / 2, self.width / 2, self.thickness
        free_x, free_z = (self.base - thick) / 2, (self.height - thick) / 2
        mounts = {
            "foot": Mount(Pose.facing((0.0, 0.0, 0.0), DIRECTIONS["floor"]), "stand"),
            "back": Mount(Pose.facing((-half_x, 0.0, self.height / 2), DIRECTIONS["rear"]), "stand"),
            "seat": _face((thick / 2, 0.0, thick), "roof", free_x, half_y),
            "face": _face((thick - half_x, 0.0, thick + free_z), "front", free_z, half_y),
        }
        return Part(
            solids=(
                block("base", (-half_x, -half_y, 0.0), (half_x, half_y, thick), "metal"),
                block("upright", (-half_x, -half_y, thick), (thick - half_x, half_y, self.height), "metal"),
            ),
            mounts=MappingProxyType(mounts),
        )


def _face(at: Vec3, facing: str, x: float, y: float) -> Mount:
    return Mount(Pose.facing(at, DIRECTIONS[facing]), "stand", surface=((-x, -y), (x, y)))
