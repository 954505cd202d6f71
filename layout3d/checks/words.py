"""Names, places and hints as findings word them."""

from __future__ import annotations

import numpy as np

from layout3d.checks.items import Item
from layout3d.kernels.measure import Measured
from layout3d.layout import Layout
from layout3d.words import mm, rounded_up
from shapes.pose import Vec3, as_vec3

#: Longer moves are left unsaid; results still have their length [mm].
LONGEST_ADVICE_MM = 60.0


def name_of(item: Item) -> str:
    """An owner and its solid: "gpu (backplate)", a tube by its name alone."""
    return f"tube {item.owner}" if item.kind == "tube" else f"{item.owner} ({item.solid})"


def midpoint(measured: Measured) -> Vec3 | None:
    """Midway between the nearest points found, the place a finding names."""
    if measured.point_a is None or measured.point_b is None:
        return None
    return as_vec3((np.asarray(measured.point_a) + np.asarray(measured.point_b)) / 2.0)


def hint_words(item: Item, distance: float | None, layout: Layout) -> str | None:
    """What can be said of a fitting or a soft tube before anything is tried; None for all else.

    A fitting stays on its port and a soft tube finds its own way. Legal changes, each tried, are
    found by ``layout3d.remedies``.
    """
    if item.kind == "tube" and _is_soft(item.owner, layout):
        return "soft tube finds its own way: move or turn what it ends on, use other ports or another length"
    if item.kind == "fitting" and distance is not None and distance <= LONGEST_ADVICE_MM:
        return f"{mm(rounded_up(distance))} are missing: take a smaller fitting or another port"
    return None


def _is_soft(tube: str, layout: Layout) -> bool:
    return layout.scene.tubings[layout.scene.tubes[tube].tubing].kind == "soft"


def where_of(owner: str, layout: Layout) -> str:
    """The scene line an owner is written at; a fitting's is its tube's."""
    if owner in layout.parts and (tube := layout.parts[owner].tube) is not None:
        return layout.scene.where("tubes", tube, "fittings")
    section = "parts" if owner in layout.scene.parts else "tubes"
    return layout.scene.where(section, owner)
