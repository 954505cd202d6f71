"""What can be placed: the families, their parameters, ports and mounts."""

from __future__ import annotations

import inspect
import textwrap
from typing import Any, Literal, get_args, get_origin

from annotated_types import Ge, Gt, Le, Lt
from pydantic import BaseModel
from pydantic.fields import FieldInfo

from layout3d.errors import RequestError
from layout3d.reports.table import Cell, text_table
from layout3d.scene.complaints import unknown
from shapes import SHAPES, shape_named
from shapes.fields import Shape


def shapes_text() -> str:
    """Every family with the first sentence of its description."""
    rows: list[list[Cell]] = [[name, _summary(shape_named(name))] for name in SHAPES]
    return text_table(("shape", "what it is"), rows)


def shape_text(name: str) -> str:
    """One family: description, parameters with unit, default, range and source, ports and mounts.

    Raises RequestError for a name that is no family.
    """
    if name not in SHAPES:
        raise RequestError(unknown("shape", name, SHAPES))
    shape = shape_named(name)
    rows: list[list[Cell]] = [
        [key, *_parameter(field), field.description or ""] for key, field in shape.model_fields.items()
    ]
    blocks = [f"{name}: {_words(shape)}"]
    blocks.append(text_table(("parameter", "unit", "default", "range", "meaning"), rows))
    sources = [f"{key}: {_extra(field).get('source', '')}" for key, field in shape.model_fields.items()]
    blocks.append("sources\n" + "\n".join(textwrap.indent(source, "  ") for source in sources))
    part = shape().build()
    blocks.append(f"ports: {', '.join(part.ports) or 'none'}")
    mounts = ", ".join(f"{mount_name} ({mount.kind})" for mount_name, mount in part.mounts.items())
    blocks.append(f"mounts: {mounts or 'none'}")
    return "\n\n".join(blocks)


def _summary(shape: type[Shape]) -> str:
    return _words(shape).partition("\n\n")[0].replace("\n", " ")


def _words(shape: type[Shape]) -> str:
    """The family's docstring as people read it."""
    return (inspect.getdoc(shape) or "").replace("``", "`")


def _parameter(field: FieldInfo) -> tuple[str, str, str]:
    return str(_extra(field).get("unit", "")), _default(field), _range(field)


def _extra(field: FieldInfo) -> dict[str, Any]:
    extra = field.json_schema_extra
    return extra if isinstance(extra, dict) else {}


def _default(field: FieldInfo) -> str:
    value = field.get_default(call_default_factory=True)
    if value is None or value == () or value == {}:
        return "none"
    return _written(value)


def _written(value: object) -> str:
    """A value as it would stand in a scene."""
    if isinstance(value, BaseModel):
        return _written(value.model_dump(exclude_unset=True))
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key}: {_written(inner)}" for key, inner in value.items()) + "}"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(map(_written, value)) + "]"
    if isinstance(value, bool):
        return "true" if value else "false"
    return f"{value:g}" if isinstance(value, float) else str(value)


def _range(field: FieldInfo) -> str:
    if get_origin(field.annotation) is Literal:
        return " | ".join(str(word) for word in get_args(field.annotation))
    if field.annotation is bool:
        return "true | false"
    low = next((f"from {m.ge:g}" for m in field.metadata if isinstance(m, Ge)), "")
    low = next((f"above {m.gt:g}" for m in field.metadata if isinstance(m, Gt)), low)
    high = next((f"to {m.le:g}" for m in field.metadata if isinstance(m, Le)), "")
    high = next((f"below {m.lt:g}" for m in field.metadata if isinstance(m, Lt)), high)
    return " ".join(word for word in (low, high) if word)
