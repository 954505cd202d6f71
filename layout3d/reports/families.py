"""What is to be told of a family: its words, parameters, ports and mounts, as plain values."""

from __future__ import annotations

import inspect
import re
from collections.abc import Sequence
from dataclasses import dataclass
from types import MappingProxyType, NoneType, UnionType
from typing import Any, Literal, Union, get_args, get_origin

from annotated_types import Ge, Gt, Le, Lt
from pydantic.fields import FieldInfo

from layout3d.scene.scalars import resolve
from layout3d.words import direction_word, number
from shapes.fields import Shape
from shapes.part import Mount, Part
from shapes.pose import Array, as_vec3

#: Mount kind -> what is fixed there.
KINDS = MappingProxyType(
    {
        "band": "a clamp about a round tube, or the tube in a clamp",
        "board": "a board on its standoffs",
        "bracket": "a card's bracket in its opening of the rear panel",
        "bulkhead": "a fitting through a round hole of the sheet",
        "cpu": "a block on the processor",
        "drive": "a drive by its screw holes",
        "fan": "fans, radiators, grilles and the like by fan holes",
        "pump": "a pump's motor under a top of its own kind",
        "psu": "a power supply by its screw holes",
        "reservoir": "a reservoir on a pump, their ports meeting",
        "slot": "a card by its edge",
        "stand": "whatever stands on a plain face",
        "terminal": "a bridge between the terminals of two cards",
    }
)


@dataclass(frozen=True, slots=True)
class Parameter:
    """One parameter: ``default`` and ``choices`` as they are written in a scene, ``limits`` in words."""

    name: str
    default: str
    limits: str
    choices: tuple[str, ...]
    meaning: str
    source: str


@dataclass(frozen=True, slots=True)
class PortTold:
    """A port of the family as it is by itself."""

    name: str
    opens: str
    thread: str
    at: str


@dataclass(frozen=True, slots=True)
class MountTold:
    """A mount of the family as it is by itself; ``slides``: which way `slide:` counts."""

    name: str
    kind: str
    what: str
    faces: str
    slides: str
    rows: str


def words(shape: type[Shape]) -> str:
    """The family's docstring as people read it."""
    return (inspect.getdoc(shape) or "").replace("``", "`")


def summary(shape: type[Shape]) -> str:
    """Its first sentence."""
    return words(shape).partition("\n\n")[0].replace("\n", " ")


def parameters(shape: type[Shape]) -> tuple[Parameter, ...]:
    """All parameters in the order the family states them."""
    return tuple(_parameter(name, field) for name, field in shape.model_fields.items())


def ports(part: Part) -> tuple[PortTold, ...]:
    """Its ports, origin and facing in the part's own axes."""
    return tuple(
        PortTold(
            name,
            _way(port.port2part.z_axis),
            "none" if port.thread is None else f"{port.thread} male" if port.male else port.thread,
            _point(port.port2part.origin),
        )
        for name, port in part.ports.items()
    )


def mounts(part: Part) -> tuple[MountTold, ...]:
    """Its mounts, facing and slide direction in the part's own axes."""
    return tuple(
        MountTold(
            name,
            mount.kind,
            KINDS.get(mount.kind, mount.kind),
            _way(mount.mount2part.z_axis),
            _slides(mount),
            ", ".join(row for row in mount.rows if row) or "any",
        )
        for name, mount in part.mounts.items()
    )


def _slides(mount: Mount) -> str:
    held = mount.surface is None and mount.kind != "band"
    slots = max((hole.slot for holes in mount.rows.values() for hole in holes), default=0.0)
    if held and slots == 0.0:
        return "-"
    way = _way(mount.mount2part.x_axis)
    return f"{way}, {number(slots)} mm in all" if held else way


def _way(vector: Array) -> str:
    direction = as_vec3(vector)
    return direction_word(direction) or _point(vector)


def _point(point: Array) -> str:
    return "[" + ", ".join(number(value) for value in as_vec3(point)) + "]"


def _parameter(name: str, field: FieldInfo) -> Parameter:
    extra = field.json_schema_extra if isinstance(field.json_schema_extra, dict) else {}
    value = field.get_default(call_default_factory=True)
    unit = str(extra.get("unit", ""))
    choices = tuple(dict.fromkeys(_choices(field.annotation)))
    return Parameter(
        name,
        "not given" if value is None else yaml_text(value),
        _limits(field, unit),
        choices,
        field.description or "",
        str(extra.get("source", "")),
    )


def yaml_text(value: Any) -> str:
    """A value as it is written in a scene."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        return number(value, 3)
    if isinstance(value, tuple | list):
        return "[" + ", ".join(map(yaml_text, value)) + "]"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key}: {yaml_text(item)}" for key, item in value.items()) + "}"
    if hasattr(value, "model_dump"):
        return yaml_text(value.model_dump(exclude_unset=True))
    text = str(value)
    return text if not isinstance(value, str) or _is_plain(text) else f'"{text}"'


def _is_plain(text: str) -> bool:
    if not re.fullmatch(r"[A-Za-z0-9./_-][A-Za-z0-9 ./_-]*", text):
        return False
    try:
        return isinstance(resolve(text), str)
    except ValueError:
        return False


def _choices(kind: Any) -> Sequence[str]:
    """The words a parameter takes, through "or None" and lists."""
    if kind is bool:
        return ("true", "false")
    if get_origin(kind) is Literal:
        return [yaml_text(word) for word in get_args(kind)]
    if get_origin(kind) in (Union, UnionType):
        return [word for member in get_args(kind) if member is not NoneType for word in _choices(member)]
    if get_origin(kind) in (tuple, list):
        return [word for member in get_args(kind) if member is not Ellipsis for word in _choices(member)]
    inner = getattr(kind, "__origin__", None)
    return _choices(inner) if inner is not None and inner is not kind else ()


def _limits(field: FieldInfo, unit: str) -> str:
    low = high = ""
    for note in field.metadata:
        match note:
            case Ge(ge=value):
                low = f"{value:g}"
            case Gt(gt=value):
                low = f"above {value:g}"
            case Le(le=value):
                high = f"{value:g}"
            case Lt(lt=value):
                high = f"below {value:g}"
    joint = " to " if low and high else ""
    least = "from " if low and not high and not low.startswith("above") else ""
    return f"{least}{low}{joint}{high}{' ' + unit if unit else ''}".strip()
