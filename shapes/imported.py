"""A part out of a maker's STEP, STL, OBJ or 3MF file, with ports, mounts and zones declared beside it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Annotated, Literal

from pydantic import StringConstraints

from shapes.custom import Custom, CustomMount, CustomPort, CustomZone, Name
from shapes.fields import Shape, choice, length
from shapes.part import Look, Part, Solid
from shapes.primitives import Mesh

_MEASURED = "measured by the builder"
Hash = Annotated[str, StringConstraints(pattern=r"^[0-9a-fA-F]{64}$")]


class Import(Shape):
    """A part read from another program's file.

    Origin and axes are the file's own; ``at`` and ``rotate`` of the part turn it to the case's. The
    file is named as seen from the scene's folder. Its ports' threads are taken as
    being in it already: no hole is made.
    """

    file: str | None = choice(
        None, "file to read, as seen from the scene's folder", source="the part's maker"
    )
    units: Literal["mm", "cm", "m", "in"] | None = choice(
        None, "what one unit of an STL or OBJ file is", source="the part's maker"
    )
    sha256: Hash | None = choice(
        None, "hash the file must have, so that a changed file is noticed", source="`layout3d check` tells it"
    )
    solid: Literal["mesh", "hull"] = choice(
        "mesh", "the solid as it is, or its convex hull", source="common practice, no source"
    )
    deflection: float = length(
        0.05,
        "how far facets may lie off a curved face; taken off every gap",
        source="half of what calipers resolve (common practice, no source)",
        least=0.005,
        most=1.0,
    )
    look: Look = choice("metal", "surface in pictures", source="common practice, no source")
    ports: dict[Name, CustomPort] = choice({}, "openings of the coolant path", source=_MEASURED)
    mounts: dict[Name, CustomMount] = choice({}, "places where parts are fixed", source=_MEASURED)
    zones: tuple[CustomZone, ...] = choice((), "room that must stay free", source=_MEASURED)

    def build(self) -> Part:
        """The part without its solid, which is not known before the file is read."""
        return Custom(ports=self.ports, mounts=self.mounts, zones=self.zones).build()

    def build_with(self, meshes: Sequence[Mesh]) -> Part:
        """The part with the solids of its file; ValueError for two zones of one name."""
        solids = tuple(Solid(f"solid_{n}", mesh, look=self.look) for n, mesh in enumerate(meshes, 1))
        return replace(self.build(), solids=solids)
