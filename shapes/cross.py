"""Cross: one thread, three ports."""

from __future__ import annotations

from shapes.branching import Branching
from shapes.part import Part


class Cross(Branching):
    """A square cross with one male thread and three ports.

    Stands on its thread: origin in the sealing face that meets the port's face, z up, x and y along
    the edges of its block. Ports: ``thread`` (floor), ``roof``, ``front`` and ``rear``.
    """

    def build(self) -> Part:
        """The part in its own frame. ValueError for dimensions that do not go together."""
        return self.branched(("roof", "front", "rear"))
