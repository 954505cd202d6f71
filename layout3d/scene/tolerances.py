"""What a scene's author knows of its lengths: kept by key path beside the frozen scene."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True, slots=True)
class Tolerance:
    """Hard bounds of one written length: it lies from ``nominal - below`` to ``nominal + above`` [mm]."""

    nominal: float
    below: float
    above: float


@dataclass(frozen=True, slots=True, eq=False)
class Tolerances:
    """The lengths of a scene that carry a tolerance, and what it takes to read it with others.

    terms : ("parts", "left", "at", 0) -> its bounds; one written length is one unknown, however many
        parts it stands for (``count:``)
    values : the file's plain values, its ``use:`` spelled out
    folder : the scene's
    """

    terms: Mapping[tuple[str | int, ...], Tolerance]
    values: Mapping[str, object]
    folder: Path
