"""A validated scene: its rules, tubings, parts, stacks and tubes as frozen values."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import TYPE_CHECKING, Annotated, Literal, TypeAlias

from pydantic import Field

from layout3d.scene.facts import NO_FACTS, Facts
from layout3d.scene.paths import AUTO, Path
from layout3d.scene.values import PortRef, Reference, RowName, deg, mm, split_reference
from shapes.fields import Angle, Frozen, Length, Lengths3, Shape
from shapes.part import Part

if TYPE_CHECKING:
    from layout3d.scene.tolerances import Tolerances


class Rules(Frozen):
    """Least free distances."""

    part_gap: Annotated[Length, mm("between two parts", ge=0)] = 1.0
    tube_gap: Annotated[Length, mm("between a tube and anything else", ge=0)] = 3.0
    fitting_gap: Annotated[Length, mm("between two fittings", ge=0)] = 1.0
    tube_sag: Annotated[
        Length, mm("how far its weight may move a soft tube from where it would lie without", ge=0)
    ] = 10.0
    tube_play: Annotated[
        Length, mm("how far the end of a cut tube may miss its fitting, where lengths have tolerances", ge=0)
    ] = 1.0


class RigidTubing(Frozen):
    """Tube bent to fixed radii."""

    kind: Annotated[Literal["rigid"], Field(description="rigid tube, bent hot or on a former")]
    outside: Annotated[Length, mm("outside diameter", gt=0)]
    inside: Annotated[Length, mm("inside diameter", gt=0)]
    bend_radius: Annotated[Length, mm("centreline radius of a bend", gt=0)]
    end_straight: Annotated[Length, mm("least straight from a mouth to the first bend", ge=0)] = 20.0
    between_bends: Annotated[Length, mm("least straight between two bends", ge=0)] = 14.0


class SoftTubing(Frozen):
    """Hose; ``bend_radius`` is the least its centreline may bend to."""

    kind: Annotated[Literal["soft"], Field(description="hose that takes its own curve")]
    outside: Annotated[Length, mm("outside diameter", gt=0)]
    inside: Annotated[Length, mm("inside diameter", gt=0)]
    bend_radius: Annotated[Length, mm("least radius its centreline may bend to", gt=0)]
    modulus: Annotated[
        float,
        Field(
            gt=0.1,
            le=5000,
            allow_inf_nan=False,
            description="how stiff its material is in bending; soft PVC and rubber 4 to 12 (from memory)",
            json_schema_extra={"unit": "MPa"},
        ),
    ] = 8.0


class Bench(Frozen):
    """What one tubing is cut from and bent on. The figures are one's own; defaults are from memory."""

    stock: Annotated[Length | None, mm("length of a piece as it is bought", gt=0)] = None
    kerf: Annotated[Length, mm("what one saw cut takes away", ge=0)] = 1.0
    trim: Annotated[Length, mm("how much longer a piece is sawn, to be trimmed off", ge=0)] = 0.0
    setback: Annotated[
        Length, mm("from the former's own line to where the bend starts; negative where it lies behind")
    ] = 0.0
    springback: Annotated[Angle, deg("how far a bend of 90 degrees opens again", ge=0, le=45)] = 0.0
    former_height: Annotated[
        Length, mm("how far the former reaches above and below the middle of the tube", ge=0)
    ] = 15.0
    bench_below: Annotated[
        Length | None,
        mm("from the middle of the tube down to the bench, for a former that stands on one", gt=0),
    ] = None


class FixedTo(Frozen):
    """Placed by a mount of another part, or screwed into a port of it."""

    mount: Annotated[
        Reference,
        Field(description="the mount it is fixed to, part.mount, or the port it is screwed into, part.port"),
    ]
    by: Annotated[
        str | None,
        Field(description="the mount or port of this part that meets it, where several would fit"),
    ] = None
    row: Annotated[RowName | None, Field(description="hole row of the mount, such as 120 or 140")] = None
    slide: Annotated[Length, mm("along the mount's x from its origin")] = 0.0
    shift: Annotated[Length, mm("along the mount's y, only on a mount without holes")] = 0.0
    side: Annotated[Literal["inside", "outside"], Field(description="which face of the sheet")] = "inside"
    flip: Annotated[bool, Field(description="turned over, fixed by the opposite mount")] = False
    turn: Annotated[Angle, deg("about the mount's normal")] = 0.0
    lift: Annotated[Length, mm("distance kept off the mounting face, for a spacer or gasket", ge=0)] = 0.0

    @property
    def host(self) -> str:
        """The part it is fixed to."""
        return split_reference(self.mount)[0]

    @property
    def place(self) -> str:
        """The mount or port of the host."""
        return split_reference(self.mount)[1]


class Off(Frozen):
    """One distance measured off another part: this part's ``edge`` lies ``gap`` mm beyond ``face``."""

    face: Annotated[
        Reference,
        Field(description="part.mount, or part.front and the like for that side of the part's bounding box"),
    ]
    gap: Annotated[Length, mm("distance beyond the face, measured along its normal")]
    edge: Annotated[
        Literal["near", "far", "middle"], Field(description="this part's near side, far side or middle")
    ] = "near"

    @property
    def host(self) -> str:
        """The part it is measured off."""
        return split_reference(self.face)[0]


#: Whether hands must reach what is turned by hand.
Service: TypeAlias = Literal["check", "ignore"]


@dataclass(frozen=True, slots=True)
class PartSpec:
    """One entry of ``parts:``. Exactly one of ``at``, ``fixed_to`` places it; ``off`` refines ``at``.

    part : what ``shape`` builds, built once by the reader
    use : the part of a library it is
    """

    name: str
    shape_name: str
    shape: Shape
    part: Part
    label: str | None = None
    note: str | None = None
    at: Lengths3 | None = None
    rotate: tuple[float, float, float] = (0.0, 0.0, 0.0)
    fixed_to: FixedTo | None = None
    off: tuple[Off, ...] = ()
    touches: tuple[str, ...] = ()
    gap: float | None = None
    use: str | None = None
    facts: Facts = NO_FACTS
    service: Service = "check"


@dataclass(frozen=True, slots=True)
class Stack:
    """Parts screwed together at a fan mount, as one entry of ``stacks:`` orders them.

    panel : how many layers lie outside the mount's sheet; None where the order does not name it
    layers : from outside to inside, each the parts that lie side by side in it
    in_rows : of each layer whether it stands for parts side by side, be it only one
    flipped : of each layer whether its other face is outside
    """

    name: str
    mount: str
    air: Literal["intake", "exhaust"] | None
    panel: int | None
    layers: tuple[tuple[str, ...], ...]
    in_rows: tuple[bool, ...]
    flipped: tuple[bool, ...]
    row: str | None = None
    slide: float = 0.0
    turn: float = 0.0

    @property
    def outside(self) -> int:
        """How many layers lie outside the sheet."""
        return 0 if self.panel is None else self.panel

    def key_of(self, part: str) -> tuple[str | int, ...]:
        """The place of a part's layer in the file; KeyError for a part that is not in the stack."""
        for at, layer in enumerate(self.layers):
            if part in layer:
                past = self.panel is not None and at >= self.panel
                return ("stacks", self.name, "order", at + past)
        raise KeyError(part)


@dataclass(frozen=True, slots=True)
class FittingSpec:
    """One fitting of the chain at a tube's end, turned about what it is screwed to.

    use : the part of a library it is
    """

    shape_name: str
    shape: Shape
    part: Part
    turn: float = 0.0
    use: str | None = None
    facts: Facts = NO_FACTS


#: Fittings one on another, from the part's port outward; the last takes the tube.
Chain: TypeAlias = tuple[FittingSpec, ...]


@dataclass(frozen=True, slots=True)
class TubeSpec:
    """One entry of ``tubes:``. ``angles`` and ``directions`` bind only ``path: auto``.

    fittings : at each end the chain from the part's port outward, empty for none
    fittings_given : the file states them, were it `none`
    """

    name: str
    tubing: str
    start: PortRef
    end: PortRef
    fittings: tuple[Chain, Chain] = ((), ())
    fittings_given: bool = True
    path: Path = AUTO
    angles: tuple[float, ...] | Literal["any"] = (45.0, 90.0)
    directions: Literal["case", "any"] = "case"
    bend_cost: float = 40.0
    most_bends: int = 4
    label: str | None = None
    touches: tuple[str, ...] = ()
    gap: float | None = None
    service: Service = "check"


@dataclass(frozen=True, slots=True)
class Places:
    """Where each key path of the file stands.

    lines : ("parts", "left", "at") -> line, from 1
    spans : the same -> (start, end) character offsets of the value in the file's text
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
    stacks: Mapping[str, Stack] = field(default_factory=lambda: MappingProxyType({}))
    bench: Mapping[str, Bench] = field(default_factory=lambda: MappingProxyType({}))
    tolerances: Tolerances | None = None

    def where(self, *key: str | int) -> str:
        """ "scene.yaml:41" for a finding about this key."""
        line = self.places.line(*key)
        return self.file if line is None else f"{self.file}:{line}"

    def stack_of(self, part: str) -> Stack | None:
        """The stack a part lies in."""
        stacks = self.stacks.values()
        return next((stack for stack in stacks if any(part in layer for layer in stack.layers)), None)
