"""Scenes with unknown lengths, and other lengths within their tolerances written in their place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from layout3d.build import build
from layout3d.checks.items import items_of
from layout3d.kernels.bodies import Body, body
from layout3d.kernels.measure import measure
from layout3d.layout import Layout
from layout3d.scene.reader import parse_scene, scene_with
from layout3d.tolerance.study import Study, study

Offsets = npt.NDArray[np.float64]


def studied(layout: Layout) -> Study:
    """The worst cases of a layout with tolerances."""
    found = study(layout, items_of(layout))
    assert found is not None
    return found


def layout_at(layout: Layout, looked: Study, offset: Offsets) -> Layout:
    """The scene built anew with these lengths, without its tubes."""
    lengths = looked.unknowns.nominal + offset
    scene = scene_with(layout.scene, dict(zip(looked.unknowns.keys, lengths.tolist(), strict=True)))
    return build(replace(scene, tubes={}))


def solid_of(layout: Layout, owner: str, solid: str) -> Body:
    """One solid of a part, where it stands."""
    return next(item.body for item in items_of(layout) if (item.owner, item.solid) == (owner, solid))


def draws(looked: Study, count: int, seed: int = 1) -> Offsets:
    """Offsets drawn evenly, then corners of the box (up to 16)."""
    random = np.random.default_rng(seed)
    low, high = looked.unknowns.low, looked.unknowns.high
    inside = random.uniform(low, high, (count, len(low)))
    corners = np.array(
        [
            [high[n] if corner >> n & 1 else low[n] for n in range(len(low))]
            for corner in range(min(2 ** len(low), 16))
        ]
    )
    return np.concatenate([inside, corners])


def parsed(parts: Sequence[str], more: str = "") -> Layout:
    """A layout of parts as "name: {...}" lines."""
    lines = "\n".join(f"  {part}" for part in parts)
    return build(parse_scene(f"layout3d: 1\n{more}parts:\n{lines}\n", "test.yaml"))


__all__ = ["body", "draws", "layout_at", "measure", "parsed", "solid_of", "studied"]
