"""The scene file's keys: one frozen model that reads, validates and makes the editor schema."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import Field

from shapes.fields import Angle, Frozen, Length, Lengths3, Shape


class Rules(Frozen):
    """Least free distances [mm]."""

    part_gap: Annotated[Length, Field(ge=0)] = 1.0
    tube_gap: Annotated[Length, Field(ge=0)] = 3.0
    fitting_gap: Annotated[Length, Field(ge=0)] = 1.0


class RigidTubing(Frozen):
    """Tube bent to fixed radii."""

    kind: Literal["rigid"]
    outside: Annotated[Length, Field(gt=0)]
    inside: Annotated[Length, Field(gt=0)]
    bend_radius: Annotated[Length, Field(gt=0)]
    end_straight: Annotated[Length, Field(ge=0)] = 20.0
    between_bends: Annotated[Length, Field(ge=0)] = 14.0


class SoftTubing(Frozen):
    """Hose; ``bend_radius`` is the least its centreline may bend to."""

    kind: Literal["soft"]
    outside: Annotated[Length, Field(gt=0)]
    inside: Annotated[Length, Field(gt=0)]
    bend_radius: Annotated[Length, Field(gt=0)]


class FixedTo(Frozen):
    """Placed by a mount of another part.

    mount : "part.mount"
    by : which mount of this part meets it (needed where several would fit)
    row : which hole row of the mount ("120", "140")
    slide : along the mount's x from its origin [mm]
    shift : along the mount's y, only on a mount without holes [mm]
    side : which face of the sheet
    flip : this part turned over, fixed by its opposite mount
    turn : about the mount's normal [degrees]
    lift : distance kept off the mounting face, for a spacer or gasket [mm]
    """

    mount: str
    by: str | None = None
    row: str | None = None
    slide: Length = 0.0
    shift: Length = 0.0
    side: Literal["inside", "outside"] = "inside"
    flip: bool = False
    turn: Angle = 0.0
    lift: Annotated[Length, Field(ge=0)] = 0.0


class Off(Frozen):
    """One distance measured off another part: this part's ``edge`` lies ``gap`` mm beyond ``face``.

    face : "part.mount", or "part.front" and the like for that side of the part's bounding box
    edge : this part's near side (default), its far side, or its middle
    """

    face: str
    gap: Length
    edge: Literal["near", "far", "middle"] = "near"


@dataclass(frozen=True, slots=True)
class PartSpec:
    """One entry of ``parts:``. Exactly one of ``at``, ``fixed_to`` places it; ``off`` refines ``at``."""

    name: str
    shape_name: str
    shape: Shape
    label: str | None = None
    note: str | None = None
    at: Lengths3 | None = None
    rotate: tuple[float, float, float] = (0.0, 0.0, 0.0)
    fixed_to: FixedTo | None = None
    off: tuple[Off, ...] = ()
    touches: tuple[str, ...] = ()
    gap: float | None = None


@dataclass(frozen=True, slots=True)
class FittingSpec:
    """A fitting at a tube's end: a shape with a ``thread`` and a ``mouth`` port, turned about its thread."""

    shape_name: str
    shape: Shape
    turn: float = 0.0


@dataclass(frozen=True, slots=True)
class PortRef:
    """``part.port``."""

    part: str
    port: str

    def __str__(self) -> str:
        return f"{self.part}.{self.port}"


class BendStep(Frozen):
    """One row of a given bend table: straight before the bend, turn of its plane, angle, own radius."""

    straight: Annotated[Length, Field(ge=0)]
    turn: Angle = 0.0
    bend: Annotated[Angle, Field(gt=0, le=180)]
    radius: Annotated[Length, Field(gt=0)] | None = None


@dataclass(frozen=True, slots=True)
class AutoPath:
    """``path: auto``: the tool finds the cheapest run (rigid) or the shortest fair curve (soft)."""


@dataclass(frozen=True, slots=True)
class StraightPath:
    """``path: straight``."""


@dataclass(frozen=True, slots=True)
class CornersPath:
    """Scene-frame vertices strictly between the two mouths."""

    corners: tuple[tuple[float, float, float], ...]


@dataclass(frozen=True, slots=True)
class Leg:
    """One leg from vertex to vertex; ``length`` None for the last, which ends where it must."""

    direction: tuple[float, float, float]
    length: float


@dataclass(frozen=True, slots=True)
class LegsPath:
    """``{legs: [[roof, 56], [front, 200], to]}``: the last leg runs to the far mouth."""

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


@dataclass(frozen=True, slots=True)
class TubeSpec:
    """One entry of ``tubes:``. ``angles`` and ``directions`` bind only ``path: auto``."""

    name: str
    tubing: str
    start: PortRef
    end: PortRef
    fittings: tuple[FittingSpec | None, FittingSpec | None] = (None, None)
    path: Path = AutoPath()
    angles: tuple[float, ...] | Literal["any"] = (45.0, 90.0)
    directions: Literal["case", "any"] = "case"
    bend_cost: float = 40.0
    most_bends: int = 4
    label: str | None = None
    touches: tuple[str, ...] = ()
    gap: float | None = None


@dataclass(frozen=True, slots=True)
class Places:
    """Where each key path of the file stands.

    lines : ("parts", "left", "at") -> line, from 1
    spans : the same -> (start, end) character offsets of the value
    """

    lines: Mapping[tuple[str | int, ...], int]
    spans: Mapping[tuple[str | int, ...], tuple[int, int]]

    def line(self, *key: str | int) -> int | None:
        """The line of this key, or of the nearest key above it that is in the file."""
        for length in range(len(key), 0, -1):
            found = self.lines.get(key[:length])
            if found is not None:
                return found
        return None


@dataclass(frozen=True, slots=True)
class Scene:
    """A validated scene: every name in it resolves as far as the file alone can tell."""

    file: str
    title: str
    rules: Rules
    tubings: Mapping[str, RigidTubing | SoftTubing]
    parts: Mapping[str, PartSpec]
    tubes: Mapping[str, TubeSpec]
    plugs: tuple[PortRef, ...]
    places: Places

    def where(self, *key: str | int) -> str:
        """ "scene.yaml:41" for a finding about this key."""
        line = self.places.line(*key)
        return self.file if line is None else f"{self.file}:{line}"
