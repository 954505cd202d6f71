"""Lengths and directions as people write them, made into plain numbers at the edge."""

from __future__ import annotations

import math
import re

from shapes.pose import DIRECTIONS, Vec3

INCH_MM = 25.4
#: 1 km: nothing in a case is longer, and the tolerance of 1e-6 mm still means something there.
LARGEST_MM = 1e6
_LONGEST_TEXT = 40
_DECIMAL = r"[+-]?(?:\d+\.\d+|\d+|\.\d+)"
_WITH_UNIT = re.compile(
    rf"^\s*(?:(?P<whole>[+-]?\d+)\s+)?(?:(?P<over>[+-]?\d+)\s*/\s*(?P<under>\d+)|(?P<plain>{_DECIMAL}))"
    r"\s*(?P<unit>mm|cm|in|inch|\")\s*$"
)
_UNITS = {"mm": 1.0, "cm": 10.0, "in": INCH_MM, "inch": INCH_MM, '"': INCH_MM}


def parse_length(value: object) -> float:
    """A length in mm from a number of mm or text such as ``12.7 mm``, ``1/2 in``, ``1 1/2 in``.

    Raises ValueError that says what was wrong and how to write it.
    """
    if isinstance(value, bool):
        raise ValueError(f"expected a length, got {'yes/no' if value else 'no'} ({str(value).lower()})")
    if isinstance(value, int | float):
        if not abs(value) <= LARGEST_MM:
            raise ValueError(f"expected a length of at most {LARGEST_MM:.0f} mm, got {str(value)[:24]}")
        return float(value)
    if not isinstance(value, str):
        raise ValueError(f"expected a length such as 12.7 or '1/2 in', got {_kind_of(value)}")
    if re.fullmatch(r"\s*[+-]?\d+,\d+\s*(mm|cm|in|inch|\")?\s*", value):
        raise ValueError(f"decimal comma in {value!r}: write a point, {value.strip().replace(',', '.')}")
    if re.fullmatch(r"\s*[+-]?(\d+\s+)?\d+\s*/\s*\d+\s*", value):
        raise ValueError(
            f"a bare fraction {value!r} has no unit: write '{value.strip()} in' or a number of mm"
        )
    match = _WITH_UNIT.match(value) if len(value) <= _LONGEST_TEXT else None
    if match is None or (match["whole"] is not None and match["over"] is None):
        raise ValueError(
            f"cannot read {value[:_LONGEST_TEXT]!r} as a length: "
            "write 12.7, '12.7 mm', '1/2 in' or '1 1/2 in'"
        )
    if match["plain"] is not None:
        number = float(match["plain"])
    else:
        under = int(match["under"])
        if under == 0:
            raise ValueError(f"{value!r} divides by zero")
        whole = int(match["whole"]) if match["whole"] is not None else 0
        part = int(match["over"]) / under
        negative = (match["whole"] or match["over"]).lstrip().startswith("-")
        number = -(abs(whole) + abs(part)) if negative else whole + part
    length = number * _UNITS[match["unit"]]
    if not abs(length) <= LARGEST_MM:
        raise ValueError(f"{value!r} is too large for a length: at most {LARGEST_MM:.0f} mm")
    return length


def parse_angle(value: object) -> float:
    """An angle in degrees from a finite number; ValueError otherwise."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        hint = f"{value!r}" if isinstance(value, str) else _kind_of(value)
        raise ValueError(f"expected an angle in degrees, a plain number, got {hint}")
    if not math.isfinite(value):
        raise ValueError(f"expected an angle in degrees, got {value}")
    return float(value)


def parse_direction(value: object) -> Vec3:
    """A unit vector from a direction word or three numbers; ValueError names the words."""
    words = ", ".join(DIRECTIONS)
    if isinstance(value, str):
        if value not in DIRECTIONS:
            raise ValueError(f"unknown direction {value!r}; known: {words}, or three numbers [x, y, z]")
        return DIRECTIONS[value]
    if not isinstance(value, list | tuple) or len(value) != 3:
        raise ValueError(f"expected a direction: one of {words}, or three numbers [x, y, z]")
    x, y, z = (parse_angle(v) for v in value)
    norm = math.sqrt(x * x + y * y + z * z)
    if not norm > 1e-9:
        raise ValueError("a direction cannot be [0, 0, 0]")
    return (x / norm, y / norm, z / norm)


def _kind_of(value: object) -> str:
    names = {dict: "a mapping", list: "a list", type(None): "nothing", tuple: "a list", bool: "yes/no"}
    return names.get(type(value), type(value).__name__)
