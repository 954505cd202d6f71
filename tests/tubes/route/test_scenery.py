"""What a scene's tube must keep clear of, and that what is found passes the checker."""

import dataclasses

import pytest

from layout3d.build import build
from layout3d.checks.check import check
from layout3d.scene.reader import parse_scene
from layout3d.tubes.request import RouteRequest
from layout3d.tubes.route.scenery import scenery

SCENE = """
layout3d: 1
title: A wall between
tubings:
  rigid14: {kind: rigid, outside: 14, inside: 10, bend_radius: 36, end_straight: 20, between_bends: 14}
parts:
  left: {shape: custom, at: [0, 0, 0], solids: [{box: [40, 40, 20], at: [0, 0, -10]}],
         ports: {out: {at: [0, 0, 0], facing: roof, thread: G1/4}}}
  right: {shape: custom, at: [200, 0, 0], solids: [{box: [40, 40, 20], at: [0, 0, -10]}],
          ports: {in: {at: [0, 0, 0], facing: roof, thread: G1/4}}}
  wall: {shape: custom, at: [100, 0, 0], gap: 8, solids: [{box: [10, 3000, 120], at: [0, 0, 60]}]}
  side: {shape: custom, at: [100, 60, 0], solids: [{box: [10, 10, 10]}]}
tubes:
  over: {tubing: rigid14, from: left.out, to: right.in, fittings: [none, none], path: auto, most_bends: 2}
  under: {tubing: rigid14, from: left.out, to: right.in, fittings: [none, none], path: auto, touches: [side]}
"""


@pytest.fixture(scope="module")
def layout():
    scene = parse_scene(SCENE, "wall.yaml")
    return build(dataclasses.replace(scene, tubes={"over": scene.tubes["over"]}))


def _request(layout, **changes) -> RouteRequest:
    tube = layout.tubes[0]
    values = {
        "name": "over",
        "tubing": layout.scene.tubings["rigid14"],
        "mouths": tube.mouths,
        "near": tube.near,
        "angles": (45.0, 90.0),
        "directions": "case",
        "bend_cost": 40.0,
        "most_bends": 4,
    }
    return RouteRequest(**(values | changes))


def test_each_solid_asks_for_its_own_gap(layout):
    required = {h.name: h.required_mm for h in scenery(layout, _request(layout)).hindrances}
    assert required == {"left": 3.0, "right": 3.0, "wall": 8.0, "side": 3.0}


def test_the_tubes_own_gap_and_what_it_may_touch(layout):
    asked = _request(layout, gap=5.0, touches=("side",))
    seen = scenery(layout, asked)
    assert {h.name: h.required_mm for h in seen.hindrances} == {
        "left": 5.0,
        "right": 5.0,
        "wall": 8.0,
        "side": 0.0,
    }
    assert seen.self_gap_mm == 5.0


def test_what_the_ends_are_near_to(layout):
    near = {h.name: h.near for h in scenery(layout, _request(layout)).hindrances}
    assert near == {
        "left": (True, False),
        "right": (False, True),
        "wall": (False, False),
        "side": (False, False),
    }


def test_a_tube_laid_before_is_in_the_way_of_the_next(layout):
    names = [h.name for h in scenery(layout, _request(layout, name="other")).hindrances]
    assert names[-1] == "over"
    assert "over" not in [h.name for h in scenery(layout, _request(layout)).hindrances]


def test_the_run_found_keeps_the_walls_own_gap_and_checks_clear(layout):
    tube = layout.tubes[0]
    assert tube.corners[0][2] == pytest.approx(120.0 + 8.0 + 7.0, abs=0.06)
    assert not [f for f in check(layout).findings if "over" in f.parts and f.severity == "error"]
