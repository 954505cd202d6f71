"""Plain words of YAML resolved by the YAML 1.2 core schema (yes and no are text).

Source: YAML 1.2.2, section 10.3.2, "Tag Resolution".
"""

from __future__ import annotations

import math
import re

#: No length, angle or count of a PC is beyond this; it keeps later arithmetic finite.
LARGEST_NUMBER = 1e6

_WORDS: dict[str, bool | None] = {
    **dict.fromkeys(("", "~", "null", "Null", "NULL"), None),
    **dict.fromkeys(("true", "True", "TRUE"), True),
    **dict.fromkeys(("false", "False", "FALSE"), False),
}
_DECIMAL = re.compile(r"[-+]?[0-9]+")
_BASED = re.compile(r"0o[0-7]+|0x[0-9a-fA-F]+")
_FLOAT = re.compile(r"[-+]?(?:\.[0-9]+|[0-9]+(?:\.[0-9]*)?)(?:[eE][-+]?[0-9]+)?")
_NOT_FINITE = re.compile(r"[-+]?\.(?:inf|Inf|INF)|\.(?:nan|NaN|NAN)")


def resolve(word: str) -> str | int | float | bool | None:
    """The value of an unquoted word.

    ValueError, in words for a builder, for a number that is not finite or too large to mean anything.
    """
    if word in _WORDS:
        return _WORDS[word]
    if word[0] not in "+-.0123456789":
        return word
    if _NOT_FINITE.fullmatch(word):
        raise ValueError(f"{word} is no number to build with: write a finite one")
    if _FLOAT.fullmatch(word):
        number = float(word)
        if not abs(number) <= LARGEST_NUMBER or not math.isfinite(number):
            raise ValueError(f"{_shortened(word)} is too large: at most {LARGEST_NUMBER:.0f}, either sign")
        return int(word) if _DECIMAL.fullmatch(word) else number
    if _BASED.fullmatch(word):
        if len(word) > 8:
            raise ValueError(f"{_shortened(word)} is too large: at most {LARGEST_NUMBER:.0f}")
        return int(word, 0)
    return word


def _shortened(word: str) -> str:
    return word if len(word) <= 24 else f"{word[:20]}... ({len(word)} characters)"
