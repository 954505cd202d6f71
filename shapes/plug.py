"""Plug that closes a port."""

from __future__ import annotations

from types import MappingProxyType

from shapes.fitting import Stud
from shapes.part import Part


class Plug(Stud):
    """A plug as a part of its own, where its head needs room.

    Stands on its thread: origin in the sealing face that meets the port's face, z up. Port: ``thread``
    (floor). The base is its head.
    """

    def build(self) -> Part:
        """The part in its own frame. ValueError for dimensions that do not go together."""
        return Part(solids=self.stud(), ports=MappingProxyType({"thread": self.male()}))
