"""What ``fit`` answers is what ``check`` says of the scene edited that way; slides against closed forms."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layout3d.build import build
from layout3d.checks.check import check
from layout3d.errors import RequestError
from layout3d.fit.answer import FitAnswer, fit
from layout3d.fit.slides import Pair, free_slides
from layout3d.fit.worst import worst_failure
from layout3d.kernels.bodies import Body, body
from layout3d.kernels.measure import measure
from layout3d.scene.reader import parse_scene
from shapes.pose import Pose
from shapes.primitives import Box, Cylinder, Plate, RoundOpening

ROOT = Path(__file__).parent.parent.parent
THICK = (ROOT / "scenes" / "thick_radiator.yaml").read_text(encoding="utf-8")
#: The same without the tubes that end on the roof's radiator, and with no path to find.
BARE = THICK[: THICK.index("  cpu_roof:")].replace("thickness: 60", "thickness: THICK")
GROUP = {"roof_radiator", "roof_fan_1", "roof_fan_2", "roof_fan_3", "more_1", "more_2", "more_3"}
X = np.array((1.0, 0.0, 0.0))


def answer(text: str, part: str) -> FitAnswer:
    return fit(parse_scene(text, "test.yaml"), part)


def clears(text: str) -> bool:
    """What the whole checker says of the roof's stack: no error in space that names a part of it."""
    findings = check(build(parse_scene(text, "test.yaml"))).findings
    return not any(
        finding.severity == "error"
        and finding.rule in ("overlap", "gap", "keep-out")
        and GROUP & set(finding.parts)
        for finding in findings
    )


ORDERS = {
    "push, fans inside": "panel, roof_radiator, roof_fan",
    "pull, fans outside": "panel, roof_fan, roof_radiator",
    "push-pull": "panel, roof_fan, roof_radiator, more",
}


def edited(thickness: float, fans: str, slide: float = -16.5, turn: int = 180, flip: bool = False) -> str:
    radiator = "{part: roof_radiator, flip: true}" if flip else "roof_radiator"
    order = ORDERS[fans].replace("roof_radiator", radiator)
    text = BARE.replace("THICK", f"{thickness:g}").replace("slide: -16.5", f"slide: {slide!r}")
    text = text.replace("turn: 180", f"turn: {turn}").replace(ORDERS["push, fans inside"], order)
    return text.replace("\nstacks:", "  more: {shape: fan, count: 3}\n\nstacks:") if "more" in order else text


@pytest.fixture(scope="module")
def roof() -> FitAnswer:
    return answer(edited(60, "push, fans inside"), "roof_radiator")


def test_every_row_is_what_check_says_of_the_edited_scene(roof):
    sizes = [row for row in roof.rows if row.variant.way == "as written"]
    assert {row.variant.thickness for row in sizes} == {27, 30, 38, 40, 45, 54, 60, 80, 86}
    assert {row.variant.fans for row in sizes} == set(ORDERS)
    # The thickest that fits and the next.
    for row in sizes:
        if row.variant.thickness in (30, 38):
            written = edited(row.variant.thickness, row.variant.fans)
            assert row.clears == clears(written), (row.variant.thickness, row.variant.fans)


def test_by_hand_what_fits_the_roof(roof):
    # By hand: the roof's inner face is 479 mm up and the room of the CPU's power cable ends at 423: 56 mm.
    # A fan takes 25 of it (common practice), so 27 and 30 go in with one row of fans and nothing with two.
    fitting = {(row.variant.thickness, row.variant.fans) for row in roof.rows if row.clears}
    assert fitting == {(t, f) for t in (27, 30) for f in ("push, fans inside", "pull, fans outside")}
    assert roof.fits
    assert all(row.failure is not None for row in roof.rows if row.clears is False)


@settings(max_examples=5, deadline=None)
@given(st.sampled_from([27, 30]), st.sampled_from(sorted(ORDERS)), st.floats(-17.7, 17.7))
def test_a_slide_is_free_exactly_where_check_finds_nothing(roof, thickness, fans, slide):
    (row,) = (
        row
        for row in roof.rows
        if (row.variant.thickness, row.variant.fans, row.variant.way) == (thickness, fans, "as written")
    )
    ends = [end for span in row.slides for end in span]
    if any(abs(slide - end) < 0.02 for end in ends):
        return
    free = any(low <= slide <= high for low, high in row.slides)
    assert free == clears(edited(thickness, fans, slide))


def test_other_ways_round_are_asked_too():
    found = answer(edited(30, "push, fans inside"), "roof_radiator")
    ways = {row.variant.way: row for row in found.rows if row.variant.way != "as written"}
    assert set(ways) == {"flipped", "turned 180 with its stack", "flipped and turned 180 with its stack"}
    for way, row in ways.items():
        turn = 0 if "turned" in way else 180
        assert row.clears == clears(edited(30, "push, fans inside", turn=turn, flip="flipped" in way)), way


def test_tubes_of_the_part_are_left_out_by_name():
    text = """\
layout3d: 1
tubings: {t: {kind: rigid, outside: 14, inside: 10, bend_radius: 36}}
parts:
  rad: {shape: radiator, at: [0, 0, 0]}
  fan: {shape: fan, fixed_to: {mount: rad.a}}
  pump: {shape: pump, at: [-200, 0, -100]}
  other: {shape: radiator, at: [0, 400, 0]}
tubes:
  on_it: {tubing: t, from: rad.in, to: pump.out, path: auto}
  past_it: {tubing: t, from: other.in, to: pump.in, path: auto}
  fixed: {tubing: t, from: other.out, to: pump.out, path: [[-500, 430, -50]]}
"""
    found = answer(text, "rad")
    assert found.left_out == (("on_it", "ends on it"), ("past_it", "finds its own way round it"))
    assert found.group == ("rad", "fan")


WALLED = """\
layout3d: 1
parts:
  case: {shape: case_tower}
  rad: {shape: radiator, fans: 2, fixed_to: {mount: case.front, by: a}}
  wall:
    shape: custom
    PLACE
    solids: [{box: [10, 10, 10]}]
"""


def test_a_part_fixed_without_a_stack():
    # 39 mm off the rails a wall stands before the fins, which begin 5 mm below the face: 25 and 40 mm off.
    text = WALLED.replace("PLACE", "off: [{face: case.front, gap: 39}]\n    at: [0, 96, 265]")
    rows = answer(text, "rad").rows
    by_thickness = {row.variant.thickness: row for row in rows if row.variant.way == "as written"}
    for thickness in (30, 45):
        written = text.replace("fans: 2", f"fans: 2, thickness: {thickness}")
        findings = check(build(parse_scene(written, "test.yaml"))).findings
        clear = not any("rad" in f.parts and f.severity == "error" for f in findings)
        assert by_thickness[thickness].clears == clear == (thickness == 30)
    assert by_thickness[30].slides


def test_no_slides_are_promised_where_another_part_is_measured_off_it():
    text = WALLED.replace("PLACE", "off: [{face: rad.b, gap: 20}]")
    assert {row.slides for row in answer(text, "rad").rows} == {None}


PUSHED = """\
layout3d: 1
parts:
  case: {shape: case_tower}
  rad: {shape: radiator, fans: 2, thickness: 30, fixed_to: {mount: case.front, by: a}}
  block:
    shape: custom
    at: [0, -130, 250]
    off: [{face: rad.rear, gap: 5}]
    solids: [{box: [40, 40, 40]}]
    ports: {out: {at: [0, 0, 20], facing: roof}}
  wall:
    shape: custom
    at: [350, -130, 250]
    solids: [{box: [10, 40, 40]}]
    ports: {in: {at: [0, 0, 20], facing: roof}}
tubings: {t: {kind: soft, inside: 10, outside: 16, bend_radius: 40}}
tubes: {over: {tubing: t, from: block.out, to: wall.in, path: {cut: 400}}}
"""


def test_what_is_measured_off_a_part_must_clear_too():
    found = answer(PUSHED, "rad")
    assert found.group == ("rad", "block")
    assert found.left_out == (("over", "ends on it"),)
    for row in found.rows:
        if row.clears is not None:
            text = PUSHED[: PUSHED.index("tubings:")].replace(
                "thickness: 30", f"thickness: {row.variant.thickness:g}"
            )
            findings = check(build(parse_scene(text, "test.yaml"))).findings
            if row.variant.way == "as written":
                assert row.clears == all(finding.severity != "error" for finding in findings)
    assert {row.clears for row in found.rows if row.variant.way == "as written"} == {True, False}


def test_no_slide_is_promised_that_takes_the_foot_over_the_edge():
    text = """\
layout3d: 1
parts:
  case: {shape: case_tower}
  pump: {shape: pump, fixed_to: {mount: case.MOUNT}}
"""
    case = parse_scene(text.partition("  pump")[0], "test.yaml").parts["case"].part
    stand = next(name for name, mount in case.mounts.items() if mount.kind == "stand" and mount.surface)
    text = text.replace("MOUNT", stand)
    (row,) = (row for row in answer(text, "pump").rows if row.variant.way == "as written")
    for end in (row.slides[0][0], row.slides[-1][1]):
        written = text.replace(stand, f"{stand}, slide: {end}")
        build(parse_scene(written, "test.yaml"))


def test_an_unknown_part_is_refused_with_those_there_are():
    with pytest.raises(RequestError, match=r"unknown part 'rod'; known: .*roof_radiator"):
        answer(THICK, "rod")


def box(size, at) -> Body:
    return body(Box(size), Pose.at(at))


def test_between_two_posts_the_free_slides_are_closed_forms():
    # 20 mm box, posts 10 mm wide with middles at -50 and 60, gap 1: free from -50+5+10+1 to 60-5-10-1.
    moving = box((20, 20, 20), (0, 0, 0))
    posts = [box((10, 10, 10), (x, 0, 0)) for x in (-50, 60)]
    found = free_slides([Pair(moving, post, 1.0) for post in posts], X, [(-80, 90)])
    assert found == [
        (pytest.approx(-80), pytest.approx(-66)),
        (pytest.approx(-34), pytest.approx(44)),
        (pytest.approx(76), pytest.approx(90)),
    ]


def test_round_posts_to_the_resolution():
    # Two cylinders of 10 and 20 mm diameter, axes 9 mm apart across: they touch sqrt(15**2 - 9**2) = 12 off.
    moving = body(Cylinder(10, 40), Pose.at((0, 0, 0)))
    post = body(Cylinder(20, 40), Pose.at((0, 9, 0)))
    (low, left), (right, high) = free_slides([Pair(moving, post, 0.0)], X, [(-40, 40)])
    assert (low, high) == (-40, 40)
    assert -12.02 <= left <= -12 + 1e-6
    assert 12 - 1e-6 <= right <= 12.02


def test_sliding_along_what_it_touches_is_free_and_under_it_is_not():
    sheet = body(Plate((200, 80), 2, (RoundOpening((0, 0), 50),)), Pose.at((0, 0, 11)))
    touching = Pair(box((20, 20, 20), (0, 0, 0)), sheet, 0.0)
    assert free_slides([touching], X, [(-60, 60)]) == [(-60, 60)]
    # 1 mm too high it fits the hole only: corner at (10 + s, 10) within 25 of its middle.
    (span,) = free_slides([Pair(box((20, 20, 20), (0, 0, 1)), sheet, 0.0)], X, [(-60, 60)])
    reach = (25**2 - 10**2) ** 0.5 - 10
    assert span == (pytest.approx(-reach, abs=0.02), pytest.approx(reach, abs=0.02))


angles = st.floats(-180, 180)


@settings(max_examples=6, deadline=None)
@given(
    st.lists(
        st.tuples(st.floats(-60, 60), st.floats(-25, 25), st.floats(-25, 25), angles, angles),
        min_size=1,
        max_size=2,
    ),
    st.floats(0, 5),
)
def test_free_means_free_at_every_slide_measured(posts, gap):
    moving = body(Cylinder(16, 30), Pose.at((0, 0, 0), (30.0, 20.0, 0.0)))
    others = [body(Box((12, 20, 8)), Pose.at((x, y, z), (a, b, 0.0))) for x, y, z, a, b in posts]
    free = free_slides([Pair(moving, other, gap) for other in others], X, [(-50, 50)])
    for slide in np.linspace(-50, 50, 9).tolist():
        spare = min(measure(moving.moved(X * slide), other).gap_mm for other in others) - gap
        inside = any(low <= slide <= high for low, high in free)
        assert not inside or spare >= -2e-6
        assert inside or spare <= 0.02


def run(*arguments: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "layout3d", "fit", *arguments]
    return subprocess.run(command, cwd=ROOT, capture_output=True, text=True, encoding="utf-8", check=False)


def test_exit_status_and_words(tmp_path):
    scene = tmp_path / "two.yaml"
    wall = "{shape: custom, at: [0, 0, Z], solids: [{box: [50, 50, 10]}]}"
    text = f"layout3d: 1\nparts:\n  fan: {{shape: fan, at: [0, 0, 0]}}\n  wall: {wall}\n"
    scene.write_text(text.replace("Z", "25"), encoding="utf-8")
    done = run(str(scene), "--part", "fan")
    assert done.returncode == 0
    rows = [re.split(r" {2,}", line) for line in done.stdout.splitlines() if re.match(r"\d", line)]
    # A face 20 mm off the middle, 1 mm wanted: frames up to 38 thick clear.
    assert [row[:3] for row in rows] == [[t, "as written", "clears"] for t in ("15", "25", "30", "38")]
    scene.write_text(text.replace("Z", "0"), encoding="utf-8")
    assert run(str(scene), "--part", "fan").returncode == 1
    done = run(str(scene), "--part", "van")
    assert (done.returncode, done.stdout) == (2, "")
    assert "unknown part 'van'; known: fan, wall" in " ".join(done.stderr.split())
    result = json.loads(run(str(scene), "--part", "fan", "--json").stdout)
    assert list(result) == ["layout3d", "scene", "part", "moves_with_it", "fits", "left_out", "variants"]
    assert result["fits"] is False
    assert result["variants"][0]["failure"]["rule"] == "overlap"
    assert result["variants"][0]["failure"]["parts"] == ["fan", "wall"]


def test_nothing_to_meet_is_clear():
    from layout3d.checks.items import items_of

    layout = build(parse_scene("layout3d: 1\nparts:\n  fan: {shape: fan}\n", "test.yaml"))
    assert worst_failure(layout, items_of(layout), frozenset(("fan",))) is None
