"""Values of a scene file that several of its keys take: lengths, angles, names on parts."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import BeforeValidator, Field, WithJsonSchema


def mm(what: str, **limits: Any) -> Any:
    """What a length is, and its limits."""
    return Field(description=what, json_schema_extra={"unit": "mm"}, **limits)


def deg(what: str, **limits: Any) -> Any:
    """What an angle is, and its limits."""
    return Field(description=what, json_schema_extra={"unit": "deg"}, **limits)


#: "part.port", "part.mount": the name of a part, then a name on it.
REFERENCE = r"[^.\s]+\.[^.\s]+"


def _reference(value: object) -> object:
    if isinstance(value, str) and not re.fullmatch(REFERENCE, value):
        raise ValueError(f"expected part.mount with one point between, got {value!r}")
    return value


Reference = Annotated[
    str, BeforeValidator(_reference), WithJsonSchema({"type": "string", "pattern": f"^{REFERENCE}$"})
]


def _row(value: object) -> object:
    return str(value) if isinstance(value, int) and not isinstance(value, bool) else value


RowName = Annotated[str, BeforeValidator(_row), WithJsonSchema({"type": ["string", "integer"]})]


def split_reference(reference: str) -> tuple[str, str]:
    """The part's name, and the name on it: "over.from_fitting.mouth" -> ("over.from_fitting", "mouth")."""
    part, _, name = reference.rpartition(".")
    return part, name


@dataclass(frozen=True, slots=True)
class PortRef:
    """``part.port``."""

    part: str
    port: str

    def __str__(self) -> str:
        return f"{self.part}.{self.port}"
