"""The scene file's own form: what may be written under each key.

One model reads and validates a file and makes the editor schema. What comes out of it is
turned into ``layout3d.scene.model`` values, where nothing of the file's spelling is left.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Annotated, Any, Literal, TypeAlias

from pydantic import (
    BeforeValidator,
    ConfigDict,
    Discriminator,
    Field,
    PlainValidator,
    Tag,
    WithJsonSchema,
    model_validator,
)

import shapes
from layout3d.scene.complaints import ChoiceError, nearest, unknown
from layout3d.scene.model import (
    AutoPath,
    BendsPath,
    BendStep,
    CornersPath,
    CutPath,
    FixedTo,
    Leg,
    LegsPath,
    Off,
    Path,
    PortRef,
    RigidTubing,
    Rules,
    SoftTubing,
    StraightPath,
)
from shapes.fields import Angle, Angles3, Direction, Frozen, Length, Lengths3

_REFERENCE = r"[^.\s]+\.[^.\s]+"


def _format(value: object) -> object:
    if value != 1 or isinstance(value, bool | float):
        raise ValueError(f"this program reads scene format 1, the file states {value!r}: write `layout3d: 1`")
    return value


def _shape_name(value: object) -> object:
    if isinstance(value, str) and value not in shapes.SHAPES:
        raise ChoiceError(unknown("shape", value, shapes.SHAPES), shapes.SHAPES)
    return value


def _port_ref(value: object) -> PortRef:
    if not isinstance(value, str) or not re.fullmatch(_REFERENCE, value):
        raise ValueError(f"expected part.port with one point between, got {value!r}")
    part, _, port = value.partition(".")
    return PortRef(part, port)


def _form(forms: dict[type, str], message: str) -> Discriminator:
    def tag(value: Any) -> str | None:
        return next((tag for kind, tag in forms.items() if isinstance(value, kind)), None)

    return Discriminator(tag, custom_error_type="form", custom_error_message=message)


ShapeName = Annotated[str, BeforeValidator(_shape_name)]
PortName = Annotated[
    PortRef, PlainValidator(_port_ref), WithJsonSchema({"type": "string", "pattern": f"^{_REFERENCE}$"})
]
Gap = Annotated[Length, Field(ge=0, json_schema_extra={"unit": "mm"})]


def _mount_only(value: object) -> object:
    return {"mount": value} if isinstance(value, str) else value


class PartEntry(Frozen):
    """One part. The keys of its shape stand beside these."""

    model_config = ConfigDict(extra="allow")

    shape: Annotated[ShapeName, Field(description="what the part is")]
    label: Annotated[str | None, Field(description="free text for reports and drawings")] = None
    note: Annotated[str | None, Field(description="a remark for whoever reads the file")] = None
    at: Annotated[
        Lengths3 | None, Field(description="the part's origin [x, y, z] in the case, mm; else [0, 0, 0]")
    ] = None
    rotate: Annotated[
        Angles3 | None, Field(description="[rx, ry, rz] about the fixed x, then y, then z axis, degrees")
    ] = None
    fixed_to: Annotated[
        FixedTo | None, BeforeValidator(_mount_only), Field(description="the mount that holds the part")
    ] = None
    off: Annotated[
        tuple[Off, ...],
        Field(description="distances off other parts; each replaces `at` along its direction"),
    ] = ()
    touches: Annotated[tuple[str, ...], Field(description="parts this one may touch (gap 0)")] = ()
    gap: Annotated[Gap | None, Field(description="the part's own least gap, instead of the rule")] = None


class FittingEntry(Frozen):
    """One fitting. The keys of its shape stand beside these."""

    model_config = ConfigDict(extra="allow")

    shape: Annotated[ShapeName, Field(description="which fitting")]
    turn: Annotated[
        Angle, Field(description="turn about its thread, degrees", json_schema_extra={"unit": "deg"})
    ] = 0.0


#: Keys of an entry itself; all others belong to its shape.
PART_KEYS = tuple(PartEntry.model_fields)
FITTING_KEYS = tuple(FittingEntry.model_fields)


def _leg_end(value: object) -> object:
    if value != "to":
        raise ValueError(f"a leg is [direction, length]; only the last is `to`; got {value!r}")
    return value


_Leg = Annotated[
    Annotated[Literal["to"], BeforeValidator(_leg_end), Tag("<to>")]
    | Annotated[tuple[Direction, Annotated[Length, Field(gt=0)]], Tag("<leg>")],
    _form({str: "<to>", tuple: "<leg>"}, "expected a leg [direction, length], or `to` as the last"),
]


class LegsForm(Frozen):
    """A path by legs: ``{legs: [[roof, 56], [front, 200], to]}``."""

    legs: Annotated[
        tuple[_Leg, ...], Field(description="legs [direction, length in mm] from vertex to vertex, then `to`")
    ]

    @model_validator(mode="after")
    def _ends_at_the_mouth(self) -> LegsForm:
        if not self.legs or self.legs[-1] != "to":
            raise ValueError(
                "the last of the legs must be `to`: it runs to the far mouth, however long it is"
            )
        if "to" in self.legs[:-1]:
            raise ValueError("`to` can only be the last of the legs")
        return self

    def path(self) -> Path:
        """The legs before ``to``."""
        return LegsPath(tuple(Leg(leg[0], leg[1]) for leg in self.legs if leg != "to"))


class BendsForm(Frozen):
    """A path by its bend table: ``{bends: [{straight: 100, bend: 90}], last: 150}``."""

    bends: Annotated[tuple[BendStep, ...], Field(description="bends from the `from` end on")]
    last: Annotated[
        Length, Field(ge=0, description="straight after the last bend", json_schema_extra={"unit": "mm"})
    ]

    def path(self) -> Path:
        """The table as it stands."""
        return BendsPath(self.bends, self.last)


class CutForm(Frozen):
    """Soft tube of a given length: ``{cut: 320}``."""

    cut: Annotated[
        Length,
        Field(gt=0, description="length to cut, insertion included", json_schema_extra={"unit": "mm"}),
    ]

    def path(self) -> Path:
        """The length."""
        return CutPath(self.cut)


_PATH_FORMS = (
    "expected auto, straight, a list of corners [[x, y, z], ...], {legs: [...]}, "
    "{bends: [...], last: ...} or {cut: ...}"
)
_MAPPING_FORMS = {"legs": "<legs>", "bends": "<bends>", "last": "<bends>", "cut": "<cut>"}


def _path_tag(value: Any) -> str | None:
    if isinstance(value, str):
        return "<word>"
    if isinstance(value, tuple):
        return "<corners>"
    if isinstance(value, dict):
        for key in value:
            if meant := nearest(str(key), _MAPPING_FORMS):
                return _MAPPING_FORMS[meant]
    return None


def _path_word(value: object) -> object:
    if value not in ("auto", "straight"):
        raise ValueError(f"{_PATH_FORMS}; got {value!r}")
    return value


PathEntry = Annotated[
    Annotated[Literal["auto", "straight"], BeforeValidator(_path_word), Tag("<word>")]
    | Annotated[tuple[Lengths3, ...], Tag("<corners>")]
    | Annotated[LegsForm, Tag("<legs>")]
    | Annotated[BendsForm, Tag("<bends>")]
    | Annotated[CutForm, Tag("<cut>")],
    Discriminator(_path_tag, custom_error_type="form", custom_error_message=_PATH_FORMS),
]

_FITTING_FORMS = "expected `none` or a fitting such as {shape: rigid_fitting}"


def _no_fitting(value: object) -> object:
    if value != "none":
        raise ValueError(f"{_FITTING_FORMS}, got {value!r}")
    return value


_Fitting = Annotated[
    Annotated[Literal["none"], BeforeValidator(_no_fitting), Tag("<none>")]
    | Annotated[FittingEntry, Tag("<fitting>")],
    _form({str: "<none>", dict: "<fitting>"}, _FITTING_FORMS),
]
_BendAngle = Annotated[Angle, Field(gt=0, le=180, json_schema_extra={"unit": "deg"})]
_ANGLE_FORMS = "expected a list of bend angles in degrees such as [45, 90], or `any`"


def _any_angle(value: object) -> object:
    if value != "any":
        raise ValueError(f"{_ANGLE_FORMS}, got {value!r}")
    return value


_Angles = Annotated[
    Annotated[Literal["any"], BeforeValidator(_any_angle), Tag("<any>")]
    | Annotated[tuple[_BendAngle, ...], Field(min_length=1), Tag("<list>")],
    _form({str: "<any>", tuple: "<list>"}, _ANGLE_FORMS),
]


class TubeEntry(Frozen):
    """One tube between two ports."""

    tubing: Annotated[str, Field(description="which of the `tubings` it is cut from")]
    from_: Annotated[PortName, Field(alias="from", description="the port it starts at, part.port")]
    to: Annotated[PortName, Field(description="the port it ends at, part.port")]
    fittings: Annotated[
        tuple[_Fitting, _Fitting],
        Field(description="the fitting at each end; `none`: it starts on the port's face"),
    ] = ("none", "none")
    path: Annotated[PathEntry, Field(description="how it runs from mouth to mouth")] = "auto"
    cut: Annotated[Length | None, Field(gt=0, description="soft tube: the same as `path: {cut: ...}`")] = None
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
        Field(ge=0, description="tube length one bend counts as", json_schema_extra={"unit": "mm"}),
    ] = 40.0
    most_bends: Annotated[int, Field(ge=0, le=6, description="most bends `auto` may make")] = 4
    label: Annotated[str | None, Field(description="free text for reports and drawings")] = None
    touches: Annotated[tuple[str, ...], Field(description="parts the tube may touch (gap 0)")] = ()
    gap: Annotated[Gap | None, Field(description="the tube's own least gap, instead of the rule")] = None

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


Tubing: TypeAlias = Annotated[RigidTubing | SoftTubing, Field(discriminator="kind")]


class SceneFile(Frozen):
    """A layout: parts, tubes between their ports, and the rules they keep."""

    layout3d: Annotated[Literal[1], BeforeValidator(_format), Field(description="format of the file: 1")]
    title: Annotated[str, Field(description="name of the build")] = ""
    rules: Annotated[Rules, Field(description="least free distances")] = Rules()
    tubings: Annotated[dict[str, Tubing], Field(default_factory=dict, description="kinds of tube in use")]
    parts: Annotated[dict[str, PartEntry], Field(default_factory=dict, description="what stands in the case")]
    tubes: Annotated[dict[str, TubeEntry], Field(default_factory=dict, description="tubes from port to port")]
    plugs: Annotated[tuple[PortName, ...], Field(description="ports closed by a plug, part.port")] = ()
