"""Gaps and overlaps of whole scenes, against distances worked out by hand."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layout3d.build import build
from layout3d.checks.check import check
from layout3d.findings import Finding
from layout3d.layout import Layout
from layout3d.scene.reader import parse_scene
from tests.checks.scenes import box, checked, findings, layout_of


def test_boxes_too_near_are_a_gap_with_the_move_that_mends_it() -> None:
    [found] = findings(f"a: {box('[10, 10, 10]', '[0, 0, 0]')}\nb: {box('[10, 10, 10]', '[10.25, 0, 0]')}")
    assert (found.rule, found.severity, found.parts) == ("gap", "error", ("a", "b"))
    assert found.measured_mm == pytest.approx(0.25, abs=1e-9)
    assert found.required_mm == 1.0
    assert found.direction == pytest.approx((1.0, 0.0, 0.0))
    assert found.move_mm == pytest.approx(0.75, abs=1e-9)
    assert found.at_mm is not None
    assert found.at_mm[0] == pytest.approx(5.125, abs=1e-9)
    assert found.depth_is is None
    assert found.where == "test.yaml:9"


def test_an_overlap_replaces_the_gap_and_is_the_least_translation() -> None:
    # Two 10 mm cubes 8 mm apart in x, 3 in y: 2 mm in x is the least way out.
    [found] = findings(f"a: {box('[10, 10, 10]', '[0, 0, 0]')}\nb: {box('[10, 10, 10]', '[8, 3, 0]')}")
    assert (found.rule, found.depth_is) == ("overlap", "exact")
    assert found.measured_mm == pytest.approx(-2.0, abs=1e-9)
    assert found.direction == pytest.approx((1.0, 0.0, 0.0))
    # It has to leave the rule's gap as well.
    assert found.move_mm == pytest.approx(3.0, abs=1e-9)


def test_a_part_wholly_inside_another_is_an_overlap() -> None:
    [found] = findings(f"a: {box('[40, 40, 40]', '[0, 0, 0]')}\nb: {box('[4, 4, 4]', '[0, 0, 6]')}")
    assert found.rule == "overlap"
    # 20 - 6 to the roof face, and its own half height more.
    assert found.measured_mm == pytest.approx(-16.0, abs=1e-9)


def test_one_finding_a_pair_the_deepest() -> None:
    solids = "[{box: [10, 10, 10], name: shallow}, {box: [10, 10, 10], at: [0, 50, 0], name: deep}]"
    other = "[{box: [10, 10, 10], at: [9, 0, 0]}, {box: [10, 10, 10], at: [6, 50, 0]}]"
    [found] = findings(f"a: {{shape: custom, solids: {solids}}}\nb: {{shape: custom, solids: {other}}}")
    assert found.solids[0] == "deep"
    assert found.measured_mm == pytest.approx(-4.0, abs=1e-9)


@pytest.mark.parametrize(
    ("more_a", "more_b", "clear"),
    [("", "", False), ("gap: 0.2", "", True), ("gap: 0.2", "gap: 0.5", False), ("gap: 0", "", True)],
)
def test_own_gaps_replace_the_rule_the_larger_of_two(more_a: str, more_b: str, clear: bool) -> None:
    parts = (
        f"a: {box('[10, 10, 10]', '[0, 0, 0]', more_a)}\nb: {box('[10, 10, 10]', '[10.25, 0, 0]', more_b)}"
    )
    assert (findings(parts) == []) is clear


def test_touching_needs_a_joint_and_a_joint_allows_no_overlap() -> None:
    a = f"a: {box('[10, 10, 10]', '[0, 0, 0]')}\n"
    assert [f.rule for f in findings(a + f"b: {box('[10, 10, 10]', '[10, 0, 0]')}")] == ["gap"]
    assert findings(a + f"b: {box('[10, 10, 10]', '[10, 0, 0]', 'touches: [a]')}") == []
    assert [f.rule for f in findings(a + f"b: {box('[10, 10, 10]', '[9.99, 0, 0]', 'touches: [a]')}")] == [
        "overlap"
    ]


PORTS = "ports: {out: {at: [0, 0, 10], facing: roof, thread: G1/4}}"
POSTS = (
    f"left: {box('[40, 40, 20]', '[0, 0, 0]', PORTS)}\nright: {box('[40, 40, 20]', '[200, 0, 0]', PORTS)}\n"
)
OVER = "over: {tubing: rigid14, from: left.out, to: right.out, path: [[0, 0, 70], [200, 0, 70]]}"


def test_a_tube_keeps_its_gap_to_what_it_passes() -> None:
    # Its surface is at z = 77; a beam 79 up leaves 2 of the 3 mm wanted.
    beam = f"beam: {box('[20, 20, 10]', '[100, 0, 84]')}"
    [found] = findings(POSTS + beam, OVER)
    assert (found.rule, found.parts) == ("gap", ("beam", "over"))
    assert found.measured_mm == pytest.approx(2.0, abs=1e-7)
    assert found.direction == pytest.approx((0.0, 0.0, -1.0), abs=1e-6)
    assert findings(POSTS + f"beam: {box('[20, 20, 10]', '[100, 0, 85]')}", OVER) == []


def test_a_tube_may_stand_on_its_own_port_but_not_in_its_part() -> None:
    assert findings(POSTS, OVER) == []
    # A collar round the port, flush with the tube, is part of what it ends on ...
    collar = (
        "left: {shape: custom, solids: [{box: [40, 40, 20]}, {box: [20, 40, 5], at: [17, 0, 12.5]}], "
        f"{PORTS}}}\nright: {box('[40, 40, 20]', '[200, 0, 0]', PORTS)}"
    )
    assert findings(collar, OVER) == []
    # ... but cannot share its room: the tube's surface is 7 mm from the axis.
    inside = collar.replace("[17, 0, 12.5]", "[16.5, 0, 12.5]")
    assert [f.rule for f in findings(inside, OVER)] == ["overlap"]


def test_after_its_first_straight_the_rule_holds_for_its_own_part_too() -> None:
    # A shelf of the left part under the run along the front: 2 mm below the tube's surface.
    shelf = (
        "left: {shape: custom, solids: [{box: [40, 40, 20]}, {box: [20, 20, 4], at: [100, 0, 59]}], "
        f"{PORTS}}}\nright: {box('[40, 40, 20]', '[200, 0, 0]', PORTS)}"
    )
    [found] = findings(shelf, OVER)
    assert (found.rule, found.parts) == ("gap", ("left", "over"))
    assert found.measured_mm == pytest.approx(2.0, abs=1e-7)


def test_tubes_keep_clear_of_each_other() -> None:
    ports = "ports: {in: {at: [0, 0, 10], facing: roof}, out: {at: [0, 16, 10], facing: roof}}"
    posts = f"a: {box('[40, 60, 20]', '[0, 0, 0]', ports)}\nb: {box('[40, 60, 20]', '[200, 0, 0]', ports)}\n"
    two = (
        "one: {tubing: rigid14, from: a.in, to: b.in, path: [[0, 0, 70], [200, 0, 70]]}\n"
        "two: {tubing: rigid14, from: a.out, to: b.out, path: [[0, 16, 70], [200, 16, 70]]}"
    )
    [found] = findings(posts, two)
    assert (found.rule, found.parts) == ("gap", ("one", "two"))
    assert found.measured_mm == pytest.approx(2.0, abs=1e-7)


def test_a_tube_passes_a_round_and_a_rectangular_opening() -> None:
    def through(opening: str) -> list[str]:
        panel = (
            "panel: {shape: custom, at: [100, 0, 70], rotate: [0, 90, 0], "
            f"solids: [{{plate: {{size: [120, 120], thickness: 1, openings: [{opening}]}}}}]}}"
        )
        return [f"{f.rule} {f.measured_mm:.4f}" for f in findings(POSTS + panel, OVER)]

    # 14 mm tube, 3 mm all round: 20 mm is just enough, 19.9 leaves 2.95.
    assert through("{round: {diameter: 20}}") == []
    assert through("{round: {diameter: 19.9}}") == ["gap 2.9500"]
    assert through("{rect: {size: [20, 20]}}") == []
    assert through("{rect: {size: [20, 19.9]}}") == ["gap 2.9500"]
    assert through("{round: {at: [0, 40], diameter: 20}}")[0].startswith("overlap")


def test_flat_ends_are_flat() -> None:
    """A ball at the tube's end would reach 7 mm further than the tube does."""
    ports = "ports: {out: {at: [0, 0, 10], facing: roof}}"
    posts = (
        f"left: {box('[40, 40, 20]', '[0, 0, 0]', ports)}\n"
        "right: {shape: custom, at: [0, 0, 80], solids: [], ports: {in: {at: [0, 0, 0], facing: floor}}}\n"
        f"lid: {box('[40, 40, 4]', '[0, 0, 85]')}"
    )
    assert findings(posts, "up: {tubing: rigid14, from: left.out, to: right.in, path: straight}") == []


@pytest.mark.parametrize(("engaged", "rule"), [("depth: 6", None), ("depth: 4", "thread-mismatch")])
def test_a_thread_goes_into_its_port_and_no_deeper(engaged: str, rule: str | None) -> None:
    ports = f"ports: {{out: {{at: [0, 0, 10], facing: roof, thread: G1/4, {engaged}}}}}"
    posts = (
        f"left: {box('[40, 40, 20]', '[0, 0, 0]', ports)}\nright: {box('[40, 40, 20]', '[200, 0, 0]', ports)}"
    )
    tube = (
        "over: {tubing: rigid14, from: left.out, to: right.out, "
        "fittings: [{shape: rigid_fitting}, none], path: [[0, 0, 90], [200, 0, 90]]}"
    )
    assert [f.rule for f in findings(posts, tube)] == ([] if rule is None else [rule])


def turned(layout_text: str, rotate: str) -> str:
    return layout_text.replace("rotate: [0, 0, 0]", f"rotate: {rotate}")


def test_what_does_not_go_into_the_port_may_not_overlap_where_it_stands() -> None:
    """Drawn out by its 5 mm of thread the fitting would stand over a 4 mm rim; screwed in it does not."""
    rim = "{box: [10, 40, 4], at: [14, 0, 12]}"
    ports = "ports: {out: {at: [0, 0, 10], facing: roof, thread: G1/4, depth: 6}}"
    left = f"left: {{shape: custom, solids: [{{box: [40, 40, 20]}}, {rim}], {ports}}}\n"
    right = f"right: {box('[40, 40, 20]', '[200, 0, 0]', ports)}"
    tube = (
        "over: {tubing: rigid14, from: left.out, to: right.out, "
        "fittings: [{shape: rigid_fitting}, none], path: [[0, 0, 90], [200, 0, 90]]}"
    )
    assert findings(left.replace("[14, 0, 12]", "[17, 0, 12]") + right, tube) == []
    # The rim comes in to x = 8.5, the fitting's base reaches 9.
    [found] = findings(left.replace("[14, 0, 12]", "[13.5, 0, 12]") + right, tube)
    assert (found.rule, found.parts) == ("overlap", ("left", "over.from_fitting"))


def test_a_wall_beside_a_male_thread_does_not_go_in_with_it() -> None:
    """Drawn out by its 5 mm the thread's part would leave its wall, 4 mm over the face, below the other."""
    stud = "{cylinder: {diameter: 12, length: 5}, at: [0, 0, 12.5]}"
    port = "ports: {out: {at: [0, 0, 10], facing: roof, thread: G1/4, depth: 5, male: true}}"
    block = (
        "{shape: custom, fixed_to: {mount: left.out}, solids: [{box: [40, 40, 20], at: [0, 0, 10]}], "
        "ports: {in: {at: [0, 0, 0], facing: floor, thread: G1/4}}}"
    )

    def screwed(wall_x: float) -> list[Finding]:
        wall = f"{{box: [10, 40, 24], at: [{wall_x}, 0, 2]}}"
        left = (
            f"left: {{shape: custom, at: [0, 0, 0], solids: [{{box: [40, 40, 20]}}, {stud}, {wall}], {port}}}"
        )
        return findings(f"{left}\nblock: {block}")

    assert screwed(25.0) == []
    [found] = screwed(24.5)
    assert (found.rule, found.parts) == ("overlap", ("block", "left"))
    assert found.measured_mm == pytest.approx(-0.5)


coordinate = st.floats(-60, 60)
sizes = st.tuples(*[st.floats(1, 40)] * 3).map(list)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.tuples(sizes, st.tuples(coordinate, coordinate, coordinate)), min_size=2, max_size=6),
    st.randoms(),
)
def test_the_order_of_parts_changes_nothing(
    parts: list[tuple[list[float], tuple[float, ...]]], random: object
) -> None:
    lines = [f"p{i}: {box(str(size), str(list(at)))}" for i, (size, at) in enumerate(parts)]
    shuffled = list(lines)
    random.shuffle(shuffled)  # type: ignore[attr-defined]

    def told(text: list[str]) -> set[tuple[str, frozenset[str], float]]:
        return {
            (f.rule, frozenset(f.parts), round(f.measured_mm or 0.0, 7)) for f in findings("\n".join(text))
        }

    assert told(lines) == told(shuffled)


@settings(max_examples=100, deadline=None)
@given(
    st.floats(0.0, 5.0),
    st.tuples(*[st.floats(-180, 180)] * 3),
    st.tuples(*[st.floats(-300, 300)] * 3),
)
def test_exactly_on_the_rule_is_clear_at_every_pose(
    gap: float, rotate: tuple[float, ...], at: tuple[float, ...]
) -> None:
    size = "[{box: [10, 20, 30], at: [0, 0, 0]}]"
    other = f"[{{box: [10, 20, 30], at: [{10 + gap!r}, 7, -4]}}]"
    pose = f"at: {list(at)}, rotate: {list(rotate)}"
    parts = f"a: {{shape: custom, {pose}, solids: {size}}}\nb: {{shape: custom, {pose}, solids: {other}}}"
    assert findings(parts, more=f"rules: {{part_gap: {gap!r}}}") == []
    if gap > 1e-3:
        assert [f.rule for f in findings(parts, more=f"rules: {{part_gap: {gap + 1e-5!r}}}")] == ["gap"]


def test_what_was_looked_at_is_counted() -> None:
    result = checked(POSTS, OVER)
    assert (result.parts, result.solids) == (2, 3)
    assert result.pairs_near >= result.pairs_measured >= 2


def test_the_same_scene_gives_the_same_findings() -> None:
    def once() -> object:
        layout: Layout = layout_of(POSTS + f"beam: {box('[20, 20, 10]', '[100, 0, 84]')}", OVER)
        return check(layout).findings

    assert once() == once()


def test_moves_are_told_in_the_direction_the_second_part_goes() -> None:
    # The second part is tilted: the way out is along its own short side.
    tilted = "b: {shape: custom, at: [9, 0, 0], rotate: [0, 0, 30], solids: [{box: [10, 10, 10]}]}"
    [found] = findings(f"a: {box('[10, 10, 10]', '[0, 0, 0]')}\n{tilted}")
    assert found.direction is not None
    assert found.direction[0] > 0.0
    assert math.hypot(*found.direction) == pytest.approx(1.0)
    assert found.move_mm is not None
    assert found.move_mm >= 1.0 - (found.measured_mm or 0.0) - 1e-9


def test_a_tube_that_comes_back_to_itself_is_found() -> None:
    ports = "ports: {out: {at: [0, 0, 10], facing: roof}}"
    loop = (
        f"start: {box('[40, 40, 20]', '[0, 0, 0]', ports)}\n"
        "end: {shape: custom, at: [-100, 0, 160], solids: [], ports: {in: {at: [0, 0, 0], facing: front}}}"
    )

    def told(beside: float) -> list[tuple[str, float]]:
        # Up, over, down, and back across the way up, `beside` mm from it.
        corners = [[0, 0, 300], [150, beside, 300], [150, beside, 160]]
        tube = f"around: {{tubing: rigid14, from: start.out, to: end.in, path: {corners}}}"
        parts = loop.replace("at: [-100, 0, 160]", f"at: [-100, {beside}, 160]")
        return [(f.rule, round(f.measured_mm or 0.0, 6)) for f in findings(parts, tube)]

    # Between the surfaces of two 14 mm tubes there are 14 mm less than between their axes.
    assert told(17.0) == []
    assert told(16.0) == [("gap", 2.0)]
    assert [rule for rule, _ in told(5.0)] == ["overlap"]


def test_a_rounded_table_within_its_tolerance_stands_before_its_port() -> None:
    """0.1 degrees off, the flat end's rim would reach 0.012 mm past the middle of the end."""
    for bend in (89.87, 89.95, 90.05, 90.13):
        table = f"{{bends: [{{straight: 50, bend: {bend}}}, {{straight: 128, bend: 90}}], last: 50}}"
        tube = f"over: {{tubing: rigid14, from: left.out, to: right.out, path: {table}}}"
        assert [f.rule for f in findings(POSTS, tube)] == []


def test_the_move_of_a_screwed_in_fitting_clears_it_as_it_stands_too() -> None:
    # A post beside the port from the front, a block on the other side that only the move would meet.
    solids = "[{box: [60, 40, 20]}, {box: [6, 6, 30], at: [10, 0, 25]}, {box: [6, 6, 6], at: [-17, 0, 23]}]"
    ports = "ports: {out: {at: [0, 0, 10], facing: roof, thread: G1/4, depth: 6}}"
    left = f"left: {{shape: custom, solids: {solids}, {ports}}}\n"
    right = f"right: {box('[40, 40, 20]', '[200, 0, 0]', ports)}"
    tube = (
        "over: {tubing: rigid14, from: left.out, to: right.out, "
        "fittings: [{shape: rigid_fitting}, none], path: [[0, 0, 90], [200, 0, 90]]}"
    )
    [found] = [f for f in findings(left + right, tube) if f.parts == ("left", "over.from_fitting")]
    assert found.rule == "overlap"
    # Toward the rear 4 mm would free it of the post, but the block there is 3 mm away.
    assert found.move_mm is None or found.move_mm > 10.0


def test_touching_said_on_either_side_holds_for_a_path_that_is_found() -> None:
    wall = "wall: {shape: custom, touches: [over], solids: [{box: [10, 300, 300], at: [12.1, 0, 172]}]}"
    ports = "ports: {out: {at: [0, 0, 10], facing: roof, thread: G1/4}}"
    block = "[40, 40, 20]"
    posts = f"left: {box(block, '[0, 0, 0]', ports)}\nright: {box(block, '[0, 200, 0]', ports)}\n"
    assert findings(posts + wall, "over: {tubing: rigid14, from: left.out, to: right.out, path: auto}") == []


def indented(entries: str) -> list[str]:
    return [f"  {line}" for line in entries.splitlines()]


def test_default_parts_go_together() -> None:
    """A fan on a radiator beside a hose on its port; two hoses on a block."""
    parts = (
        "rad: {shape: radiator, fans: 2, fan_size: 140, at: [0, 0, 300]}\n"
        "fan: {shape: fan, size: 140, fixed_to: {mount: rad.b1}}\n"
        "block: {shape: cpu_block}"
    )
    hose = (
        "one: {tubing: hose, from: block.in, to: rad.in, path: auto, "
        "fittings: [{shape: soft_fitting}, {shape: soft_fitting}]}\n"
        "two: {tubing: hose, from: block.out, to: rad.out, path: auto, "
        "fittings: [{shape: soft_fitting}, {shape: soft_fitting}]}"
    )
    tubings = "tubings: {hose: {kind: soft, inside: 1/2 in, outside: 3/4 in, bend_radius: 60}}"
    lines = ["layout3d: 1", tubings, "parts:", *indented(parts), "tubes:", *indented(hose)]
    text = "\n".join(lines)
    met = [f for f in check(build(parse_scene(text, "test.yaml"))).findings if f.rule in ("gap", "overlap")]
    assert [f for f in met if not any(part in ("one", "two") for part in f.parts)] == []
