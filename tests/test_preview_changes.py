"""Before and after: what differs between two layouts, each change told once."""

from __future__ import annotations

import math

from layout3d.checks.check import check
from layout3d.preview.changes import Change, changes
from tests.checks.scenes import box, layout_of

POSTS = (
    "left: {shape: custom, solids: [{box: [40, 40, 20]}], ports: {out: {at: [0, 0, 10], facing: roof}}}\n"
    "right: {shape: custom, at: [200, 0, 0], solids: [{box: [40, 40, 20]}],"
    " ports: {in: {at: [0, 0, 10], facing: roof}}}"
)
TUBE = (
    "over: {tubing: rigid14, from: left.out, to: right.in, fittings: [none, none],"
    " path: [[0, 0, 90], [200, 0, 90]]}"
)


def told(before: tuple[str, str], now: tuple[str, str]) -> tuple[Change, ...]:
    old, new = layout_of(*before), layout_of(*now)
    return changes(old, new, check(old), check(new))


def test_the_same_layout_has_no_changes():
    assert told((POSTS, TUBE), (POSTS, TUBE)) == ()


def test_a_part_that_comes_and_one_that_goes():
    extra = f"third: {box('[10, 20, 30]', '[0, 200, 0]')}"
    added = Change("added", ("third",), "custom, 10 x 20 x 30 mm")
    assert told((POSTS, ""), (f"{POSTS}\n{extra}", "")) == (added,)
    (removed,) = told((f"{POSTS}\n{extra}", ""), (POSTS, ""))
    assert (removed.kind, removed.names) == ("removed", ("third",))


def test_a_move_is_told_by_the_case_s_directions_and_a_tube_by_its_length():
    moved = POSTS.replace("at: [200, 0, 0]", "at: [230, 0, 0]")
    # Two straights of 80 mm up and down, 30 mm more across: the whole difference is the move.
    tube = TUBE.replace("[200, 0, 90]", "[230, 0, 90]")
    part, length = told((POSTS, TUBE), (moved, tube))
    assert part == Change("moved", ("right",), "30 mm toward the front")
    # Two 90 degree bends of radius 36 save 2 (2 - pi / 2) 36 mm of the corners' way.
    path = 80 + 200 + 80 - 2 * (2 - math.pi / 2) * 36
    assert length.names == ("over",)
    assert length.told == f"cut to {path:.1f} mm, now cut to {path + 30:.1f} mm: 30.0 mm longer"


def test_a_turn_and_another_size():
    turned = POSTS.replace("at: [200, 0, 0]", "at: [200, 0, 0], rotate: [0, 0, 90]")
    assert told((POSTS, ""), (turned, "")) == (Change("moved", ("right",), "turned"),)
    larger = POSTS.replace("[40, 40, 20]", "[44, 40, 20]", 1)
    (change,) = told((POSTS, ""), (larger, ""))
    assert change == Change("changed", ("left",), "40 x 40 x 20 mm, now 44 x 40 x 20 mm")


def test_findings_that_arise_and_are_mended():
    near = f"{POSTS}\nthird: {box('[10, 10, 10]', '[20, 0, 0]')}"
    far = f"{POSTS}\nthird: {box('[10, 10, 10]', '[60, 0, 0]')}"
    kinds = [(change.kind, change.names) for change in told((far, ""), (near, ""))]
    assert kinds == [("moved", ("third",)), ("arisen", ("left", "third"))]
    kinds = [(change.kind, change.names) for change in told((near, ""), (far, ""))]
    assert kinds == [("moved", ("third",)), ("mended", ("left", "third"))]
