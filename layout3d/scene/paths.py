"""How a tube may be told to run: the forms of ``path``."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from layout3d.scene.values import deg, mm
from shapes.fields import Angle, Frozen, Length


class BendStep(Frozen):
    """One row of a given bend table."""

    straight: Annotated[Length, mm("straight before the bend, from the mouth for the first", ge=0)]
    turn: Annotated[Angle, deg("turn of the bend's plane about the tube, right hand about travel")] = 0.0
    bend: Annotated[Angle, deg("angle of the bend", gt=0, le=180)]
    radius: Annotated[Length, mm("own centreline radius, else the tubing's", gt=0)] | None = None


@dataclass(frozen=True, slots=True)
class AutoPath:
    """``path: auto``: the tool finds the cheapest run (rigid) or the shortest fair curve (soft)."""


#: The one value of it.
AUTO = AutoPath()


@dataclass(frozen=True, slots=True)
class StraightPath:
    """``path: straight``."""


@dataclass(frozen=True, slots=True)
class CornersPath:
    """Scene-frame vertices strictly between the two mouths."""

    corners: tuple[tuple[float, float, float], ...]


@dataclass(frozen=True, slots=True)
class Leg:
    """One leg from vertex to vertex: unit direction in the scene, length [mm].

    ``length`` is None for a leg left open: as long as it takes to line up with the far port.
    """

    direction: tuple[float, float, float]
    length: float | None


@dataclass(frozen=True, slots=True)
class LegsPath:
    """``{legs: [[roof, 56], [front, 200], to]}``: the given legs; one more runs to the far mouth."""

    legs: tuple[Leg, ...]


@dataclass(frozen=True, slots=True)
class BendsPath:
    """``{bends: [...], last: 150}``: a bend table."""

    bends: tuple[BendStep, ...]
    last: float


@dataclass(frozen=True, slots=True)
class CutPath:
    """Soft tube cut to this length, insertion included [mm]."""

    cut: float


Path = AutoPath | StraightPath | CornersPath | LegsPath | BendsPath | CutPath
