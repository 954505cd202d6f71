"""The forms in which ``path:`` may be written."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Discriminator, Field, Tag, model_validator

from layout3d.scene.complaints import nearest
from layout3d.scene.paths import BendsPath, BendStep, CutPath, Leg, LegsPath
from layout3d.scene.values import mm
from shapes.fields import Direction, Frozen, Length, Lengths3
from shapes.pose import DIRECTIONS


def form(forms: dict[type, str], message: str) -> Discriminator:
    """Tells the forms of a value apart by its kind; ``message`` for any other."""

    def tag(value: Any) -> str | None:
        return next((tag for kind, tag in forms.items() if isinstance(value, kind)), None)

    return Discriminator(tag, custom_error_type="form", custom_error_message=message)


def _leg_word(value: object) -> object:
    if value != "to" and value not in DIRECTIONS:
        words = ", ".join(DIRECTIONS)
        raise ValueError(
            f"a leg is [direction, length], one of {words} alone, or `to` as the last; got {value!r}"
        )
    return value


_Leg = Annotated[
    Annotated[
        Literal["to", "rear", "front", "window", "tray", "floor", "roof"],
        BeforeValidator(_leg_word),
        Tag("<to>"),
    ]
    | Annotated[tuple[Direction, Annotated[Length, mm("length of the leg", gt=0)]], Tag("<leg>")],
    form(
        {str: "<to>", tuple: "<leg>"},
        "expected a leg [direction, length], a direction alone, or `to` as the last",
    ),
]


class LegsForm(Frozen):
    """A path by legs: ``{legs: [[roof, 56], front, to]}``."""

    legs: Annotated[
        tuple[_Leg, ...],
        Field(
            description="legs [direction, length in mm] from vertex to vertex, then `to`; a direction "
            "alone is as long as it takes to line up with the far port"
        ),
    ]

    @model_validator(mode="after")
    def _ends_at_the_mouth(self) -> LegsForm:
        if not self.legs or self.legs[-1] != "to":
            raise ValueError(
                "the last of the legs must be `to`: it runs to the far mouth, however long it is"
            )
        if "to" in self.legs[:-1]:
            raise ValueError("`to` can only be the last of the legs")
        open_legs = [leg for leg in self.legs[:-1] if isinstance(leg, str)]
        if len(open_legs) > 2:
            raise ValueError(
                f"{len(open_legs)} legs have no length ({', '.join(open_legs)}); the far port's axis can "
                "settle two at most"
            )
        return self

    def path(self) -> LegsPath:
        """The legs before ``to``."""
        return LegsPath(
            tuple(
                Leg(DIRECTIONS[leg], None) if isinstance(leg, str) else Leg(leg[0], leg[1])
                for leg in self.legs[:-1]
            )
        )


class BendsForm(Frozen):
    """A path by its bend table: ``{bends: [{straight: 100, bend: 90}], last: 150}``."""

    bends: Annotated[tuple[BendStep, ...], Field(description="bends from the `from` end on")]
    last: Annotated[Length, mm("straight after the last bend", ge=0)]

    def path(self) -> BendsPath:
        """The table as it stands."""
        return BendsPath(self.bends, self.last)


class CutForm(Frozen):
    """Soft tube of a given length: ``{cut: 320}``."""

    cut: Annotated[
        Length,
        mm("length to cut, insertion included", gt=0),
    ]

    def path(self) -> CutPath:
        """The length."""
        return CutPath(self.cut)


PATH_FORMS = (
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
        raise ValueError(f"{PATH_FORMS}; got {value!r}")
    return value


def _corners(value: object) -> object:
    if value == ():
        raise ValueError("an empty list of corners: write `path: straight`")
    return value


PathEntry = Annotated[
    Annotated[Literal["auto", "straight"], BeforeValidator(_path_word), Tag("<word>")]
    | Annotated[tuple[Lengths3, ...], BeforeValidator(_corners), Tag("<corners>")]
    | Annotated[LegsForm, Tag("<legs>")]
    | Annotated[BendsForm, Tag("<bends>")]
    | Annotated[CutForm, Tag("<cut>")],
    Discriminator(_path_tag, custom_error_type="form", custom_error_message=PATH_FORMS),
]
