"""Turning a whole build, its given paths with it, changes no verdict and no margin."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layout3d.build import build
from layout3d.checks.broad import near_pairs
from layout3d.checks.check import check
from layout3d.checks.items import Gaps, items_of
from layout3d.kernels.measure import measure_pairs
from layout3d.layout import Layout
from layout3d.scene.model import Scene
from layout3d.scene.paths import CornersPath, StraightPath
from layout3d.scene.reader import read_scene
from shapes.pose import Pose, as_vec3

SCENES = Path(__file__).parents[2] / "scenes"


def turned(layout: Layout, pose: Pose, rotate: tuple[float, float, float]) -> Layout:
    """The same build, its case put at ``pose`` and every tube's corners turned with it."""
    scene: Scene = layout.scene
    case = replace(scene.parts["case"], at=as_vec3(pose.origin), rotate=rotate)
    tubes = {}
    for tube in layout.tubes:
        corners = tuple(as_vec3(pose.apply(np.array(corner))) for corner in tube.corners or ())
        tubes[tube.name] = replace(
            scene.tubes[tube.name], path=CornersPath(corners) if corners else StraightPath()
        )
    return build(replace(scene, parts={**scene.parts, "case": case}, tubes=tubes))


def margins(layout: Layout) -> dict[tuple[int, int], float]:
    """The distance of every near pair of solids of different owners, to full accuracy [mm]."""
    items, gaps = items_of(layout), Gaps.of(layout)
    near = near_pairs([item.body for item in items], gaps.widest).tolist()
    pairs = [(i, j) for i, j in near if items[i].owner != items[j].owner]
    bodies = [(items[i].body, items[j].body) for i, j in pairs]
    measured = measure_pairs(bodies, np.full(len(pairs), np.inf), stop_when_decided=False)
    return {pair: result.gap_mm for pair, result in zip(pairs, measured, strict=True)}


TOWER = build(read_scene(SCENES / "editing_tower.yaml"))
THERE = margins(TOWER)


@settings(max_examples=6, deadline=None)
@given(st.tuples(*[st.floats(-180, 180)] * 3), st.tuples(*[st.floats(-800, 800)] * 3))
def test_a_clear_tower_is_clear_however_it_lies(rotate, at) -> None:
    moved = turned(TOWER, Pose.at(at, rotate), rotate)
    assert check(moved).findings == ()
    here = margins(moved)
    # Boxes along other axes let other pairs through; those near in both have one distance.
    common = here.keys() & THERE.keys()
    assert len(common) > 100
    for pair in common:
        # What overlaps here does so by a joint: a thread in its port, a card's edge in its slot.
        if THERE[pair] > -1e-6:
            assert here[pair] == pytest.approx(THERE[pair], abs=2e-6), pair
    for before, after in zip(TOWER.tubes, moved.tubes, strict=True):
        assert after.path_mm == pytest.approx(before.path_mm, abs=1e-9)


@settings(max_examples=4, deadline=None)
@given(st.tuples(*[st.floats(-180, 180)] * 3))
def test_what_fouls_fouls_by_as_much(rotate) -> None:
    broken = build(read_scene(SCENES / "thick_radiator.yaml"))
    kept = {name: tube for name, tube in broken.scene.tubes.items() if name != "roof_reservoir"}
    broken = build(replace(broken.scene, tubes=kept))
    moved = turned(broken, Pose.at((50.0, -20.0, 10.0), rotate), rotate)
    there, here = check(broken).findings, check(moved).findings
    assert [(f.rule, f.severity, f.parts) for f in here] == [(f.rule, f.severity, f.parts) for f in there]
    for before, after in zip(there, here, strict=True):
        if before.depth_is != "bound":
            assert after.measured_mm == pytest.approx(before.measured_mm, abs=2e-6)
