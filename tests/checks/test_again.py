"""A check that goes on from the last one finds exactly what a check from nothing finds."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from layout3d.build import build
from layout3d.checks.again import Again
from layout3d.checks.clearance import clearance
from layout3d.checks.items import items_of
from layout3d.layout import Layout
from layout3d.scene.reader import read_scene

SCENE = Path(__file__).parents[2] / "scenes" / "editing_tower.yaml"
TOWER = build(read_scene(SCENE))

way = st.one_of(st.just(0.0), st.integers(-40, 40).map(float), st.floats(-5.0, 5.0))
steps = st.lists(st.tuples(st.sampled_from(sorted(TOWER.parts)), way, way, way), min_size=1, max_size=3)


def moved(layout: Layout, name: str, by: tuple[float, float, float]) -> Layout:
    part = layout.parts[name]
    there = replace(part, part2scene=part.part2scene.shifted(np.array(by)))
    return replace(layout, parts={**layout.parts, name: there})


@settings(max_examples=5, deadline=None, suppress_health_check=list(HealthCheck))
@given(steps)
def test_step_by_step_as_from_nothing(moves: list[tuple[str, float, float, float]]) -> None:
    again, layout = Again(), TOWER
    clearance(layout, items_of(layout), again.measure)
    for name, *by in moves:
        layout = moved(layout, name, tuple(by))
        items = items_of(layout)
        assert clearance(layout, items, again.measure) == clearance(layout, items)


def test_a_scene_read_again_has_nothing_to_measure() -> None:
    again = Again()
    clearance(TOWER, items_of(TOWER), again.measure)
    assert again.fresh > 50
    fresh = build(read_scene(SCENE))
    clearance(fresh, items_of(fresh), again.measure)
    assert again.fresh == 0


def test_only_pairs_of_the_moved_part_are_measured() -> None:
    again = Again()
    whole = clearance(TOWER, items_of(TOWER), again.measure)
    for name in list(TOWER.parts)[::9]:
        layout = moved(TOWER, name, (0.0, 0.0, 0.25))
        again = Again()
        clearance(TOWER, items_of(TOWER), again.measure)
        clearance(layout, items_of(layout), again.measure)
        assert again.fresh < whole.pairs_measured
