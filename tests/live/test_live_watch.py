"""Following a scene: what is told of it, and which of its files lead to a new look."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from layout3d.live.watch import Follower, Look
from tests.browser import ROOT


def state(look: Look) -> dict[str, Any]:
    told: dict[str, Any] = json.loads(look.message)
    return told


def test_an_unreadable_scene_is_told_without_a_view_until_it_can_be_read(tmp_path: Path):
    scene = tmp_path / "s.yaml"
    scene.write_text("layout3d: 1\nparts: {a: {shape: fann}}\n")
    follower = Follower(scene)
    first = state(follower.look())
    assert first["good"] is None
    assert first["stale"] is False
    assert "Cannot be read: line 2" in first["words"]["verdict"]
    assert "did you mean fan" in first["words"]["lists"]
    scene.write_text("layout3d: 1\nparts: {a: {shape: fan}}\n")
    second = state(follower.look())
    assert [node["name"] for node in second["good"]["nodes"]] == ["a"]


def test_the_last_good_state_stays_while_the_file_is_broken(tmp_path: Path):
    scene = tmp_path / "s.yaml"
    scene.write_text("layout3d: 1\nparts: {a: {shape: fan}}\n")
    follower = Follower(scene)
    good = state(follower.look())["good"]
    scene.write_text("layout3d: 1\nparts: {a: {shape: fan}, b: [}\n")
    look = follower.look()
    assert not look.is_good
    assert state(look)["good"] == good
    assert state(look)["stale"] is True
    assert "cannot be read: s.yaml:2:" in look.line


def test_a_name_is_never_markup(tmp_path: Path):
    scene = tmp_path / "s.yaml"
    hostile = "<img src=x onerror=alert(1)>"
    scene.write_text(f'layout3d: 1\ntitle: "{hostile}"\nparts: {{"{hostile}": {{shape: "{hostile}"}}}}\n')
    words = state(Follower(scene).look())["words"]
    assert all("<img" not in words[name] for name in words if name != "title")


def test_part_files_and_the_files_they_import_are_followed(tmp_path: Path):
    trimesh = pytest.importorskip("trimesh")
    shelf = tmp_path / "mine"
    shelf.mkdir()
    block, parts, scene = shelf / "block.stl", shelf / "parts.yaml", tmp_path / "s.yaml"
    trimesh.creation.box((10, 20, 30)).export(block)
    parts.write_text(
        "layout3d_parts: 1\nparts:\n  block: {shape: import, file: block.stl, units: mm}\n"
        "  post: {shape: custom, solids: [{box: [40, 40, 20]}]}\n"
    )
    scene.write_text(
        "layout3d: 1\nlibrary: [mine]\nparts: {a: {use: block}, b: {use: post, at: [90, 0, 0]}}\n"
    )
    follower = Follower(scene)
    keys = [node["key"] for node in state(follower.look())["good"]["nodes"]]
    assert not follower._watched.changed()
    trimesh.creation.box((10, 20, 31)).export(block)
    assert follower._watched.changed()
    parts.write_text(parts.read_text().replace("40, 40", "41, 40"))
    assert follower._watched.changed()
    changed = [node["key"] for node in state(follower.look())["good"]["nodes"]]
    assert len({*keys, *changed}) == 4


def test_help_names_what_there_is():
    done = subprocess.run(
        [sys.executable, "-m", "layout3d", "watch", "--help"],
        cwd=ROOT, capture_output=True, text=True, check=True,
    )  # fmt: skip
    for word in ("SCENE", "--port", "--no-open"):
        assert word in done.stdout


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["watch", "nowhere.yaml"], "there is no file nowhere.yaml"),
        (["watch", "scenes"], "is a folder"),
        (
            ["watch", "scenes/two_posts.yaml", "--port", "99999"],
            "port 99999 cannot be had: bind(): port must be 0-65535.; give another",
        ),
    ],
)
def test_requests_that_make_no_sense_end_with_two(arguments: list[str], words: str):
    done = subprocess.run(
        [sys.executable, "-m", "layout3d", *arguments], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 2
    assert words in " ".join(done.stderr.split())
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize("command", ["watch", "preview"])
def test_a_library_that_is_not_there_is_named_with_what_to_install(command: str):
    arguments = [command, "scenes/two_posts.yaml", *(["--to", "never.html"] if command == "preview" else [])]
    script = (
        "import sys\nsys.modules['manifold3d'] = None\n"
        f"sys.argv = ['layout3d', *{arguments!r}]\nfrom layout3d.cli import main\nmain()\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 2
    assert f"'{command}' needs manifold3d" in done.stderr
    assert "pip install '.[export]'" in " ".join(done.stderr.split())
