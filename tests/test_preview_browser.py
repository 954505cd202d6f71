"""The preview page as a client uses it: driven in a real browser, and its script built anew from source."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import pytest

from layout3d.build import build
from layout3d.checks.check import Checked, check
from layout3d.layout import Layout
from layout3d.preview.write import preview_text
from layout3d.scene.reader import parse_scene, read_scene
from tests.browser import CHROMIUM, ROOT, in_browser, needs_npm, once, run, workshop

__all__ = ["workshop"]

HOSTILE = "<img src=x onerror=window.hostile=1></script><script>window.hostile=2</script>"
POSTS = """\
layout3d: 1
title: "HOSTILE"
tubings:
  rigid14: {kind: rigid, outside: 14, inside: 10, bend_radius: 36, end_straight: 20, between_bends: 14}
parts:
  left:
    shape: custom
    label: "HOSTILE"
    note: "bored by hand HOSTILE"
    solids:
      - {box: [40, 40, 20], at: [0, 0, 10]}
      - {cylinder: {diameter: 30, length: 50}, at: [0, 0, 45], axis: roof}
    ports: {out: {at: [0, 0, 70], facing: roof, thread: G1/4}}
  right: {shape: custom, at: [200, 0, 0], solids: [{box: [40, 40, 20], at: [0, 0, 10]}],
    ports: {in: {at: [0, 0, 20], facing: roof, thread: G1/4}}}
tubes:
  over: {tubing: rigid14, from: left.out, to: right.in, fittings: [none, none], path: auto}
""".replace("HOSTILE", HOSTILE.replace('"', '\\"'))
THIRD = "  third: {shape: custom, at: [235, 0, 0], solids: [{box: [30, 30, 30]}]}\n"
CROSSED = POSTS.replace("at: [200, 0, 0]", "at: [210, 0, 0]").replace("tubes:", f"{THIRD}tubes:")

pytestmark = needs_npm


@pytest.fixture(scope="module")
def seen(workshop: Path) -> dict[str, Any]:
    """What the browser saw; see preview_page/test/drive.mjs."""
    found: dict[str, Any] = json.loads((once(workshop / "pages", _drive) / "seen.json").read_text("utf-8"))
    return found


def _drive(folder: Path) -> None:
    posts, crossed = _both(POSTS), _both(CROSSED)
    tower = build(read_scene(ROOT / "scenes" / "editing_tower.yaml"))
    texts = {
        "posts": preview_text(*posts),
        "crossed": preview_text(*crossed, before=posts),
        "tower": preview_text(tower, check(tower)),
    }
    for name, text in texts.items():
        (folder / f"{name}.html").write_bytes(text.encode())
    printed = run("node", "test/drive.mjs", str(CHROMIUM), str(folder), folder=folder.parent / "preview_page")
    found = {**json.loads(printed), "bytes": len(texts["tower"].encode())}
    (folder / "seen.json").write_text(json.dumps(found), "utf-8")


def _both(text: str) -> tuple[Layout, Checked]:
    layout = build(parse_scene(text, "posts.yaml"))
    return layout, check(layout)


def test_the_committed_script_is_what_its_source_builds(workshop: Path):
    built = workshop / "layout3d" / "preview" / "page.js"
    built.parent.mkdir(parents=True)
    run("npm", "run", "build", folder=workshop / "preview_page")
    assert built.read_bytes() == (ROOT / "layout3d" / "preview" / "page.js").read_bytes()


@in_browser
def test_nothing_leaves_the_page_and_nothing_is_refused_in_it(seen):
    assert seen["requests"] == []
    assert seen["complaints"] == []


@in_browser
def test_names_do_nothing(seen):
    hostile, images = seen["posts"]["hostile"]
    assert hostile is None
    assert images == 1  # the still drawing


@in_browser
def test_keys_turn_and_near_the_camera(seen):
    # From the window is along -y of the scene, which is +z in the y-up frame of glTF 2.0.
    assert seen["posts"]["window"][:3] == pytest.approx([0, 0, 1], abs=1e-6)
    assert seen["posts"]["turned"][0] == pytest.approx(math.sin(0.12), abs=1e-6)
    assert seen["posts"]["nearer"] == pytest.approx(0.87, abs=1e-6)


@in_browser
def test_a_click_names_outlines_and_tells_of_a_part(seen):
    picked = seen["posts"]["picked"]
    assert picked["row"] == "left"
    assert picked["card"].startswith("left")
    for word in ("40 x 40 x 70 mm", "bored by hand", "ports: out", HOSTILE):
        assert word in picked["card"]
    assert picked["faded"] == [False, True]
    assert picked["outlined"] > 0


@in_browser
def test_what_is_hidden_is_gone_and_comes_back(seen):
    assert seen["posts"]["hidden"] == [False, False]
    assert seen["posts"]["bare"] < 200
    assert seen["posts"]["again"] == [True, 255]
    assert seen["posts"]["group"] == [False, False]


@in_browser
def test_a_chosen_tube_tells_its_lengths_in_the_picture(seen):
    layout, _ = _both(POSTS)
    (tube,) = layout.tubes
    assert f"over: cut {tube.cut_mm:.1f} mm" in seen["posts"]["tube"]["tags"]
    straights = [f"{bend.straight_mm:.1f}" for bend in tube.bends] + [f"{tube.last_straight_mm:.1f}"]
    assert seen["posts"]["tube"]["tags"][: len(straights)] == straights


@in_browser
def test_two_ports_are_measured_by_pythagoras(seen):
    assert "the middle of left.out" in seen["posts"]["from"]
    measured = seen["posts"]["measured"]
    assert measured.startswith(f"{math.hypot(200, 50):.1f} mm")
    assert "200.0 toward the front, 50.0 toward the floor" in measured


@in_browser
def test_a_cut_is_filled_with_hatching_and_with_coolant(seen):
    red, green, blue, cover = seen["posts"]["cut"]["solid"]
    assert cover == 255
    assert red > green > blue > 80  # paper or the lines on it, both warm
    assert seen["posts"]["cut"]["coolant"] == pytest.approx([0x8F, 0xD3, 0xE0, 255], abs=3)


@in_browser
def test_the_order_plays_to_its_end_and_then_no_frame_is_drawn(seen):
    assert seen["posts"]["first"][1:] in ([False, False, "1 of 3"], [True, False, "1 of 3"])
    assert seen["posts"]["first"].count(True) == 1
    assert seen["posts"]["last"] == [True, True, True, "3 of 3"]
    assert seen["posts"]["idle"] == 0


@in_browser
def test_it_prints_picture_and_tables_without_tools(seen):
    assert seen["posts"]["print"] == [False, True, True]


@in_browser
def test_before_and_now_stand_side_by_side_under_one_camera(seen):
    crossed = seen["crossed"]
    assert crossed["canvases"] == 2
    assert crossed["eyes"][0] == crossed["eyes"][1]
    for words in ("third", "10 mm toward the front", "mm longer", "error overlap"):
        assert words in crossed["changed"]


@in_browser
def test_a_pin_leads_to_its_finding(seen):
    assert "!1" in seen["crossed"]["pins"]
    assert seen["crossed"]["sought"]["card"].startswith("error: overlap")
    assert seen["crossed"]["sought"]["row"] == "0"


@in_browser
def test_apart_everything_leaves_the_case_and_stays_in_the_picture(seen):
    apart = seen["tower"]["apart"]
    assert apart["out"] == 0
    assert apart["radiator"][0] == pytest.approx(0, abs=1e-6)
    assert apart["radiator"][1] > 0
    assert apart["board"][2] > 215  # the case is 215 mm deep


@in_browser
def test_a_phone_shows_it_without_scrolling_aside_and_takes_touches(seen):
    assert seen["tower"]["wide"] <= 0
    assert seen["tower"]["tapped"].startswith("case")


@in_browser
def test_no_accessibility_rule_is_broken(seen):
    # axe-core 4.14, all its default rules; WCAG contrast included.
    assert {where: found for where, found in seen["axe"].items() if found} == {}
    assert set(seen["axe"]) == {"light", "dark", "phone", "phoneDark", "crossed"}


@in_browser
def test_without_script_a_still_picture_and_the_tables_show(seen):
    assert seen["tower"]["still"] == [True, False, True]
    assert seen["tower"]["stillSize"]["height"] > 200


@in_browser
def test_the_tower_is_small(seen):
    assert seen["bytes"] < 2_000_000
