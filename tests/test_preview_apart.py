"""Drawn apart: everything leaves the case along its own axis, and nothing lies in anything else."""

from __future__ import annotations

from itertools import combinations
from pathlib import Path

import numpy as np
import pytest

from layout3d.build import build
from layout3d.layout import Layout
from layout3d.preview.apart import apart_offsets
from layout3d.scene.reader import read_scene
from shapes.bounds import part_box
from tests.checks.scenes import layout_of

SCENES = Path(__file__).parent.parent / "scenes"


@pytest.fixture(scope="module", params=["editing_tower.yaml", "dual_card.yaml"])
def layout(request) -> Layout:
    return build(read_scene(SCENES / request.param))


def boxes(layout: Layout):
    offsets = apart_offsets(layout)
    return {
        name: tuple(corner + np.array(offsets[name]) for corner in part_box(part.part, part.part2scene))
        for name, part in layout.parts.items()
        if part.part.solids and part.tube is None
    }


def overlap(one, other) -> bool:
    """Closed boxes overlap when they do along every axis (separating axis theorem)."""
    return bool(np.all(one[0] < other[1] - 1e-6) and np.all(other[0] < one[1] - 1e-6))


def test_everything_fixed_to_the_case_leaves_its_box(layout: Layout):
    found = boxes(layout)
    case = found.pop("case")
    assert [name for name, box in found.items() if overlap(box, case)] == []


def test_nothing_drawn_apart_lies_in_anything_else(layout: Layout):
    found = boxes(layout)
    assert [(a, b) for a, b in combinations(found, 2) if overlap(found[a], found[b])] == []


def test_what_is_in_the_roof_goes_up_and_what_is_on_the_tray_comes_to_the_window():
    offsets = apart_offsets(build(read_scene(SCENES / "editing_tower.yaml")))
    roof, board = offsets["roof_radiator"], offsets["board"]
    assert roof[:2] == pytest.approx((0, 0), abs=1e-9)
    assert roof[2] > 0
    assert board[0::2] == pytest.approx((0, 0), abs=1e-9)
    assert board[1] < 0


def test_without_a_case_parts_stay():
    layout = layout_of("left: {shape: custom, solids: [{box: [40, 40, 20]}]}")
    assert apart_offsets(layout) == {"left": (0.0, 0.0, 0.0)}
