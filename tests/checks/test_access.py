"""Fingers round collars and caps: pockets worked out by hand, properties, OCCT as judge."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layout3d.build import build
from layout3d.checks.access import _ALL_DEG, FINGER_MM, _grips, _Standing, access_findings
from layout3d.checks.check import check
from layout3d.checks.items import items_of
from layout3d.errors import SceneErrors
from layout3d.findings import Finding
from layout3d.layout import Layout
from layout3d.realise import brep
from layout3d.scene.reader import parse_scene
from shapes.part import Solid
from shapes.pose import Pose
from shapes.primitives import Box

#: Radius of the default collar of 14 mm tube.
COLLAR = 11.0


def scene(
    walls: str, tube: str = "", rotate: str = "[0, 0, 0]", fitting: str = "{shape: rigid_fitting}"
) -> Layout:
    """One collar 4 to 18 mm above a plate that carries ``walls``, far from its tube's other end."""
    return build(
        parse_scene(
            f"""layout3d: 1
tubings: {{rigid14: {{kind: rigid, outside: 14, inside: 10, bend_radius: 36}}}}
parts:
  block:
    shape: custom
    rotate: {rotate}
    solids: [{{box: [300, 300, 20], at: [0, 0, -10]}}, {walls}]
    ports: {{out: {{at: [0, 0, 0], facing: roof, thread: G1/4, depth: 6}}}}
  right:
    shape: custom
    at: [500, 0, 0]
    solids: []
    ports: {{in: {{at: [0, 0, 0], facing: roof}}}}
tubes:
  over:
    {{tubing: rigid14, from: block.out, to: right.in, fittings: [{fitting}, none],
      path: [[0, 0, 90], [500, 0, 90]], {tube}}}
""",
            "a.yaml",
        )
    )


def found(layout: Layout) -> list[Finding]:
    return list(access_findings(layout, items_of(layout)))


def pocket(half_x: float, half_y: float) -> str:
    """Four walls 40 mm high round the port, their inner faces this far from its axis."""
    return ", ".join(
        f"{{box: [{size[0]}, {size[1]}, 40], at: [{at[0]}, {at[1]}, 20]}}"
        for size, at in (
            ((10.0, 300.0), (half_x + 5.0, 0.0)),
            ((10.0, 300.0), (-half_x - 5.0, 0.0)),
            ((300.0, 10.0), (0.0, half_y + 5.0)),
            ((300.0, 10.0), (0.0, -half_y - 5.0)),
        )
    )


#: At 45 degrees a tip's outer corners lie (r + out + across / 2) / sqrt 2 from both middle lines.
DIAGONAL = (COLLAR + FINGER_MM[0] + FINGER_MM[1] / 2.0) / math.sqrt(2.0)


@pytest.mark.parametrize(("half", "reached"), [(DIAGONAL + 0.01, True), (DIAGONAL - 0.01, False)])
def test_a_square_pocket_is_wide_enough_across_its_corners(half: float, reached: bool) -> None:
    assert (found(scene(pocket(half, half))) == []) == reached


@pytest.mark.parametrize(
    ("half_x", "half_y", "reached"),
    [
        (100.0, COLLAR + 0.1, True),  # along a slot, fingers fit though nothing fits across it
        (COLLAR + FINGER_MM[0] + 0.01, COLLAR + 0.1, True),
        (COLLAR + FINGER_MM[0] - 0.01, COLLAR + 0.1, False),
    ],
)
def test_a_slot_is_reached_along_it(half_x: float, half_y: float, reached: bool) -> None:
    assert FINGER_MM[1] / 2.0 < COLLAR
    assert (found(scene(pocket(half_x, half_y))) == []) == reached


def test_what_is_told() -> None:
    (told,) = found(scene(pocket(15.0, 15.0)))
    assert (told.rule, told.severity, told.parts) == ("hand-reach", "warning", ("over.from_fitting", "block"))
    assert told.measured_mm is not None
    assert -FINGER_MM[0] < told.measured_mm < 0.0
    assert "tubes off" in told.message


def test_one_may_say_that_nobody_need_reach_it() -> None:
    assert found(scene(pocket(15.0, 15.0), "service: ignore")) == []
    with pytest.raises(SceneErrors, match="check"):
        scene(pocket(15.0, 15.0), "service: maybe")


def test_the_fitting_s_own_walls_are_in_the_way_too() -> None:
    layout = scene(pocket(200.0, 200.0))
    walls = tuple(
        Solid(f"wall_{n}", Box((200.0, 200.0, 60.0)), Pose.at((x, y, 0.0)))
        for n, (x, y) in enumerate(((112.0, 0.0), (-112.0, 0.0), (0.0, 112.0), (0.0, -112.0)))
    )
    fitting = layout.parts["over.from_fitting"]
    walled = replace(fitting, part=replace(fitting.part, solids=(*fitting.part.solids, *walls)))
    (told,) = found(replace(layout, parts={**layout.parts, fitting.name: walled}))
    assert told.parts == (fitting.name,)


def test_a_barb_s_clamp_is_no_grip() -> None:
    parts = "{a: {shape: barb_fitting}, b: {shape: soft_fitting}, c: {shape: tube_reservoir}}"
    part = parse_scene(f"layout3d: 1\nparts: {parts}", "g.yaml").parts
    assert [part[name].part.grips for name in "abc"] == [(), ("collar",), ("fill_cap",)]


def test_panels_that_come_off_are_not_in_the_way() -> None:
    case = """layout3d: 1
parts:
  case: {shape: case_tower}
  tank: {shape: tube_reservoir, at: [300, %s, 200], touches: [case]}
"""
    layout = build(parse_scene(case % 15, "c.yaml"))
    panels = layout.parts["case"].part.removals
    assert panels
    assert found(layout) == []


walls = st.lists(
    st.tuples(
        st.floats(-40, 40),
        st.floats(-40, 40),
        st.floats(5, 30),
        st.floats(5, 30),
        st.sampled_from(["box", "cylinder"]),
    ),
    min_size=1,
    max_size=5,
)


def written(drawn: list[tuple[float, float, float, float, str]]) -> str:
    made = []
    for x, y, one, other, kind in drawn:
        at = f"at: [{x:.3f}, {y:.3f}, 20]"
        if kind == "box":
            made.append(f"{{box: [{one:.3f}, {other:.3f}, 40], {at}}}")
        else:
            made.append(f"{{cylinder: {{diameter: {one:.3f}, length: 40}}, {at}}}")
    return ", ".join(made)


@settings(max_examples=25, deadline=None)
@given(walls)
def test_one_obstacle_more_never_frees_a_grip(drawn: list[tuple[float, float, float, float, str]]) -> None:
    if found(scene(written(drawn[:-1]) or pocket(200.0, 200.0))):
        assert found(scene(written(drawn)))


@settings(max_examples=15, deadline=None)
@given(walls, st.sampled_from(["[90, 0, 0]", "[0, 90, 0]", "[0, 0, 90]", "[17, 31, 49]"]))
def test_how_the_build_lies_changes_nothing(
    drawn: list[tuple[float, float, float, float, str]], rotate: str
) -> None:
    one, other = (found(scene(written(drawn), rotate=turn)) for turn in ("[0, 0, 0]", rotate))
    assert len(one) == len(other)


@settings(max_examples=15, deadline=None)
@given(walls)
def test_where_fingers_are_said_to_fit_occt_finds_no_shared_room(
    drawn: list[tuple[float, float, float, float, str]],
) -> None:
    layout = scene(written(drawn))
    items = items_of(layout)
    (grip,) = _grips(layout, items)
    others = [item for item in items if item.kind == "part"]
    standing = _Standing(others)
    bodies = [brep.solid(item.primitive, item.solid2scene, filled=True) for item in others]
    for turn in _ALL_DEG[:6]:
        shared = max(
            abs(brep.solid(tip.primitive, tip.solid2scene).intersect(body).Volume())
            for tip in grip.fingers(turn)
            for body in bodies
        )
        if standing.free(grip, turn):
            assert shared < 1e-3
        elif shared == 0.0:
            # A no is no proof, but nearly always right.
            assert standing.deepest(grip, turn)[1].gap_mm < 1e-3


def test_fingers_stand_opposite_each_other_against_the_grip() -> None:
    layout = scene(pocket(200.0, 200.0))
    (grip,) = _grips(layout, items_of(layout))
    for turn in (0.0, 35.0, 90.0):
        one, other = grip.fingers(turn)
        apart = np.linalg.norm(one.solid2scene.origin - other.solid2scene.origin)
        assert apart == pytest.approx(2 * COLLAR + FINGER_MM[0])
        assert one.low[2] >= 4.0 - 1e-9  # beside the collar only, not beside the base under it


def test_a_check_tells_it_as_a_warning() -> None:
    rules = {finding.rule: finding.severity for finding in check(scene(pocket(15.0, 15.0))).findings}
    assert rules["hand-reach"] == "warning"
