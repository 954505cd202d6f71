"""Figures and directions as they stand in messages, wherever they come from."""

from __future__ import annotations

import math
from operator import mul

from shapes.pose import DIRECTIONS, Vec3

#: A direction leans to a word if it goes at least this share of its way there.
_LEAN = 0.25


def number(value: float, decimals: int = 2) -> str:
    """A figure with at most ``decimals`` decimals, without trailing zeros."""
    text = f"{value:z.{decimals}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def counted(count: int, noun: str) -> str:
    """ "1 part", "2 parts"."""
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"


def mm(value: float) -> str:
    """A length, "12.5 mm"; more decimals only where two would make nothing of it."""
    if abs(value) >= 0.005 or abs(value) <= 1e-6:
        return f"{number(value)} mm"
    return f"{value:.2g} mm"


def degrees(value: float) -> str:
    """An angle, "3.5 degrees", with as many decimals as a small one needs to show."""
    for decimals in (2, 4, 7):
        if abs(value) >= 10.0**-decimals:
            return f"{number(value, decimals)} degrees"
    return "0 degrees"


def mm_pair(measured: float, required: float) -> tuple[str, str]:
    """Two lengths with as many decimals as it takes to tell them apart."""
    for decimals in range(2, 8):
        texts = f"{number(measured, decimals)} mm", f"{number(required, decimals)} mm"
        if texts[0] != texts[1]:
            break
    return texts


def rounded_up(value: float) -> float:
    """The next hundredth of a millimetre that is not less [mm]."""
    return math.ceil(value * 100.0 - 1e-7) / 100.0


def toward(direction: Vec3) -> str:
    """A unit vector as "toward the front" where a word says it, else by the words it leans to and itself."""
    word = direction_word(direction)
    if word is not None:
        return f"toward the {word}"
    vector = "[" + ", ".join(number(value, 3) for value in direction) + "]"
    lean = {word: sum(map(mul, direction, axis)) for word, axis in DIRECTIONS.items()}
    leading = sorted((word for word, share in lean.items() if share > _LEAN), key=lambda word: -lean[word])
    return f"toward {' and '.join(leading)}, along {vector}"


def direction_word(direction: Vec3) -> str | None:
    """The word for a unit vector along one of the case's axes, within a millionth."""
    for word, axis in DIRECTIONS.items():
        if all(abs(a - b) < 1e-6 for a, b in zip(direction, axis, strict=True)):
            return word
    return None
