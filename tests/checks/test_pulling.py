"""Panels and memory drawn straight out: distances worked out by hand, properties, OCCT as judge."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layout3d.build import build
from layout3d.checks.check import check
from layout3d.checks.items import items_of
from layout3d.checks.pulling import PANEL_MM, _pulls, pull_findings
from layout3d.findings import Finding
from layout3d.layout import Layout
from layout3d.realise import brep
from layout3d.scene.reader import parse_scene
from shapes.pose import Pose
from shapes.primitives import Box

#: Modules stand on the board's component face, y = -1.6 (thickness of the board), toward -y.
HEIGHT = 44.0


def board(boxes: str = "", rotate: str = "[0, 0, 0]", service: str = "check") -> Layout:
    return build(
        parse_scene(
            f"""layout3d: 1
parts:
  board: {{shape: motherboard, form: Mini-ITX, heat_sinks: 0, rotate: {rotate}, service: {service}}}
  shelf: {{shape: custom, rotate: {rotate}, solids: [{boxes}]}}
""",
            "a.yaml",
        )
    )


def found(layout: Layout) -> list[Finding]:
    return list(pull_findings(layout, items_of(layout)))


def memory_top(layout: Layout) -> float:
    """How far the modules reach toward the window, along -y [mm]."""
    return max(-item.body.low[1] for item in items_of(layout) if item.solid == "memory_1")


@pytest.mark.parametrize(("room", "free"), [(HEIGHT + 0.01, True), (HEIGHT - 0.01, False)])
def test_a_module_needs_its_own_height_over_it(room: float, free: bool) -> None:
    middle = -(memory_top(board()) + room + 5.0)
    layout = board(f"{{box: [400, 10, 400], at: [85, {middle}, -85]}}")
    assert (found(layout) == []) == free


def test_what_is_told() -> None:
    told = found(board("{box: [400, 4, 400], at: [85, -70, -85]}"))
    assert [finding.solids[0] for finding in told] == ["memory_1", "memory_2"]
    assert {(finding.rule, finding.severity, finding.parts) for finding in told} == {
        ("pull-out", "warning", ("board", "shelf"))
    }
    assert "44 mm straight toward the window, tubes off: shelf (box_1) is in the way" in told[0].message


def test_one_may_say_that_it_comes_out_otherwise() -> None:
    shelf = "{box: [400, 4, 400], at: [85, -70, -85]}"
    assert found(board(shelf, service="ignore")) == []
    assert {finding.rule for finding in check(board(shelf, service="ignore")).findings}.isdisjoint(
        {"pull-out"}
    )
    assert "pull-out" in {finding.rule for finding in check(board(shelf)).findings}


def case(x: float, y: float) -> Layout:
    """A tower, and a small block about (x, y, 200)."""
    return build(
        parse_scene(
            f"""layout3d: 1
parts:
  case: {{shape: case_tower}}
  post: {{shape: custom, solids: [{{box: [10, 10, 10], at: [{x}, {y}, 200]}}]}}
""",
            "c.yaml",
        )
    )


@pytest.mark.parametrize(("away", "free"), [(PANEL_MM + 0.01, True), (PANEL_MM - 0.01, False), (0.5, False)])
def test_a_panel_needs_room_beside_the_case(away: float, free: bool) -> None:
    (panel,) = [item for item in items_of(case(200, 900)) if item.solid == "window_panel"]
    layout = case(200, float(panel.body.low[1]) - away - 5.0)
    assert (found(layout) == []) == free


boxes = st.lists(
    st.tuples(st.floats(0, 170), st.floats(-120, -40), st.floats(-170, 0), st.floats(5, 60)),
    min_size=1,
    max_size=4,
)


def written(drawn: list[tuple[float, float, float, float]]) -> str:
    return ", ".join(
        f"{{box: [{edge:.3f}, {edge:.3f}, {edge:.3f}], at: [{x:.3f}, {y:.3f}, {z:.3f}]}}"
        for x, y, z, edge in drawn
    )


def stuck(layout: Layout) -> set[str]:
    return {finding.solids[0] for finding in found(layout)}


@settings(max_examples=15, deadline=None)
@given(boxes)
def test_one_obstacle_more_never_frees_a_module(drawn: list[tuple[float, float, float, float]]) -> None:
    assert stuck(board(written(drawn[:-1]))) <= stuck(board(written(drawn)))


@settings(max_examples=10, deadline=None)
@given(boxes, st.sampled_from(["[90, 0, 0]", "[0, 0, 90]", "[17, 31, 49]"]))
def test_how_the_build_lies_changes_nothing(
    drawn: list[tuple[float, float, float, float]], rotate: str
) -> None:
    assert stuck(board(written(drawn))) == stuck(board(written(drawn), rotate))


@settings(max_examples=15, deadline=None)
@given(boxes)
def test_occt_finds_the_swept_room_free_or_taken_as_told(
    drawn: list[tuple[float, float, float, float]],
) -> None:
    layout = board(written(drawn))
    items = items_of(layout)
    told = stuck(layout)
    others = [brep.solid(i.primitive, i.solid2scene, filled=True) for i in items if i.owner == "shelf"]
    for pull in _pulls(layout, items):
        box = pull.item.primitive
        assert isinstance(box, Box)
        # Moved along an axis, a box covers a longer box.
        swept = Box(tuple(pull.item.body.high - pull.item.body.low + np.abs(pull.travel)))
        pose = Pose.at(tuple((pull.item.body.low + pull.item.body.high + pull.travel) / 2.0))
        shared = sum(abs(brep.solid(swept, pose).intersect(other).Volume()) for other in others)
        if pull.item.solid not in told:
            assert shared < 1e-3
        elif shared < 1e-6:
            pytest.fail(f"{pull.item.solid} told stuck in free room")
