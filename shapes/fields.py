"""Parameter types of shapes and scenes: each knows its unit, range and source.

The scene reader, ``layout3d shapes``, the editor schema and the shape pages all read what
is stated here; nothing about a parameter is written down twice.
"""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, GetJsonSchemaHandler, WithJsonSchema

from shapes.part import Part
from shapes.pose import Vec3
from shapes.units import parse_angle, parse_direction, parse_length

_LENGTH_TEXT = {"type": "string", "pattern": r"^[^,]*((mm|cm|in|inch|\")|(±|\+).*[0-9])\s*$"}
_DIRECTION_JSON = {
    "anyOf": [
        {"enum": ["rear", "front", "window", "tray", "floor", "roof"]},
        {"type": "array", "items": {"type": "number"}, "minItems": 3, "maxItems": 3},
    ]
}


class _LengthJson:
    """Lets an editor take a length as a number within its limits, or as text with a unit."""

    def __get_pydantic_json_schema__(self, core: Any, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        return {"anyOf": [handler(core), _LENGTH_TEXT]}


#: A length in mm; may be written with a unit.
Length = Annotated[float, BeforeValidator(parse_length), _LengthJson()]
#: An angle in degrees.
Angle = Annotated[float, BeforeValidator(parse_angle)]
#: A unit vector; may be written as a direction word.
Direction = Annotated[Vec3, BeforeValidator(parse_direction), WithJsonSchema(_DIRECTION_JSON)]
#: A place or size, three lengths in mm.
Lengths3 = tuple[Length, Length, Length]
Lengths2 = tuple[Length, Length]
Angles3 = tuple[Angle, Angle, Angle]


class Frozen(BaseModel):
    """A value read from a file: cannot be changed, refuses keys it does not know."""

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)


class Shape(Frozen):
    """A parametric family of parts, valid with no arguments.

    A subclass states its origin and axes in its docstring, gives each parameter a unit,
    range and source through ``length`` and its sisters, and builds one part.
    """

    def build(self) -> Part:
        """The part in its own frame. ValueError for parameters that do not go together."""
        raise NotImplementedError


def length(
    default: float | None,
    what: str,
    *,
    source: str,
    above: float | None = None,
    least: float | None = None,
    most: float,
) -> Any:
    """A length parameter [mm]: its default, meaning, range and the source of the default."""
    return _field(default, what, "mm", source, gt=above, ge=least, le=most)


def angle(default: float, what: str, *, source: str, least: float = -360.0, most: float = 360.0) -> Any:
    """An angle parameter [degrees]."""
    return _field(default, what, "deg", source, ge=least, le=most)


def count(default: int, what: str, *, source: str, least: int, most: int) -> Any:
    """A whole-number parameter."""
    return _field(default, what, "", source, ge=least, le=most)


def choice(default: Any, what: str, *, source: str) -> Any:
    """A parameter that takes one of a few words, or yes and no."""
    return _field(default, what, "", source)


def _field(default: Any, what: str, unit: str, source: str, **limits: Any) -> Any:
    stated = {key: value for key, value in limits.items() if value is not None}
    return Field(default, description=what, json_schema_extra={"unit": unit, "source": source}, **stated)
