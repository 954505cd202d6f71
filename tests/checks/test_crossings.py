"""Which tubes are seen to cross from the window, by drawings one can make by hand."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layout3d.findings import Finding
from tests.checks.scenes import findings


def bars(y: float, x: float = 100.0, more: str = "") -> list[Finding]:
    """A level tube along x from 0 to 200, and an upright one at (x, y) from z = -100 to 100."""
    ends = {
        "left": ("[0, 0, 0]", "front"),
        "right": ("[200, 0, 0]", "rear"),
        "below": (f"[{x}, {y}, -100]", "roof"),
        "above": (f"[{x}, {y}, 100]", "floor"),
    }
    parts = "\n".join(
        f"{name}: {{shape: custom, at: {at}, solids: [], ports: {{p: {{at: [0, 0, 0], facing: {facing}}}}}}}"
        for name, (at, facing) in ends.items()
    )
    tubes = (
        "level: {tubing: rigid14, from: left.p, to: right.p, fittings: [none, none], path: straight}\n"
        "upright: {tubing: rigid14, from: below.p, to: above.p, fittings: [none, none], path: straight}"
    )
    return [f for f in findings(parts + more, tubes) if f.rule == "tube-crossing"]


def test_tubes_all_but_parallel_are_not_divided_by_next_to_nothing():
    """The least turn a number can tell of leaves two tubes parallel; warnings are errors in these tests."""
    posts = (
        "a: {shape: custom, at: [0, 0, 0], solids: [], ports: {p: {at: [0, 0, 0], facing: front}}}\n"
        "b: {shape: custom, at: [200, 0, 1.0e-308], solids: [], ports: {p: {at: [0, 0, 0], facing: rear}}}\n"
        "c: {shape: custom, at: [0, 40, 40], solids: [], ports: {p: {at: [0, 0, 0], facing: front}}}\n"
        "d: {shape: custom, at: [200, 40, 40], solids: [], ports: {p: {at: [0, 0, 0], facing: rear}}}"
    )
    how = "tubing: rigid14, fittings: [none, none], path: straight"
    tubes = f"one: {{from: a.p, to: b.p, {how}}}\ntwo: {{from: c.p, to: d.p, {how}}}"
    assert findings(posts, tubes) == []


def test_one_in_front_of_the_other_is_told_with_its_place():
    (found,) = bars(-40.0)
    assert found.severity == "warning"
    assert found.parts == ("level", "upright")
    assert found.at_mm == pytest.approx((100.0, -20.0, 0.0))
    assert "upright crosses in front of level" in found.message
    (behind,) = bars(40.0)
    assert "level crosses in front of upright" in behind.message


def test_beside_it_nothing_crosses():
    assert bars(-40.0, x=201.0) == []


def board(y: float, look: str = "black") -> str:
    return f"\nboard: {{shape: custom, at: [100, {y}, 0], solids: [{{box: [60, 1, 60], look: {look}}}]}}"


def test_what_is_hidden_does_not_count():
    assert bars(-40.0, more=board(-20.0)) == []
    assert bars(-40.0, more=board(-60.0)) == []
    assert len(bars(-40.0, more=board(20.0))) == 1


def test_through_glass_it_is_seen():
    assert len(bars(-40.0, more=board(-60.0, look="glass"))) == 1


@settings(max_examples=30, deadline=None)
@given(st.floats(-90.0, 290.0), st.floats(15.0, 80.0))
def test_upright_tubes_cross_exactly_where_they_stand_over_the_level_one(x: float, y: float):
    assert bool(bars(-y, x=x)) == (0.0 < x <= 200.0)


def bent(path: str) -> list[Finding]:
    """A tube up, across and down, and an upright one behind its top."""
    ends = {
        "left": ("[0, 0, 0]", "roof"),
        "right": ("[200, 0, 0]", "roof"),
        "below": ("[100, 60, 0]", "roof"),
        "above": ("[100, 60, 300]", "floor"),
    }
    parts = "\n".join(
        f"{name}: {{shape: custom, at: {at}, solids: [], ports: {{p: {{at: [0, 0, 0], facing: {facing}}}}}}}"
        for name, (at, facing) in ends.items()
    )
    tubes = (
        f"over: {{tubing: rigid14, from: left.p, to: right.p, fittings: [none, none], path: {path}}}\n"
        "upright: {tubing: rigid14, from: below.p, to: above.p, fittings: [none, none], path: straight}"
    )
    return [f for f in findings(parts, tubes) if f.rule == "tube-crossing"]


def test_an_arch_crosses_once_however_high():
    for height in (80.0, 120.0):
        (found,) = bent(f"{{legs: [[roof, {height}], front, to]}}")
        assert found.at_mm == pytest.approx((100.0, 30.0, height))
