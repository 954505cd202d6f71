"""Ports, threads, sockets and the room parts keep free."""

from __future__ import annotations

import pytest

from tests.checks.scenes import box, checked, findings

PORT = "at: [0, 0, 10], facing: roof"
POSTS = (
    f"left: {box('[40, 40, 20]', '[0, 0, 0]', f'ports: {{out: {{{PORT}, thread: G1/4}}}}')}\n"
    f"right: {box('[40, 40, 20]', '[200, 0, 0]', f'ports: {{in: {{{PORT}, thread: G1/4}}}}')}\n"
)


def over(more: str = "", path: str = "[[0, 0, 100], [200, 0, 100]]", tubing: str = "rigid14") -> str:
    return f"over: {{tubing: {tubing}, from: left.out, to: right.in, path: {path}{more}}}"


def test_open_ports_are_one_reminder_that_names_them() -> None:
    [found] = checked(POSTS).findings
    assert (found.rule, found.severity, found.parts) == ("port-open", "warning", ("left", "right"))
    assert "left.out, right.in" in found.message
    assert checked(POSTS, more="plugs: [left.out, right.in]").findings == ()


def test_ports_that_meet_face_to_face_close_each_other() -> None:
    parts = "pump: {shape: pump}\ntank: {shape: tube_reservoir, fixed_to: {mount: pump.top}}"
    [found] = checked(parts).findings
    assert found.rule == "port-open"
    assert "pump.out" in found.message
    assert "tank.top" in found.message
    assert "pump.in" not in found.message
    assert "tank.bottom" not in found.message


@pytest.mark.parametrize(
    ("fitting", "rule", "words"),
    [
        ("{shape: rigid_fitting}", None, ""),
        ("{shape: rigid_fitting, thread: G1/8, bore: 5}", "thread-mismatch", "G1/4 thread"),
        ("{shape: rigid_fitting, thread_length: 9}", "thread-mismatch", "9 mm long"),
        ("{shape: rigid_fitting, tube_outside: 12, bore: 7}", "fitting-mismatch", "outside 12 mm"),
        ("{shape: soft_fitting}", "fitting-mismatch", "soft tube"),
    ],
)
def test_fittings_must_suit_port_and_tube(fitting: str, rule: str | None, words: str) -> None:
    rules = {f.rule: f.message for f in findings(POSTS, over(f", fittings: [{fitting}, none]"))}
    if rule is None:
        assert rules == {}
    else:
        assert words in rules[rule]


ROOM = "zones: [{name: hand, box: [40, 40, 30], at: [0, 0, 35], reason: a hand must get there%s}]"


def test_a_solid_in_needed_room_is_an_error_with_depth_and_way_out() -> None:
    owner = f"owner: {box('[40, 40, 40]', '[0, 0, 0]', ROOM % '')}"
    [found] = findings(f"{owner}\nshelf: {box('[40, 40, 10]', '[0, 0, 51]')}")
    # The room ends at z = 50, the shelf begins at 46.
    assert (found.rule, found.severity, found.parts) == ("keep-out", "error", ("owner", "shelf"))
    assert found.solids == ("hand", "box_1")
    assert found.measured_mm == pytest.approx(-4.0, abs=1e-9)
    assert found.direction == pytest.approx((0.0, 0.0, 1.0))
    assert "a hand must get there" in found.message
    assert findings(f"{owner}\nshelf: {box('[40, 40, 10]', '[0, 0, 55]')}") == []


def test_likely_room_warns_and_lets_tubes_pass() -> None:
    likely = ROOM % ", severity: warning, only_parts: true"
    low = "[[0, 0, 70], [200, 0, 70]]"
    owner = f"owner: {box('[40, 40, 40]', '[100, 0, 0]', likely.replace('[0, 0, 35]', '[0, 0, 55]'))}\n"
    assert findings(POSTS + owner, over(path=low, more=", gap: 0")) == []
    [found] = findings(POSTS + owner + f"shelf: {box('[20, 20, 10]', '[100, 0, 50]')}")
    assert (found.rule, found.severity) == ("keep-out", "warning")


def test_one_keep_out_a_pair_errors_first() -> None:
    zones = (
        "zones: [{name: deep, box: [40, 40, 30], at: [0, 0, 35], reason: maybe, severity: warning}, "
        "{name: shallow, box: [40, 40, 27], at: [0, 0, 33.5], reason: surely}]"
    )
    parts = f"owner: {box('[40, 40, 40]', '[0, 0, 0]', zones)}\nshelf: {box('[40, 40, 10]', '[0, 0, 51]')}"
    [found] = findings(parts)
    assert (found.severity, found.solids[0]) == ("error", "shallow")


def test_the_way_out_of_one_zone_does_not_lead_into_the_next() -> None:
    zones = "zones: [{box: [60, 10, 10], name: z1}, {box: [40, 10, 10], at: [52, 0, 0], name: z2}]"
    parts = f"a: {box('[10, 10, 10]', '[0, 0, 0]', zones)}\nb: {box('[10, 8, 8]', '[33, 0, 0]')}"
    [found] = findings(parts)
    # z2 ends at x = 32, but toward the rear z1 goes on to -30: b's front face has 68 mm to go.
    assert found.move_mm == pytest.approx(68.0, abs=1e-6)


def test_two_parts_in_each_others_room_are_one_finding() -> None:
    a = f"a: {box('[10, 10, 10]', '[0, 0, 0]', 'zones: [{box: [60, 10, 10], name: za}]')}"
    b = f"b: {box('[10, 10, 10]', '[25, 0, 0]', 'zones: [{box: [60, 12, 12], name: zb}]')}"
    [found] = findings(f"{a}\n{b}")
    assert "za" in found.message
    assert "zb" in found.message


def test_a_fitting_needs_a_thread_to_go_into() -> None:
    plain = POSTS.replace(", thread: G1/4", "")
    [found] = findings(plain, over(", fittings: [{shape: rigid_fitting}, none]"))
    assert (found.rule, found.parts) == ("thread-mismatch", ("left", "over"))
    assert "has no thread" in found.message


CASE = (
    "case: {shape: custom, solids: [{plate: {size: [400, 200], thickness: 1}, at: [0, 0, 100.5]}], mounts: "
    "{roof: {at: [0, 0, 100], facing: floor, kind: fan, "
    "holes: [[-52.5, -52.5, 4.5], [52.5, -52.5, 4.5], [-52.5, 52.5, 4.5], [52.5, 52.5, 4.5]]}}}\n"
)


def test_a_stack_that_fouls_is_told_what_would_fit() -> None:
    stack = (
        "rad: {shape: radiator, thickness: 45, fixed_to: {mount: case.roof, by: a}}\n"
        "fan: {shape: fan, fixed_to: {mount: rad.b1}}\n"
    )
    # 45 + 25 = 70 mm of stack; a block up to z = 40 leaves 60 less the 1 mm rule.
    parts = CASE + stack + f"block: {box('[30, 130, 80]', '[0, 0, 0]')}"
    [found] = findings(parts)
    assert found.rule == "overlap"
    assert found.remedy is not None
    assert "70 mm thick, at most 59 mm fits" in found.remedy
    assert "rad, fan" in found.remedy
