"""Fittings one on another, and parts screwed into ports: poses, joints, threads and who uses what."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layout3d.assembly.sequence import assembly_of
from layout3d.build import build
from layout3d.checks.check import check
from layout3d.checks.ports import port_users
from layout3d.errors import SceneErrors
from layout3d.reports.results import ports_result
from layout3d.scene.reader import parse_scene

HEAD = """\
layout3d: 1
tubings:
  rigid14: {kind: rigid, outside: 14, inside: 10, bend_radius: 36, end_straight: 20, between_bends: 14}
"""


def posts(
    first: str = "none", last: str = "none", path: str = "straight", more: str = "", apart: float = 250
) -> str:
    """Two posts with a port on top of each, 60 mm wide, and a tube over them."""
    return f"""{HEAD}parts:
  left: {{shape: custom, solids: [{{box: [60, 60, 20], at: [0, 0, 10]}}],
    ports: {{out: {{at: [0, 0, 20], facing: roof, thread: G1/4}}}}}}
  right: {{shape: custom, at: [{apart}, 0, 0], solids: [{{box: [60, 60, 20], at: [0, 0, 10]}}],
    ports: {{in: {{at: [0, 0, 20], facing: roof, thread: G1/4}}}}}}
{more}tubes:
  over: {{tubing: rigid14, from: left.out, to: right.in, fittings: [{first}, {last}], path: {path}}}
"""


#: Corners well above both posts.
HIGH = "[[0, 0, 160], [250, 0, 160]]"


def layout_of(text):
    return build(parse_scene(text, "test.yaml"))


def rules(text):
    return {
        finding.rule: finding for finding in check(layout_of(text)).findings if finding.rule != "port-open"
    }


ELBOWS = "[{shape: rotary_adapter}, {shape: rigid_fitting}]"
FACING = "[{shape: rotary_adapter, turn: 180}, {shape: rigid_fitting}]"
SHELF = "  shelf: {shape: custom, solids: [{box: [400, 100, 4], at: [125, 0, 62]}]}\n"


def test_under_a_shelf_a_rotary_chain_runs_where_straight_fittings_cannot():
    # The shelf's underside is 40 above the ports: a straight fitting of 18 leaves 22 for a tube that
    # needs 20 of straight and a bend of 36.
    straight = posts("{shape: rigid_fitting}", "{shape: rigid_fitting}", "auto", SHELF)
    assert set(rules(straight)) == {"no-path"}
    chains = posts(ELBOWS, FACING, "straight", SHELF)
    assert rules(chains) == {}
    [tube] = layout_of(chains).tubes
    # Between the posts' axes less, at each end, the elbow's reach of 18 and the fitting's 4 + 14.
    assert tube.path_mm == pytest.approx(250 - 2 * (18 + 18))
    assert tube.cut_mm == pytest.approx(tube.path_mm + 2 * 10)


def turned(vector, angle_deg, axis):
    """A vector turned about a unit axis, right-handed (Rodrigues)."""
    angle, axis = math.radians(angle_deg), np.asarray(axis)
    return (
        vector * math.cos(angle)
        + np.cross(axis, vector) * math.sin(angle)
        + axis * (axis @ vector) * (1 - math.cos(angle))
    )


@settings(max_examples=40, deadline=None, derandomize=True)
@given(
    kinds=st.lists(st.sampled_from([45, 90]), min_size=1, max_size=3),
    turns=st.lists(st.floats(-180, 180), min_size=3, max_size=3),
)
def test_the_mouth_of_a_chain_follows_its_turns(kinds, turns):
    # By hand: each elbow goes 14 along the axis it stands on, then 18 along its outlet; the outlet leans
    # by the elbow's angle toward the direction it was rolled to.
    links = [
        f"{{shape: rotary_adapter, angle: {kind}, turn: {turn!r}}}"
        for kind, turn in zip(kinds, turns, strict=False)
    ]
    layout = layout_of(posts(f"[{', '.join(links)}, {{shape: rigid_fitting}}]"))
    port = layout.parts["left"].port2scene("out")
    at, axis, toward = port.origin, port.z_axis, port.x_axis
    for number, (kind, turn) in enumerate(zip(kinds, turns, strict=False), 1):
        lean = turned(toward, turn, axis)
        angle = math.radians(kind)
        out = axis * math.cos(angle) + lean * math.sin(angle)
        at = at + 14 * axis + 18 * out
        # The next stands on the adapter's mouth, whose own `up` is the default of its frame.
        name = "over.from_fitting" if number == 1 else f"over.from_fitting_{number}"
        mouth = layout.parts[name].port2scene("mouth")
        assert mouth.origin == pytest.approx(at, abs=1e-9)
        assert mouth.z_axis == pytest.approx(out, abs=1e-9)
        axis, toward = out, mouth.x_axis
    tube = layout.tubes[0]
    assert tube.mouths[0].origin == pytest.approx(at + 18 * axis, abs=1e-9)
    assert tube.mouths[0].z_axis == pytest.approx(axis, abs=1e-9)
    assert tube.insertions[0] == 10


def test_members_are_named_from_the_port_outward_and_joined_by_their_threads():
    layout = layout_of(posts(ELBOWS, "{shape: rigid_fitting}"))
    fittings = {part.name: part.shape for part in layout.parts.values() if part.tube == "over"}
    assert fittings == {
        "over.from_fitting": "rotary_adapter",
        "over.from_fitting_2": "rigid_fitting",
        "over.to_fitting": "rigid_fitting",
    }
    assert layout.tubes[0].near == (
        ("left", "over.from_fitting", "over.from_fitting_2"),
        ("right", "over.to_fitting"),
    )
    joints = {(joint.first, joint.second): joint for joint in layout.joints}
    assert joints["left", "over.from_fitting"].engagement == 5
    inner = joints["over.from_fitting", "over.from_fitting_2"]
    assert (inner.engagement, inner.axis) == (5, pytest.approx((1, 0, 0)))
    # The elbow's mouth is 18 out from the port's axis.
    assert inner.face == pytest.approx(18)


def test_ports_tell_every_member_of_a_chain():
    layout = layout_of(posts(ELBOWS, "{shape: rigid_fitting}"))
    rows = {row["port"]: row for row in ports_result(layout, port_users(layout))}
    assert rows["left.out"]["used_by"] == ["tube over"]
    assert rows["over.from_fitting.thread"]["used_by"] == ["left.out"]
    assert rows["over.from_fitting.mouth"]["used_by"] == ["over.from_fitting_2.thread"]
    assert rows["over.from_fitting_2.mouth"]["used_by"] == ["tube over"]
    assert rows["over.to_fitting.mouth"]["used_by"] == ["tube over"]


@pytest.mark.parametrize(
    ("chain", "words", "parts"),
    [
        (
            "[{shape: extender, thread: G1/8, bore: 5}, {shape: rigid_fitting, thread: G1/8, bore: 5}]",
            "left.out has a G1/4",
            "left",
        ),
        (
            "[{shape: extender}, {shape: rigid_fitting, thread: G1/8, bore: 5}]",
            "over.from_fitting.mouth has a G1/4 thread, the rigid_fitting has G1/8",
            "over.from_fitting",
        ),
        (
            "[{shape: extender, port_depth: 3}, {shape: rigid_fitting}]",
            "the rigid_fitting's thread is 5 mm long, port over.from_fitting.mouth takes 3 mm",
            "over.from_fitting",
        ),
        (
            "[{shape: ball_valve}, {shape: rigid_fitting}]",
            "both are ports: put a male_coupler between them",
            "left",
        ),
        (
            "[{shape: male_coupler}, {shape: rigid_fitting}]",
            "both are male threads",
            "over.from_fitting",
        ),
    ],
)
def test_threads_are_checked_all_through_the_chain(chain, words, parts):
    found = rules(posts(chain))["thread-mismatch"]
    assert words in found.message
    assert found.parts == (parts, "over")


def test_a_valve_goes_on_by_way_of_a_coupler():
    text = posts("[{shape: male_coupler}, {shape: ball_valve}, {shape: rigid_fitting}]", path=HIGH)
    assert rules(text) == {}
    layout = layout_of(text)
    joints = {(joint.first, joint.second): joint for joint in layout.joints}
    # The coupler's upper thread goes into the valve: that is where it comes off, downward.
    joint = joints["over.from_fitting_2", "over.from_fitting"]
    assert (joint.engagement, joint.axis) == (5, (0, 0, -1))
    # 4 of coupler, 40 of valve, 18 of fitting above the port at 20.
    assert layout.tubes[0].mouths[0].origin == pytest.approx((0, 0, 20 + 4 + 40 + 18))


def test_what_does_not_fit_inside_a_chain_overlaps():
    # A wall 20 in front of the port: the elbow's fitting, 36 out, stands in it.
    wall = "  wall: {shape: custom, solids: [{box: [4, 60, 60], at: [22, 0, 60]}]}\n"
    out = "[[%d, 0, 34], [%d, 0, 160], [250, 0, 160]]"
    found = rules(posts(ELBOWS, path=out % (90, 90), more=wall))
    assert found["overlap"].parts[0] == "wall"
    assert found["overlap"].parts[1].startswith("over.from_fitting")
    assert "overlap" not in rules(posts(FACING, path=out % (-90, -90), more=wall))


PUMP = f"""{HEAD}parts:
  pump: {{shape: pump, side_inlet: true}}
  split: {{shape: tee, fixed_to: {{mount: pump.out, turn: 90}}}}
  sensor: {{shape: temperature_plug, fixed_to: split.front}}
  stop: {{shape: plug, fixed_to: split.rear}}
  cap: {{shape: plug, fixed_to: pump.in}}
  nipple: {{shape: male_coupler, fixed_to: pump.in_side}}
  valve: {{shape: ball_valve, fixed_to: nipple.mouth}}
  drain: {{shape: drain, fixed_to: valve.out}}
"""


def test_parts_screwed_into_ports_close_them():
    layout = layout_of(PUMP)
    assert check(layout).findings == ()
    users = port_users(layout)
    assert users["pump.in"] == ["cap.thread"]
    assert users["pump.out"] == ["split.thread"]
    assert users["split.front"] == ["sensor.thread"]
    assert users["valve.in"] == ["nipple.mouth"]
    without = "\n".join(line for line in PUMP.splitlines() if "cap:" not in line)
    [reminder] = check(layout_of(without)).findings
    assert (reminder.rule, reminder.severity) == ("port-open", "warning")
    assert "pump.in" in reminder.message


@settings(max_examples=30, deadline=None, derandomize=True)
@given(turn=st.floats(-360, 360))
def test_a_screwed_in_part_is_rolled_about_its_port(turn):
    seat = f"{{mount: pump.out, turn: {turn!r}}}"
    text = f"{HEAD}parts:\n  pump: {{shape: pump}}\n  split: {{shape: tee, fixed_to: {seat}}}\n"
    layout = layout_of(text)
    port = layout.parts["pump"].port2scene("out")
    thread, front = (layout.parts["split"].port2scene(name) for name in ("thread", "front"))
    assert thread.origin == pytest.approx(port.origin, abs=1e-9)
    assert thread.z_axis == pytest.approx(-port.z_axis, abs=1e-9)
    # The block's middle is 4 + 13 out from the port, its front port 13 off to the side it is rolled to.
    side = turned(port.x_axis, turn, port.z_axis)
    assert front.z_axis == pytest.approx(side, abs=1e-9)
    assert front.origin == pytest.approx(port.origin + 17 * port.z_axis + 13 * side, abs=1e-9)


def test_a_port_with_a_plug_and_a_tube_is_used_twice():
    text = posts("{shape: rigid_fitting}", more="  stop: {shape: plug, fixed_to: left.out}\n")
    found = rules(text)["port-used-twice"]
    assert found.parts == ("left", "stop", "over")
    assert "tube over and stop.thread" in found.message


def test_a_port_and_a_mount_of_one_name_are_told_apart_by_the_guest():
    text = (
        f"{HEAD}parts:\n  tank: {{shape: custom, solids: [{{box: [60, 60, 60], at: [0, 0, 0]}}],\n"
        "    ports: {top: {at: [0, 0, 30], facing: roof, thread: G1/4}},\n"
        "    mounts: {top: {at: [0, 0, 30], facing: roof, kind: stand}}}\n"
    )
    plugged = layout_of(text + "  stop: {shape: plug, fixed_to: tank.top}\n")
    assert plugged.parts["stop"].screwed is not None
    standing = layout_of(text + "  pump: {shape: pump, fixed_to: tank.top}\n")
    assert standing.parts["pump"].screwed is None


def test_the_order_of_assembly_screws_things_in_one_after_another():
    steps = [name for step in assembly_of(layout_of(PUMP)).steps for name in step.names]
    for first, later in (("split", "sensor"), ("nipple", "valve"), ("valve", "drain")):
        assert steps.index(first) < steps.index(later)
    assert not assembly_of(layout_of(posts(ELBOWS, FACING))).stuck


def test_a_bulkhead_goes_through_the_hole_of_a_panel():
    text = (
        f"{HEAD}parts:\n  wall: {{shape: custom, solids: [{{plate: {{size: [100, 100], thickness: 1.5,"
        " openings: [{round: {diameter: %s}}]}, at: [0, 0, -0.75]}],\n"
        "    mounts: {hole: {at: [0, 0, 0], facing: roof, kind: bulkhead}}}\n"
        "  through: {shape: bulkhead, panel: %s, fixed_to: wall.hole}\nplugs: [through.flange, through.nut]\n"
    )
    assert check(layout_of(text % (21, 1.5))).findings == ()
    # The barrel is 20: a smaller hole does not take it, nor a nut that is set for a thinner sheet.
    assert [f.rule for f in check(layout_of(text % (19, 1.5))).findings] == ["overlap"]
    assert [f.rule for f in check(layout_of(text % (21, 1.0))).findings] == ["overlap"]


def test_a_swing_kept_free_is_room():
    post = "  wall: {shape: custom, solids: [{box: [4, 60, 60], at: [-17, 0, 55]}]}\n"
    chain = ELBOWS.replace("adapter}", "adapter, swing_room: %s}")
    assert "keep-out" not in rules(posts(chain % "false", path=HIGH, more=post))
    found = rules(posts(chain % "true", path=HIGH, more=post))["keep-out"]
    assert found.parts == ("wall", "over.from_fitting") or found.parts == ("over.from_fitting", "wall")


def test_nothing_said_about_fittings_is_a_note_that_leaves_the_layout_clear():
    silent = posts(path=HIGH).replace(", fittings: [none, none]", "")
    checked = check(layout_of(silent))
    assert [(f.rule, f.severity) for f in checked.findings] == [("no-fitting", "note")]
    assert "left.out and right.in" in checked.findings[0].message
    assert checked.is_clear
    assert check(layout_of(posts(path=HIGH))).findings == ()


def test_a_chain_that_cannot_be_is_refused_where_it_stands():
    text = posts("[{shape: rigid_fitting}, {shape: tee}]")
    with pytest.raises(SceneErrors) as caught:
        parse_scene(text, "test.yaml")
    assert [(p.key, p.message.split(";")[0]) for p in caught.value.problems] == [
        (
            "tubes.over.fittings[0][0].shape",
            "'rigid_fitting' takes the tube, so it must be the last of the list",
        ),
        ("tubes.over.fittings[0][1].shape", "'tee' is no fitting: it takes no tube"),
    ]
