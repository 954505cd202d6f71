"""Orders of assembly known beforehand: boxes in a tray, a drawer, a bolt, parts hooked into each other."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from types import MappingProxyType

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layout3d.assembly.sequence import Assembly, assembly_of
from layout3d.build import build
from layout3d.layout import Layout
from layout3d.scene.reader import read_scene
from shapes.pose import DIRECTIONS
from tests.checks.scenes import layout_of

#: A box of sheet 100 mm wide inside, open to the roof; its lid is a solid of its own.
TRAY = """\
tray:
  shape: custom
  solids:
    - {box: [104, 104, 2], at: [0, 0, -1], name: bottom}
    - {box: [2, 104, 100], at: [-51, 0, 50], name: rear}
    - {box: [2, 104, 100], at: [51, 0, 50], name: front}
    - {box: [100, 2, 100], at: [0, -51, 50], name: window}
    - {box: [100, 2, 100], at: [0, 51, 50], name: back}
    - {box: [104, 104, 2], at: [0, 0, 101], name: lid}
"""


def cube(name: str, size: float, x: float, y: float, z: float) -> str:
    return f"{name}: {{shape: custom, at: [{x}, {y}, {z}], solids: [{{box: [{size}, {size}, {size}]}}]}}\n"


def order(parts: str, **lids: str) -> Assembly:
    """The assembly of parts in the tray, whose named solids come off toward a direction."""
    return assembly_of(with_lids(layout_of(parts), **lids))


def with_lids(layout: Layout, **lids: str) -> Layout:
    tray = layout.parts["tray"]
    removals = MappingProxyType({name: DIRECTIONS[word] for name, word in lids.items()})
    opened = replace(tray, part=replace(tray.part, removals=removals))
    return replace(layout, parts=MappingProxyType({**layout.parts, "tray": opened}))


def names(assembly: Assembly) -> list[str]:
    return [name for step in assembly.steps for name in step.names]


def test_what_lies_below_goes_in_first_and_the_lid_last():
    found = order(TRAY + cube("upper", 80, 0, 0, 60) + cube("lower", 10, 0, 0, 5), lid="roof")
    assert names(found) == ["lower", "upper", "tray.lid"]
    assert found.stuck == ()
    assert [step.legs[0].way for step in found.steps] == [DIRECTIONS["roof"]] * 3


def test_without_a_lid_that_comes_off_nothing_gets_in():
    found = order(TRAY + cube("inner", 20, 0, 0, 30), window="window", lid="roof")
    assert set(names(found)) == {"inner", "tray.lid", "tray.window"}
    closed = order(TRAY + cube("inner", 20, 0, 0, 30), rear="floor")
    assert [stuck.name for stuck in closed.stuck] == ["tray.rear"]
    assert closed.waiting == ("inner",)


def test_a_flush_cube_slides_out_between_two_walls():
    found = order(TRAY + cube("exact", 100, 0, 0, 50), lid="roof")
    assert names(found) == ["exact", "tray.lid"]
    too_wide = order(TRAY + cube("wide", 100.01, 0, 0, 50.1), lid="roof")
    assert [stuck.name for stuck in too_wide.stuck] == ["wide"]


def test_under_a_ledge_a_part_goes_aside_first():
    held = TRAY.replace("    - {box: [104, 104, 2], at: [0, 0, 101], name: lid}", LEDGE)
    found = order(held + cube("inner", 30, -30, 0, 15), lid="roof")
    (step,) = [step for step in found.steps if step.names == ("inner",)]
    assert [leg.way for leg in step.legs] == [DIRECTIONS["front"], DIRECTIONS["roof"]]
    # From -30 to past the ledge's end at 0, with half the cube's 30: 45 mm, and room up to the wall at 50.
    assert 45.0 <= (step.legs[0].far or 0.0) <= 65.0


LEDGE = """\
    - {box: [50, 100, 10], at: [-25, 0, 60], name: ledge}
    - {box: [104, 104, 2], at: [0, 0, 101], name: lid}"""

HOOKS = """\
one:
  shape: custom
  solids:
    - {box: [60, 10, 10], at: [0, 0, 0]}
    - {box: [10, 10, 40], at: [-25, 0, 25]}
    - {box: [60, 10, 10], at: [0, 0, 50]}
    - {box: [10, 10, 40], at: [25, 0, 25]}
two:
  shape: custom
  solids:
    - {box: [10, 60, 10], at: [0, 0, 25]}
    - {box: [10, 10, 60], at: [0, 25, 60]}
    - {box: [10, 60, 10], at: [0, 0, 95]}
    - {box: [10, 10, 60], at: [0, -25, 60]}
"""


def test_two_links_of_a_chain_never_come_apart():
    found = assembly_of(layout_of(HOOKS + cube("free", 10, 300, 0, 0)))
    assert names(found) == ["free"]
    assert [stuck.name for stuck in found.stuck] == ["one", "two"]
    for stuck in found.stuck:
        assert all(by for _, by in stuck.blocked_by)


def test_a_fitting_is_screwed_in_before_its_tube_is_set():
    post = (
        "{name}: {{shape: custom, at: [{x}, 0, 0], solids: [{{box: [40, 40, 20], at: [0, 0, 10]}}],"
        " ports: {{out: {{at: [0, 0, 20], facing: roof, thread: G1/4}}}}}}\n"
    )
    parts = post.format(name="left", x=0) + post.format(name="right", x=200)
    tube = (
        "over: {tubing: rigid14, from: left.out, to: right.out, path: {legs: [[roof, 60], front, to]}, "
        "fittings: [{shape: rigid_fitting}, {shape: rigid_fitting}]}"
    )
    found = assembly_of(layout_of(parts, tube))
    assert names(found) == ["left", "right", "over.from_fitting", "over.to_fitting", "over"]
    screwed = [step for step in found.steps if step.kind == "fitting"]
    assert all(step.legs[0].way == DIRECTIONS["roof"] for step in screwed)


places = st.tuples(*[st.integers(0, 3)] * 3)


@settings(max_examples=25, deadline=None)
@given(st.sets(places, min_size=1, max_size=8))
def test_a_pile_of_cubes_always_has_an_order_and_nobody_waits_for_a_later_one(cells):
    """Cubes on a grid in an open tray: from the roof one column after the other comes off."""
    cubes = {f"c{x}{y}{z}": (x, y, z) for x, y, z in cells}
    parts = TRAY + "".join(
        cube(name, 20, 25 * x - 37.5, 25 * y - 37.5, 25 * z + 12.5) for name, (x, y, z) in cubes.items()
    )
    found = order(parts, lid="roof")
    assert found.stuck == ()
    assert sorted(names(found)) == sorted([*cubes, "tray.lid"])
    done: list[str] = []
    for step in found.steps[:-1]:
        (name,) = step.names
        x, y, z = cubes[name]
        if step.legs == step.legs[:1] and step.legs[0].way == DIRECTIONS["roof"]:
            assert not any(cubes[other][:2] == (x, y) and cubes[other][2] > z for other in done), (
                f"{name} comes from above although {done} are in place"
            )
        done.append(name)


@pytest.mark.parametrize("shift", [0.0, 17.3])
def test_where_the_scene_stands_changes_nothing(shift):
    def parts(by: float) -> str:
        tray = TRAY.replace("shape: custom\n", f"shape: custom\n  at: [{by}, {-by}, {by}]\n")
        return tray + cube("upper", 80, by, -by, 60 + by) + cube("lower", 10, by, -by, 5 + by)

    here, there = (order(parts(by), lid="roof") for by in (0.0, shift))
    assert here == there


def test_the_shipped_tower_has_an_order_a_builder_would_follow():
    """Board before card, card before its tubes, the side panels last (common practice, no source)."""
    scene = read_scene(Path(__file__).parents[2] / "scenes" / "editing_tower.yaml")
    found = assembly_of(build(scene))
    assert found.stuck == ()
    order = names(found)
    assert sorted(order[-2:]) == ["case.tray_panel", "case.window_panel"]
    for earlier, later in (
        ("board", "gpu"),
        ("board", "cpu_block"),
        ("gpu", "gpu_cpu"),
        ("pump", "reservoir"),
    ):
        assert order.index(earlier) < order.index(later)
