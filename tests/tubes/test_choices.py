"""Ways to run one tube: what is listed is clear, none better than another, and kept as listed."""

from __future__ import annotations

import itertools
import json
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layout3d.build import build
from layout3d.checks.check import check
from layout3d.errors import RequestError
from layout3d.scene.reader import parse_scene
from layout3d.tubes.choices import choices_of, chosen, kept

ROOT = Path(__file__).parents[2]

SCENE = """\
layout3d: 1
tubings:
  rigid14: {kind: rigid, outside: 14, inside: 10, bend_radius: 30, end_straight: 20, between_bends: 14}
  soft: {kind: soft, outside: 16, inside: 10, bend_radius: 45}
parts:
  left: {shape: custom, at: [0, 0, 0], solids: [{box: [40, 40, 20], at: [0, 0, 10]}],
    ports: {out: {at: [0, 0, 20], facing: roof}, up: {at: [0, 10, 20], facing: roof}}}
  right: {shape: custom, at: [220, 60, 30], solids: [{box: [40, 40, 20], at: [0, 0, 10]}],
    ports: {in: {at: [0, 0, 20], facing: roof}, up: {at: [0, 10, 20], facing: roof}}}
  wall: {shape: custom, at: [110, 30, 50], solids: [{box: [20, 60, 100]}]}
tubes:
  over: {tubing: rigid14, from: left.out, to: right.in, path: auto}   # the one to be cut
"""
HOSE = "  hose: {tubing: soft, from: left.up, to: right.up, path: auto}\n"
GIVEN = "  given: {tubing: rigid14, from: left.up, to: right.up, path: straight}\n"


def scene_of(text=SCENE):
    return parse_scene(text, "choices.yaml")


@pytest.fixture(scope="module")
def listed():
    return choices_of(scene_of(), "over")


def rank(one):
    return one.path_mm, one.bends, one.angles == "any", -one.kept_mm, len(one.crosses)


def test_there_is_something_to_choose_and_none_betters_another(listed):
    assert len(listed) > 1
    for one, other in itertools.permutations(listed, 2):
        assert any(a > b + 0.01 for a, b in zip(rank(one), rank(other), strict=True))
    assert [one.path_mm for one in listed] == sorted(one.path_mm for one in listed)


def test_a_right_angled_run_of_the_search_is_never_shorter_than_the_shortest_listed(listed):
    assert listed[0].path_mm <= build(scene_of()).tubes[0].path_mm + 0.01


def test_each_is_kept_as_it_was_listed(listed):
    for one in listed:
        layout = build(scene_of(kept(SCENE, scene_of(), "over", one)))
        (tube,) = layout.tubes
        assert tube.path_mm == pytest.approx(one.path_mm, abs=1e-9)
        assert len(tube.bends) == one.bends
        assert not [f for f in check(layout).findings if f.severity == "error"]


@settings(max_examples=40, deadline=None)
@given(
    ending=st.sampled_from(["\n", "\r\n"]),
    mark=st.sampled_from(["", "\ufeff"]),
    comment=st.text(st.characters(categories=("L", "N", "S")), max_size=12),
    number=st.integers(0, 1),
)
def test_every_other_byte_stays(listed, ending, mark, comment, number):
    text = mark + SCENE.replace("# the one", f"# {comment} the one").replace("\n", ending)
    written = kept(text, scene_of(text), "over", listed[number])
    head, tail = text.split("path: auto")
    assert written.startswith(head + "path: [[")
    assert written.endswith(tail)
    assert parse_scene(written, "choices.yaml").tubes["over"].path.corners == listed[number].corners


@pytest.mark.parametrize(
    ("more", "name", "said"),
    [
        ("", "ovr", "did you mean over"),
        (HOSE, "hose", "soft"),
        (GIVEN, "given", "write `path: auto`"),
    ],
)
def test_what_has_no_choices_says_why(more, name, said):
    with pytest.raises(RequestError, match=said):
        choices_of(scene_of(SCENE + more), name)


def test_a_path_left_out_has_nothing_to_replace(listed):
    text = SCENE.replace(", path: auto", "")
    with pytest.raises(RequestError, match="write `path: auto` there first"):
        kept(text, scene_of(text), "over", listed[0])


@pytest.mark.parametrize("number", [0, -1, 99])
def test_a_choice_there_is_not(listed, number):
    with pytest.raises(RequestError, match=f"choose 1 to {len(listed)}"):
        chosen(listed, number)


def run(*arguments):
    command = [sys.executable, "-m", "layout3d", "tubes", *arguments]
    return subprocess.run(command, cwd=ROOT, capture_output=True, text=True, encoding="utf-8", check=False)


def test_the_command_lists_keeps_and_leaves_alone_what_it_cannot_write(tmp_path, listed):
    file = tmp_path / "choices.yaml"
    file.write_bytes(SCENE.replace("\n", "\r\n").encode())
    assert run(str(file), "--keep", "1").returncode == 2
    bad = run(str(file), "--choices", "over", "--keep", "99")
    assert (bad.returncode, "choose 1 to" in bad.stderr) == (2, True)
    assert file.read_bytes() == SCENE.replace("\n", "\r\n").encode()
    told = json.loads(run(str(file), "--choices", "over", "--json").stdout)
    assert [tuple(map(tuple, one["corners_mm"])) for one in told["choices"]] == [
        one.corners for one in listed
    ]
    assert run(str(file), "--choices", "over", "--keep", "2").returncode == 0
    assert file.read_bytes() == kept(SCENE, scene_of(), "over", listed[1]).replace("\n", "\r\n").encode()
