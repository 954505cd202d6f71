"""Tee: one thread, two ports."""

from __future__ import annotations

from typing import Literal

from shapes.branching import Branching
from shapes.fields import choice
from shapes.part import Part


class Tee(Branching):
    """A square tee with one male thread and two ports.

    Stands on its thread: origin in the sealing face that meets the port's face, z up, x and y along
    the edges of its block. Ports: ``thread`` (floor); with the thread on the branch ``front`` and
    ``rear``, with the thread on the run ``roof``, straight on, and ``front``, off to the side.
    """

    thread_on: Literal["branch", "run"] = choice(
        "branch", "which end of the tee is the thread", source="common practice"
    )

    def build(self) -> Part:
        """The part in its own frame. ValueError for dimensions that do not go together."""
        return self.branched(("front", "rear") if self.thread_on == "branch" else ("roof", "front"))
