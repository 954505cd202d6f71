"""The scene file's own form: what may be written under each key.

One model reads and validates a file and makes the editor schema. What comes out of it is
turned into ``layout3d.scene.model`` values, where nothing of the file's spelling is left.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Annotated, Literal, TypeAlias

from pydantic import BeforeValidator, ConfigDict, Field, PlainValidator, Tag, WithJsonSchema

import shapes
from layout3d.scene.complaints import ChoiceError, unknown
from layout3d.scene.factforms import FactKeys
from layout3d.scene.model import Bench, FixedTo, Off, RigidTubing, Rules, Service, SoftTubing
from layout3d.scene.names import NAME
from layout3d.scene.pathforms import PathEntry, form
from layout3d.scene.paths import AutoPath, CornersPath, CutPath, Path, StraightPath
from layout3d.scene.stackforms import StackEntry
from layout3d.scene.values import REFERENCE, PortRef, Reference, deg, mm, split_reference
from shapes.fields import Angle, Angles3, Frozen, Length, Lengths3


def _format(value: object) -> object:
    if value != 1 or isinstance(value, bool | float):
        raise ValueError(f"this program reads scene format 1, the file states {value!r}: write `layout3d: 1`")
    return value


def _shape_name(value: object) -> object:
    if isinstance(value, str) and value not in shapes.SHAPES:
        raise ChoiceError(unknown("shape", value, shapes.SHAPES), shapes.SHAPES)
    return value


def _port_ref(value: object) -> PortRef:
    if not isinstance(value, str) or not re.fullmatch(REFERENCE, value):
        raise ValueError(f"expected part.port with one point between, got {value!r}")
    return PortRef(*split_reference(value))


ShapeName = Annotated[str, BeforeValidator(_shape_name)]
PortName = Annotated[
    PortRef, PlainValidator(_port_ref), WithJsonSchema({"type": "string", "pattern": f"^{REFERENCE}$"})
]
Gap = Annotated[Length, mm("least gap", ge=0)]
_Seat = Annotated[
    Annotated[Reference, Tag("<mount>")] | Annotated[FixedTo, Tag("<seat>")],
    form({str: "<mount>", dict: "<seat>"}, "expected part.mount, or a mapping with the key `mount`"),
]


_USE = Field(
    description="in place of `shape`: a part of the `library`, or one that comes with the program; keys "
    "beside it replace the library's"
)


_SERVICE = Field(description="`ignore`: hands need not turn or pull out anything here in the built case")


class PartEntry(FactKeys):
    """One part. The keys of its shape stand beside these."""

    model_config = ConfigDict(extra="allow")

    shape: Annotated[ShapeName, Field(description="what the part is (or `use:` a part of a library)")]
    use: Annotated[str | None, _USE] = None
    label: Annotated[str | None, Field(description="free text for reports and drawings")] = None
    note: Annotated[str | None, Field(description="a remark for whoever reads the file")] = None
    at: Annotated[
        Lengths3 | None, Field(description="the part's origin [x, y, z] in the case, mm; else [0, 0, 0]")
    ] = None
    rotate: Annotated[
        Angles3 | None, Field(description="[rx, ry, rz] about the fixed x, then y, then z axis, degrees")
    ] = None
    fixed_to: Annotated[
        _Seat | None,
        Field(
            description="the mount that holds it, or the port it is screwed into: part.mount, or a mapping "
            "with `mount`"
        ),
    ] = None
    off: Annotated[
        tuple[Off, ...],
        Field(description="distances off other parts; each replaces `at` along its direction"),
    ] = ()
    touches: Annotated[tuple[str, ...], Field(description="parts this one may touch (gap 0)")] = ()
    gap: Annotated[Gap | None, Field(description="the part's own least gap, instead of the rule")] = None
    service: Annotated[Service, _SERVICE] = "check"
    count: Annotated[
        int | None,
        Field(ge=1, le=12, description="several equal parts, name_1, name_2 ..., side by side in a stack"),
    ] = None

    def seat(self) -> FixedTo | None:
        """``fixed_to:`` as a mapping."""
        return FixedTo(mount=self.fixed_to) if isinstance(self.fixed_to, str) else self.fixed_to


class FittingEntry(FactKeys):
    """One fitting, or one link of a chain of them. The keys of its shape stand beside these."""

    model_config = ConfigDict(extra="allow")

    shape: Annotated[ShapeName, Field(description="which fitting (or `use:` one of a library)")]
    use: Annotated[str | None, _USE] = None
    label: Annotated[str | None, Field(description="free text for reports and drawings")] = None
    note: Annotated[str | None, Field(description="a remark for whoever reads the file")] = None
    turn: Annotated[Angle, deg("turn about the thread it is screwed on by")] = 0.0


#: Keys of an entry itself; all others belong to its shape.
PART_KEYS = tuple(PartEntry.model_fields)
FITTING_KEYS = tuple(FittingEntry.model_fields)

_FITTING_FORMS = (
    "expected `none`, a fitting such as {shape: rigid_fitting}, or a list of them from the port outward"
)


def _no_fitting(value: object) -> object:
    if value != "none":
        raise ValueError(f"{_FITTING_FORMS}, got {value!r}")
    return value


_Fitting = Annotated[
    Annotated[Literal["none"], BeforeValidator(_no_fitting), Tag("<none>")]
    | Annotated[FittingEntry, Tag("<fitting>")]
    | Annotated[tuple[FittingEntry, ...], Field(min_length=1), Tag("<chain>")],
    form({str: "<none>", dict: "<fitting>", tuple: "<chain>"}, _FITTING_FORMS),
]
_BendAngle = Annotated[Angle, deg("bend angle", gt=0, le=180)]
_ANGLE_FORMS = "expected a list of bend angles in degrees such as [45, 90], or `any`"


def _any_angle(value: object) -> object:
    if value != "any":
        raise ValueError(f"{_ANGLE_FORMS}, got {value!r}")
    return value


_Angles = Annotated[
    Annotated[Literal["any"], BeforeValidator(_any_angle), Tag("<any>")]
    | Annotated[tuple[_BendAngle, ...], Field(min_length=1), Tag("<list>")],
    form({str: "<any>", tuple: "<list>"}, _ANGLE_FORMS),
]


class TubeEntry(Frozen):
    """One tube between two ports."""

    tubing: Annotated[str, Field(description="which of the `tubings` it is cut from")]
    from_: Annotated[PortName, Field(alias="from", description="the port it starts at, part.port")]
    to: Annotated[PortName, Field(description="the port it ends at, part.port")]
    fittings: Annotated[
        tuple[_Fitting, _Fitting],
        Field(
            description="the fitting at each end, or a list of them from the port outward; `none`: the tube "
            "starts on the port's face"
        ),
    ] = ("none", "none")
    path: Annotated[PathEntry, Field(description="how it runs from mouth to mouth")] = "auto"
    cut: Annotated[Length | None, mm("soft tube: the same as `path: {cut: ...}`", gt=0)] = None
    angles: Annotated[_Angles, Field(description="bend angles `auto` may use, degrees")] = (45.0, 90.0)
    directions: Annotated[
        Literal["case", "any"] | None,
        Field(
            description="`case`: legs of `auto` run along the case axes, their 45-degree diagonals and the "
            "ports' own axes; `any` is the default when angles is any"
        ),
    ] = None
    bend_cost: Annotated[
        Length,
        mm("tube length one bend counts as", ge=0),
    ] = 40.0
    most_bends: Annotated[int, Field(ge=0, le=4, description="most bends `auto` may make")] = 4
    label: Annotated[str | None, Field(description="free text for reports and drawings")] = None
    touches: Annotated[tuple[str, ...], Field(description="parts the tube may touch (gap 0)")] = ()
    gap: Annotated[Gap | None, Field(description="the tube's own least gap, instead of the rule")] = None
    service: Annotated[Service, _SERVICE] = "check"

    def run(self) -> Path:
        """``path:`` or ``cut:`` as a value."""
        if self.cut is not None:
            return CutPath(self.cut)
        if self.path == "auto":
            return AutoPath()
        if self.path == "straight":
            return StraightPath()
        if isinstance(self.path, tuple):
            return CornersPath(self.path)
        form: Callable[[], Path] = self.path.path
        return form()


_NAMES = {"propertyNames": {"pattern": f"^{NAME}$"}}
Tubing: TypeAlias = Annotated[RigidTubing | SoftTubing, Field(discriminator="kind")]


class SceneFile(Frozen):
    """A layout: parts, tubes between their ports, and the rules they keep."""

    layout3d: Annotated[Literal[1], BeforeValidator(_format), Field(description="format of the file: 1")]
    title: Annotated[str, Field(description="name of the build")] = ""
    library: Annotated[
        tuple[str, ...],
        Field(description="folders of part files to `use:` from, as seen from this file's folder"),
    ] = ()
    rules: Annotated[Rules, Field(description="least free distances")] = Rules()
    tubings: Annotated[dict[str, Tubing], Field(default_factory=dict, description="kinds of tube in use")]
    parts: Annotated[
        dict[str, PartEntry],
        Field(default_factory=dict, description="what stands in the case", json_schema_extra=_NAMES),
    ]
    tubes: Annotated[
        dict[str, TubeEntry],
        Field(default_factory=dict, description="tubes from port to port", json_schema_extra=_NAMES),
    ]
    stacks: Annotated[
        dict[str, StackEntry],
        Field(
            default_factory=dict,
            description="what is screwed together at fan mounts, outside to inside",
            json_schema_extra=_NAMES,
        ),
    ]
    bench: Annotated[
        dict[str, Bench],
        Field(default_factory=dict, description="by tubing: what it is cut from and bent on"),
    ]
    plugs: Annotated[tuple[PortName, ...], Field(description="ports closed by a plug, part.port")] = ()
