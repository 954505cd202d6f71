"""Stacks: the order of the layers alone places them; what cannot be ordered is refused in words."""

from __future__ import annotations

import re
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layout3d.build import build
from layout3d.checks.check import check
from layout3d.errors import Problem, SceneErrors
from layout3d.layout import Layout
from layout3d.scene.reader import parse_scene
from shapes.bounds import part_span
from shapes.pose import Pose, compose

CASE = "  box: {shape: case_tower}\n"


def scene(parts: str, stacks: str) -> str:
    return f"layout3d: 1\nparts:\n{CASE}{parts}stacks:\n{stacks}"


def built(parts: str, stacks: str) -> Layout:
    return build(parse_scene(scene(parts, stacks), "test.yaml"))


def problems(parts: str, stacks: str) -> list[Problem]:
    with pytest.raises(SceneErrors) as caught:
        built(parts, stacks)
    return list(caught.value.problems)


def roof(layout: Layout) -> Pose:
    """Origin in the roof's inner face, z into the case, x along the row."""
    return compose(layout.parts["box"].part.mounts["roof"].mount2part, layout.parts["box"].part2scene)


def heights(layout: Layout, name: str) -> tuple[float, float]:
    """Low and high end of a part above the roof's inner face; what is inside is below 0."""
    part, frame = layout.parts[name], roof(layout)
    low, high = part_span(part.part, part.part2scene, -frame.z_axis)
    plane = float(frame.origin @ -frame.z_axis)
    return low - plane, high - plane


def along(layout: Layout, name: str) -> float:
    """Where a part's origin lies along the row, from the mount's middle."""
    return float(roof(layout).inverse.apply(layout.parts[name].part2scene.origin)[0])


def wind(layout: Layout, fan: str) -> float:
    """The way the fan blows: 1 out of the case, -1 into it."""
    part = layout.parts[fan]
    return float(-roof(layout).z_axis @ part.part2scene.turn(part.part.mounts["outlet"].mount2part.z_axis))


LAYERS = {
    "radiator": (20.0, 90.0),
    "fan": (10.0, 40.0),
    "grille": (0.5, 5.0),
    "filter": (0.3, 15.0),
    "gasket": (0.3, 6.0),
    "shroud": (3.0, 60.0),
}


@st.composite
def orders(draw):
    """Layers (family, thickness) outside and inside of the sheet."""

    def some():
        families = draw(st.lists(st.sampled_from(sorted(LAYERS)), max_size=4))
        return [(family, draw(st.floats(*LAYERS[family]).map(lambda t: round(t, 2)))) for family in families]

    outside, inside = some(), some()
    return (outside, inside) if outside or inside else ([], [("radiator", 30.0)])


@settings(max_examples=150, deadline=None)
@given(orders(), st.sampled_from(["intake", "exhaust"]), st.sampled_from([0, 180]), st.floats(-10, 10))
def test_positions_are_the_sums_of_the_thicknesses(order, air, turn, slide):
    outside, inside = order
    parts, names = "", []
    for number, (family, thickness) in enumerate((*outside, *inside)):
        # Fans stand in threes, all else is one part for three fans.
        many = "count: 3" if family == "fan" else "fans: 3"
        thin = ", screw_depth: 1" if family == "radiator" else ""
        face = ", port_depth: 3" if family == "radiator" else ""
        parts += f"  p{number}: {{shape: {family}, {many}, thickness: {thickness}{thin}{face}}}\n"
        names.append(f"p{number}")
    written = [*names[: len(outside)], "panel", *names[len(outside) :]]
    stack = (
        f"  s: {{on: box.roof, turn: {turn}, slide: {slide!r}, air: {air}, order: [{', '.join(written)}]}}\n"
    )
    layout = built(parts, stack)

    def members(number: int) -> list[str]:
        return [name for name in layout.parts if name == f"p{number}" or name.startswith(f"p{number}_")]

    below = 0.0
    for number, (_, thickness) in enumerate(inside, start=len(outside)):
        for name in members(number):
            assert heights(layout, name) == pytest.approx((below - thickness, below), abs=1e-9)
        below -= thickness
    above = layout.parts["box"].part.mounts["roof"].sheet
    assert above > 0
    for number, (_, thickness) in reversed(list(enumerate(outside))):
        for name in members(number):
            assert heights(layout, name) == pytest.approx((above, above + thickness), abs=1e-9)
        above += thickness
    for number, (family, _) in enumerate((*outside, *inside)):
        middles = sorted(along(layout, name) for name in members(number))
        # Geometry of flush 120 mm frames: middles 120 apart.
        np.testing.assert_allclose(
            middles, [slide - 120, slide, slide + 120] if family == "fan" else [slide], atol=1e-9
        )
        if family == "fan":
            assert {wind(layout, name) for name in members(number)} == {1.0 if air == "exhaust" else -1.0}


def test_what_lies_on_each_other_may_touch_and_the_whole_is_clear():
    layout = built(
        "  grille: {shape: grille, fans: 3}\n  rad: {shape: radiator, fans: 3}\n"
        "  push: {shape: fan, count: 3}\n  pull: {shape: fan, count: 3}\n",
        "  s: {on: box.roof, air: exhaust, row: 120, order: [grille, panel, pull, rad, push]}\n",
    )
    assert [f.rule for f in check(layout).findings] == ["port-open"]
    joined = {frozenset((joint.first, joint.second)) for joint in layout.joints}
    for fans in ("push", "pull"):
        for number in (1, 2, 3):
            assert frozenset(("rad", f"{fans}_{number}")) in joined
        for pair in combinations([f"{fans}_{n}" for n in (1, 2, 3)], 2):
            assert frozenset(pair) in joined
    stack = layout.scene.stacks["s"]
    assert stack.layers == (
        ("grille",),
        ("pull_1", "pull_2", "pull_3"),
        ("rad",),
        ("push_1", "push_2", "push_3"),
    )
    assert (stack.mount, stack.panel, stack.air) == ("box.roof", 1, "exhaust")


def test_one_after_the_other_without_the_word_panel_all_inside():
    layout = built(RAD, "  s: {on: box.roof, order: [rad]}\n")
    assert heights(layout, "rad") == pytest.approx((-30, 0))


def test_a_flipped_radiator_shows_its_ports_to_the_other_side():
    ports = {}
    for item in ("rad", "{part: rad, flip: true}"):
        layout = built(
            "  rad: {shape: radiator, fans: 3}\n", f"  s: {{on: box.roof, order: [panel, {item}]}}\n"
        )
        ports[item] = float(layout.parts["rad"].port2scene("in").z_axis[2])
        assert heights(layout, "rad") == (-30, 0)
    assert list(ports.values()) == [-1, 1]


def test_spread_fans_take_the_radiators_pitch():
    # Secondary source, original not read: 140 mm fans with 20 mm between them have middles 144.5 apart.
    layout = built(
        "  rad: {shape: radiator, fans: 2, fan_size: 140, fan_pitch: 144.5}\n"
        "  fan: {shape: fan, size: 140, count: 2}\n",
        "  s: {on: box.roof, air: intake, order: [panel, fan, rad]}\n",
    )
    assert [along(layout, f"fan_{n}") for n in (1, 2)] == pytest.approx([-72.25, 72.25])
    assert along(layout, "rad") == pytest.approx(0.0)


RAD = "  rad: {shape: radiator, fans: 3}\n"
FAN = "  fan: {shape: fan, count: 3}\n"


@pytest.mark.parametrize(
    ("parts", "stack", "key", "message"),
    [
        (
            RAD,
            "on: box.roof, order: [panel, rod]",
            "s.order[1]",
            r"unknown part 'rod'; known: panel, box, rad",
        ),
        (
            RAD,
            "on: box.roof, order: [panel, rad, rad]",
            "s.order[2]",
            "rad stands in a stack already, line 6",
        ),
        (RAD, "on: box.roof, order: [panel, rad, panel]", "s.order[2]", "'panel' stands here twice"),
        (RAD, "on: box.roof, order: [panel]", "s.order", "only 'panel' stands here"),
        (RAD, "on: box.rof, order: [rad]", "s.on", "unknown mount 'rof' on 'box'; it has .*roof"),
        (RAD, "on: box.roof, row: 150, order: [rad]", "s.row", "unknown row '150'"),
        (RAD + FAN, "on: box.roof, order: [rad, fan]", "s.order[1]", "`air: intake` or `air: exhaust`"),
        (
            "  rad: {shape: radiator, fans: 3, at: [0, 0, 0]}\n",
            "on: box.roof, order: [rad]",
            "rad.at",
            "`at` and a stack both place rad",
        ),
        (
            RAD + "  psu: {shape: power_supply}\n",
            "on: box.roof, order: [rad, psu]",
            "s.order[1]",
            "no two fan faces",
        ),
        (
            RAD + "  fan: {shape: fan}\n",
            "on: box.roof, air: intake, order: [rad, fan]",
            "s.order[1]",
            r"rad has places for 3 fans and fan is one: write `count: 3`",
        ),
        (
            RAD + "  fan: {shape: fan, count: 4}\n",
            "on: box.roof, air: intake, order: [rad, fan]",
            "s.order[1]",
            "4 parts side by side, rad has room for 3",
        ),
        (
            "  rad: {shape: radiator, fans: 2}\n" + FAN,
            "on: box.roof, air: intake, order: [fan, rad]",
            "s.order[1]",
            "rad has 2 places for fans, the layer of fan_1 has 3 parts",
        ),
        (
            RAD + "  fan: {shape: fan, size: 140, count: 3}\n",
            "on: box.roof, air: intake, order: [rad, fan]",
            "s.order[1]",
            r"fan_1 on rad.b1: hole patterns differ: this part has 4 holes 124.5 x 124.5 mm apart, "
            r"the mount has 4 holes 105 x 105 mm apart",
        ),
        (RAD, "on: box.roof, slide: 60, order: [rad]", "s.slide", "slide 60 mm is beyond the slots"),
        (
            RAD + FAN,
            "on: box.roof, order: [rad]",
            "fan.count",
            "3 parts in one place: name fan in the `order`",
        ),
        (
            RAD + FAN + "  fan_2: {shape: fan, at: [0, 0, 900]}\n",
            "on: box.roof, air: intake, order: [rad, fan]",
            "fan.count",
            "`count` makes 'fan_2', and there is a part or tube of that name already",
        ),
        (RAD, "on: rad.a, order: [rad]", "rad", "rad -> rad: each is fixed to or measured off the next"),
        (RAD, "on: box.roof, order: [3]", "s.order[0]", "expected the name of a part, `panel`, a list"),
        (RAD, "on: box.roof, air: in, order: [rad]", "s.air", "intake or exhaust"),
    ],
)
def test_what_cannot_be_stacked_is_refused_where_it_is_written(parts, stack, key, message):
    found = problems(parts, f"  s: {{{stack}}}\n")
    keys = [problem.key for problem in found if re.search(message, problem.message)]
    assert keys, [str(problem) for problem in found]
    assert any(each.endswith(key) for each in keys), keys
    assert all(problem.line for problem in found)


def test_a_stack_needs_a_fan_mount():
    found = problems("  pump: {shape: pump}\n" + RAD, "  s: {on: pump.top, order: [rad]}\n")
    assert any("a stack hangs on a fan mount" in problem.message for problem in found)


def test_an_empty_section_is_no_fault():
    assert parse_scene("layout3d: 1\nparts: {}\nstacks:\n", "test.yaml").stacks == {}
