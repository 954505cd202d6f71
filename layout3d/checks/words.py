"""Names, lengths and moves as findings word them."""

from __future__ import annotations

import numpy as np

from layout3d.checks.items import Item
from layout3d.kernels.measure import Measured
from layout3d.layout import Layout, as_vec3
from shapes.pose import DIRECTIONS, Vec3


def millimetres(value: float) -> str:
    """A length for people: two decimals, more only where it would read as nothing."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return f"{text} mm" if text not in ("0", "-0") or value == 0.0 else f"{value:.2g} mm"


def name_of(item: Item) -> str:
    """An owner and its solid: "gpu (backplate)", a tube by its name alone."""
    return f"tube {item.owner}" if item.kind == "tube" else f"{item.owner} ({item.solid})"


def direction_words(direction: Vec3) -> str:
    """ "toward the front", or the vector where no single word is meant."""
    for word, vector in DIRECTIONS.items():
        if all(abs(a - b) < 1e-6 for a, b in zip(direction, vector, strict=True)):
            return f"toward the {word}"
    shown = ", ".join(f"{value:.3f}" for value in direction)
    return f"along [{shown}]"


def midpoint(measured: Measured) -> Vec3 | None:
    """Midway between the nearest points found, the place a finding names."""
    if measured.point_a is None or measured.point_b is None:
        return None
    return as_vec3((np.asarray(measured.point_a) + np.asarray(measured.point_b)) / 2.0)


def move_words(name: str, direction: Vec3, distance: float) -> str:
    """A tried move as advice; rounded up so that it still clears."""
    up = -(-distance * 100.0 // 1.0) / 100.0
    return f"move {name} {millimetres(up)} {direction_words(direction)}"


def where_of(owner: str, layout: Layout) -> str:
    """The scene line an owner is written at; a fitting's is its tube's."""
    if owner in layout.parts and (tube := layout.parts[owner].tube) is not None:
        return layout.scene.where("tubes", tube, "fittings")
    section = "parts" if owner in layout.scene.parts else "tubes"
    return layout.scene.where(section, owner)
