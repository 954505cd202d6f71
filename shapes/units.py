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

    Of a length with a tolerance (``60 +- 0.5``) the nominal one; ``parse_tolerance`` tells the rest.
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
    if states_tolerance(value):
        return parse_tolerance(value)[0]
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


def states_tolerance(text: str) -> bool:
    """Whether a text, if it is a length at all, is one with a tolerance."""
    return "±" in text or "+" in text.lstrip()[1:]


def parse_tolerance(text: str) -> tuple[float, float, float]:
    """Nominal length, and how far the true one may lie below and above it [mm].

    Written ``60 +- 0.5``, ``60 ± 0.5`` or ``60 +0.5 -0.2``, each length with a unit or in mm. ValueError
    that says what was wrong and how to write it.
    """
    even = sided = None
    if len(text) <= 3 * _LONGEST_TEXT:
        even = re.fullmatch(r"(?P<nominal>[^±]+?)(?:±|\+/?-)(?P<both>.*)", text)
        sided = re.fullmatch(
            r"(?P<nominal>.+?)(?:\+(?P<above>[^+-]+)-(?P<below>[^+-]+)|-(?P<less>[^+-]+)\+(?P<more>[^+-]+))",
            text,
        )
    if even is not None:
        nominal, words = even["nominal"], (even["both"], even["both"])
    elif sided is not None:
        nominal = sided["nominal"]
        words = (sided["below"] or sided["less"], sided["above"] or sided["more"])
    else:
        raise ValueError(
            f"cannot read {text[:_LONGEST_TEXT]!r} as a length with a tolerance: {_TOLERANCE_FORMS}"
        )
    length = _plain_or_unit(nominal)
    for word in words:
        if not word.strip():
            raise ValueError(f"no tolerance stands after the sign in {text!r}: {_TOLERANCE_FORMS}")
        if word.strip()[0] in "+-":
            raise ValueError(f"the tolerance in {text!r} has two signs: {_TOLERANCE_FORMS}")
        if _unit_of(nominal) not in ("", "mm") and not _unit_of(word):
            unit = _unit_of(nominal)
            raise ValueError(f"{text!r} leaves open what {word.strip()} is: write its unit, mm or {unit}")
    below, above = (_plain_or_unit(word) for word in words)
    return length, below, above


_TOLERANCE_FORMS = "write '60 +- 0.5', '60 ± 0.5' or '60 +0.5 -0.2'"


def _plain_or_unit(word: str) -> float:
    """A length written inside a longer text, where a plain number is one of mm."""
    word = word.strip()
    return parse_length(float(word) if re.fullmatch(_DECIMAL, word) else word)


def _unit_of(word: str) -> str:
    found = re.search(r"(mm|cm|in|inch|\")\s*$", word)
    return found[1] if found else ""


def parse_angle(value: object) -> float:
    """An angle in degrees from a finite number; ValueError otherwise."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        hint = f"{value!r}" if isinstance(value, str) else _kind_of(value)
        if isinstance(value, str) and states_tolerance(value):
            hint += ": only lengths take a tolerance"
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
