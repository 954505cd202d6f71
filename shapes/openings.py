"""Whether the openings of a plate go together: clear of each other, and something left of the sheet."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import combinations

from shapes.primitives import Opening, Plate, Point2, RectOpening, RoundOpening

_LEAST_WEB_MM = 1e-6


def check_openings(plate: Plate, names: Sequence[str] = ()) -> Plate:
    """The same plate. ValueError where openings run into each other, lie beside the sheet or swallow it.

    names : what the openings are, in their order, for the message; numbered if left out
    """
    called = names or [f"opening {number}" for number in range(1, len(plate.openings) + 1)]
    sheet = RectOpening((0.0, 0.0), plate.size)
    size = "{:g} x {:g} mm".format(*plate.size)
    for name, opening in zip(called, plate.openings, strict=True):
        if not _web(sheet, opening) < 0.0:
            at = "[{:g}, {:g}]".format(*opening.at)
            raise ValueError(f"{name} at {at} lies beside the plate of {size}")
        if _swallows(opening, plate.size):
            raise ValueError(f"{name} leaves nothing of the plate of {size}")
    for (first, one), (second, other) in combinations(zip(called, plate.openings, strict=True), 2):
        if (web := _web(one, other)) < _LEAST_WEB_MM:
            raise ValueError(
                f"{first} and {second} run into each other by {max(0.0, -web):.3g} mm; "
                "make one opening of them or keep a web between"
            )
    return plate


def _swallows(opening: Opening, size: Point2) -> bool:
    x, y = (abs(at) + whole / 2 for at, whole in zip(opening.at, size, strict=True))
    if isinstance(opening, RectOpening):
        return x <= opening.size[0] / 2 and y <= opening.size[1] / 2
    return math.hypot(x, y) <= opening.diameter / 2


def _web(one: Opening, other: Opening) -> float:
    """Width of the web between two openings [mm]; 0 or less where they meet."""
    apart = [abs(a - b) for a, b in zip(one.at, other.at, strict=True)]
    sizes = [opening.size if isinstance(opening, RectOpening) else (0.0, 0.0) for opening in (one, other)]
    radii = sum(opening.diameter / 2 for opening in (one, other) if isinstance(opening, RoundOpening))
    dx, dy = (gap - (a + b) / 2 for gap, a, b in zip(apart, *sizes, strict=True))
    cores = max(dx, dy) if max(dx, dy) <= 0.0 else math.hypot(max(dx, 0.0), max(dy, 0.0))
    return cores - radii
