"""Which files a live view looks at, and when it says that one changed."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from layout3d.live.files import Watched, named_files


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "scene.yaml"
    path.write_bytes(b"layout3d: 1\n")
    return path


def test_nothing_changes_by_itself_or_by_saving_the_same_again(file: Path):
    watched = Watched([file])
    assert not watched.changed()
    file.write_bytes(b"layout3d: 1\n")
    os.utime(file, (1, 1))
    assert not watched.changed()


@pytest.mark.parametrize("old", [False, True])
def test_a_change_is_seen_once(file: Path, old: bool):
    if old:
        os.utime(file, (1_000_000, 1_000_000))
    watched = Watched([file])
    file.write_bytes(b"layout3d: 1\n# more\n")
    assert watched.changed()
    assert not watched.changed()


def test_a_change_within_the_clock_of_the_disk_is_seen(file: Path):
    # FAT keeps the time of last change to two seconds: same time, same size, other bytes.
    state = file.stat()
    watched = Watched([file])
    file.write_bytes(b"layout3d: 2\n")
    os.utime(file, ns=(state.st_atime_ns, state.st_mtime_ns))
    assert file.stat().st_size == state.st_size
    assert watched.changed()


def test_a_file_replaced_by_renaming_is_seen(file: Path):
    watched = Watched([file])
    other = file.with_suffix(".tmp")
    other.write_bytes(b"layout3d: 3\n")
    os.replace(other, file)
    assert watched.changed()


def test_going_and_coming_are_changes(file: Path):
    watched = Watched([file])
    file.unlink()
    assert watched.changed()
    assert not watched.changed()
    file.write_bytes(b"layout3d: 1\n")
    assert watched.changed()


def test_a_file_that_is_not_there_yet_is_waited_for(tmp_path: Path):
    watched = Watched([tmp_path / "pump.step"])
    assert not watched.changed()
    (tmp_path / "pump.step").write_bytes(b"ISO-10303-21;")
    assert watched.changed()


def test_files_watched_already_keep_what_is_known_of_them(file: Path):
    watched = Watched([file])
    file.write_bytes(b"layout3d: 4\n")
    watched.watch([file, file.with_name("other.yaml")])
    assert watched.paths == {file, file.with_name("other.yaml")}
    assert watched.changed()


def test_part_files_and_imported_files_are_named(tmp_path: Path):
    (tmp_path / "mine" / "deep").mkdir(parents=True)
    (tmp_path / "mine" / "pumps.yaml").touch()
    (tmp_path / "mine" / "deep" / "blocks.yml").touch()
    (tmp_path / "mine" / "notes.txt").touch()
    text = "layout3d: 1\nlibrary: [mine]\nparts:\n  a: {shape: import, file: a.step}\n  b: {shape: fan}\n"
    named = named_files(text, tmp_path)
    assert named is not None
    found = {path.relative_to(tmp_path).as_posix() for path in named}
    assert found == {"mine/pumps.yaml", "mine/deep/blocks.yml", "a.step"}


@pytest.mark.parametrize(
    "text", ["layout3d: 1\n", "layout3d: 1\nlibrary: mine\n", "layout3d: 1\nlibrary: [3]\nparts: [1]\n"]
)
def test_a_scene_that_names_none_or_names_them_wrong_has_none(text: str, tmp_path: Path):
    assert named_files(text, tmp_path) == []


def test_a_text_that_is_no_yaml_says_nothing_of_its_files(tmp_path: Path):
    assert named_files("parts: [", tmp_path) is None
