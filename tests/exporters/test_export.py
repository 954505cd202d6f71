"""What an export does to a folder: whole or not at all, and only its own files."""

from __future__ import annotations

import hashlib
import importlib.abc
import json
import os
import subprocess
import sys
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from types import ModuleType

import pytest

from layout3d import exporters
from layout3d.errors import RequestError
from layout3d.exporters import export, manifest
from layout3d.exporters import stl as stl_module
from layout3d.exporters.contents import contents_of
from layout3d.exporters.whole import write_whole
from layout3d.layout import Layout
from shapes.part import Part
from shapes.pose import Pose
from shapes.primitives import Arc, Box, Plate, RectOpening, TubeRun
from tests.exporters import layouts

ALL = ("step", "stl", "glb")


def state(folder: Path) -> dict[str, str]:
    """Everything below a folder and what is in it."""
    return {str(path.relative_to(folder)): content(path) for path in sorted(folder.rglob("*"))}


def content(path: Path) -> str:
    return "folder" if path.is_dir() else hashlib.sha256(path.read_bytes()).hexdigest()


def names(paths: Sequence[Path]) -> list[str]:
    return [path.name for path in paths]


def one(name: str = "left", size: float = 10.0, file: str = "posts.yaml") -> Layout:
    return layouts.layout(layouts.placed(name, layouts.single(Box((size, 20.0, 30.0)))), file=file)


def test_all_formats_and_the_list_of_files(tmp_path: Path) -> None:
    told: list[str] = []
    report = export(layouts.two_posts(), tmp_path / "new" / "out", ALL, progress=told.append)
    want = ["back.stl", "left.stl", "over.stl", "posts.glb", "posts.step", "right.stl", "whole.stl"]
    assert names(report.written) == want
    assert set(os.listdir(tmp_path / "new" / "out")) == {*want, "layout3d-files.json"}
    assert (report.removed, report.notes) == ((), ())
    assert {"step: left", "stl: over", "glb: posts.glb"} <= set(told)
    listed = json.loads((tmp_path / "new" / "out" / "layout3d-files.json").read_text(encoding="utf-8"))
    assert listed["layout3d"]
    assert {name: entry["sha256"] for name, entry in listed["files"].items()} == {
        path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in report.written
    }
    assert {entry["scene"] for entry in listed["files"].values()} == {"posts.yaml"}


def test_the_same_layout_gives_the_same_bytes(tmp_path: Path) -> None:
    export(layouts.two_posts(), tmp_path / "a", ALL)
    export(layouts.two_posts(), tmp_path / "b", ALL)
    assert state(tmp_path / "a") == state(tmp_path / "b")


def test_files_get_the_rights_that_any_new_file_gets(tmp_path: Path) -> None:
    (path, _) = export(one(), tmp_path / "out", ("stl",)).written
    plain = tmp_path / "plain"
    plain.touch()
    assert path.stat().st_mode == plain.stat().st_mode


# Formats and libraries


@pytest.mark.parametrize(
    ("asked", "match"),
    [
        (("step", "stp"), r"unknown format 'stp'; did you mean step\? \(known: step, stl, glb\)"),
        (("STL",), r"unknown format 'STL'; did you mean stl\?"),
        (("dwg",), r"unknown format 'dwg' \(known: step, stl, glb\)"),
        ((), r"no format asked for; known: step, stl, glb"),
    ],
)
def test_unknown_formats_are_refused_before_anything_is_made(
    asked: tuple[str, ...], match: str, tmp_path: Path
) -> None:
    with pytest.raises(RequestError, match=match):
        export(one(), tmp_path / "out", asked)
    assert state(tmp_path) == {}


def test_a_format_asked_for_twice_is_written_once(tmp_path: Path) -> None:
    assert names(export(one(), tmp_path, ("glb", "glb")).written) == ["posts.glb"]


class _Missing(importlib.abc.MetaPathFinder):
    """An import system in which some libraries do not load."""

    def __init__(self, errors: dict[str, ImportError]) -> None:
        self.errors = errors

    def find_spec(self, name: str, path: object, target: ModuleType | None = None) -> None:
        if name.partition(".")[0] in self.errors:
            raise self.errors[name.partition(".")[0]]


@pytest.fixture
def missing(monkeypatch: pytest.MonkeyPatch) -> Iterator[dict[str, ImportError]]:
    errors: dict[str, ImportError] = {}
    ours = {
        exporters: ("step", "stl", "glb"),
        sys.modules["layout3d.realise"]: ("brep", "facets", "mesh", "normals"),
    }
    for name in list(sys.modules):
        if name.partition(".")[0] in {"cadquery", "OCP", "manifold3d"}:
            monkeypatch.delitem(sys.modules, name)
    for package, modules in ours.items():
        for name in modules:
            monkeypatch.delitem(sys.modules, f"{package.__name__}.{name}", raising=False)
            monkeypatch.delattr(package, name, raising=False)
    monkeypatch.setattr(sys, "meta_path", [_Missing(errors), *sys.meta_path])
    return errors


@pytest.mark.parametrize(
    ("library", "wanted"), [("cadquery", "step"), ("manifold3d", "stl"), ("manifold3d", "glb")]
)
def test_a_missing_library_is_told_with_what_to_install(
    library: str, wanted: str, missing: dict[str, ImportError], tmp_path: Path
) -> None:
    missing[library] = ModuleNotFoundError(f"No module named '{library}'", name=library)
    with pytest.raises(RequestError, match=rf"'{wanted}' needs {library}.*pip install '\.\[export\]'"):
        export(one(), tmp_path / "out", (wanted,))
    assert state(tmp_path) == {}


def test_a_missing_graphics_library_is_told_with_the_system_package(
    missing: dict[str, ImportError], tmp_path: Path
) -> None:
    words = "libGL.so.1: cannot open shared object file: No such file or directory"
    missing["cadquery"] = ImportError(words)
    with pytest.raises(RequestError, match=r"'step' needs a graphics library .*libGL\.so\.1.*libgl1"):
        export(one(), tmp_path / "out", ("step",))


def test_an_import_that_fails_in_our_own_code_is_not_hidden(
    missing: dict[str, ImportError], tmp_path: Path
) -> None:
    missing["manifold3d"] = ImportError("cannot import name 'x' from 'layout3d.y'", name="layout3d.y")
    with pytest.raises(ImportError, match=r"layout3d\.y"):
        export(one(), tmp_path / "out", ("stl",))


def test_prints_and_views_need_neither_cadquery_nor_trimesh(tmp_path: Path) -> None:
    code = (
        "import sys; from pathlib import Path\n"
        "for name in ('cadquery', 'OCP', 'trimesh', 'scipy'): sys.modules[name] = None\n"
        "from layout3d.exporters import export; from tests.exporters import layouts\n"
        "print(len(export(layouts.two_posts(), Path(sys.argv[1]), ('stl', 'glb')).written))\n"
    )
    root = Path(__file__).parent.parent.parent
    done = subprocess.run(
        [sys.executable, "-c", code, str(tmp_path)], cwd=root, capture_output=True, text=True
    )
    assert (done.stderr, done.stdout.strip()) == ("", "6")


# What has no body


def test_bare_anchors_and_failed_tubes_are_left_out_with_a_note(tmp_path: Path) -> None:
    tight = TubeRun((Arc((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), 6.5, 1.0),), 14.0, 10.0)
    layout = layouts.layout(
        layouts.placed("anchor", Part(())),
        layouts.placed("left", layouts.post()),
        tubes=(layouts.tube("lost", None), layouts.tube("tight", tight)),
    )
    report = export(layout, tmp_path, ALL)
    assert names(report.written) == ["left.stl", "posts.glb", "posts.step", "whole.stl"]
    assert report.notes == (
        "part 'anchor' has no solids: nothing is written for it",
        "tube 'lost' is left out: no path could be made of it",
        "tube 'tight' is left out: a bend of radius 6.5 mm is within the tube's own radius 7 mm",
    )


def test_a_layout_without_any_body_is_refused(tmp_path: Path) -> None:
    with pytest.raises(RequestError, match="nothing to export"):
        export(layouts.layout(layouts.placed("anchor", Part(()))), tmp_path / "out", ALL)


def test_a_scene_without_a_title_is_called_by_its_file() -> None:
    assert contents_of(layouts.layout(layouts.placed("left", layouts.post()), title="")).title == "posts"


@pytest.mark.parametrize("wanted", ALL)
def test_a_layout_whose_openings_leave_nothing_is_refused(wanted: str, tmp_path: Path) -> None:
    gone = Plate((10.0, 10.0), 1.0, (RectOpening((0.0, 0.0), (12.0, 12.0)),))
    with pytest.raises(RequestError, match="nothing to export"):
        export(layouts.layout(layouts.placed("left", layouts.single(gone))), tmp_path / "out", (wanted,))
    assert state(tmp_path) == {}


# Whole or not at all


def test_a_failure_midway_changes_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = tmp_path / "out"
    export(one(), folder, ("stl",))
    (folder / "notes.txt").write_text("mine")
    before = state(folder)

    def full_disk(mesh: object, name: str) -> bytes:
        if name == "whole":
            raise OSError(28, "No space left on device")
        return b"half"

    monkeypatch.setattr(stl_module, "encoded", full_disk)
    with pytest.raises(RequestError, match=r"No space left on device; nothing was changed"):
        export(one(size=11.0), folder, ("stl",))
    assert state(folder) == before


@pytest.mark.parametrize("failing", range(1, 6))
def test_a_failure_while_putting_in_place_is_undone(
    failing: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two files replaced, one new, one removed, the list: a failure at any of the five steps."""
    folder = tmp_path / "out"
    export(
        layouts.layout(layouts.placed("left", layouts.post()), layouts.placed("old", layouts.post())),
        folder,
        ("stl",),
    )
    before = state(folder)
    steps = 0
    replaced, unlinked = os.replace, Path.unlink

    def step() -> None:
        nonlocal steps
        steps += 1
        if steps == failing:
            raise PermissionError(13, "The process cannot access the file")

    def replace(source: Path, target: Path) -> None:
        step()
        replaced(source, target)

    def unlink(path: Path, missing_ok: bool = False) -> None:
        if not missing_ok:
            step()
        unlinked(path, missing_ok)

    monkeypatch.setattr(os, "replace", replace)
    monkeypatch.setattr(Path, "unlink", unlink)
    changed = layouts.layout(layouts.placed("left", layouts.sheet()), layouts.placed("new", layouts.post()))
    with pytest.raises(RequestError, match="cannot access the file; nothing was changed"):
        export(changed, folder, ("stl",))
    assert steps >= failing
    assert state(folder) == before


def test_old_files_that_cannot_be_put_back_are_kept_and_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "out"
    two = layouts.layout(layouts.placed("left", layouts.post()), layouts.placed("right", layouts.post()))
    export(two, folder, ("stl",))
    before = (folder / "left.stl").read_bytes()
    replaced, steps = os.replace, 0

    def replace(source: Path, target: Path) -> None:
        nonlocal steps
        steps += 1
        if steps > 1:
            raise PermissionError(13, "The process cannot access the file")
        replaced(source, target)

    monkeypatch.setattr(os, "replace", replace)
    changed = layouts.layout(layouts.placed("left", layouts.sheet()), layouts.placed("right", layouts.post()))
    with pytest.raises(RequestError, match=r"left\.stl.* could not be put back"):
        export(changed, folder, ("stl",))
    [kept] = folder.glob("layout3d-*-before")
    assert (kept / "left.stl").read_bytes() == before


def test_a_folder_that_cannot_be_flushed_is_no_failure(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def no_flush(folder: Path) -> None:
        raise OSError(22, "Invalid argument")

    monkeypatch.setattr("layout3d.exporters.whole._flush_folder", no_flush)
    assert names(export(one(), tmp_path / "out", ("glb",)).written) == ["posts.glb"]


def test_an_interrupt_changes_nothing(tmp_path: Path) -> None:
    def interrupted(stage: Path) -> None:
        (stage / "left.stl").write_bytes(b"half")
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        write_whole(tmp_path / "a" / "b", interrupted, scene="posts.yaml", fingerprint="1")
    assert state(tmp_path) == {}


def test_a_file_in_place_of_the_folder(tmp_path: Path) -> None:
    (tmp_path / "out").write_text("mine")
    for folder in (tmp_path / "out", tmp_path / "out" / "deeper"):
        with pytest.raises(RequestError, match=r"out is a file, not a folder"):
            export(one(), folder, ALL)
    assert (tmp_path / "out").read_text() == "mine"


@pytest.mark.skipif(
    not Path("/proc/self").is_dir(), reason="needs a file system that even root cannot write to"
)
def test_an_unwritable_folder() -> None:
    with pytest.raises(RequestError, match=r"cannot write to /proc/self/fdinfo: .*nothing was changed"):
        export(one(), Path("/proc/self/fdinfo"), ("glb",))


def test_a_folder_in_place_of_a_file(tmp_path: Path) -> None:
    (tmp_path / "left.stl").mkdir()
    with pytest.raises(RequestError, match=r"cannot write left\.stl.*a folder of that name is in the way"):
        export(one(), tmp_path, ("stl",))
    assert state(tmp_path) == {"left.stl": "folder"}


def test_names_that_differ_only_in_case_are_refused(tmp_path: Path) -> None:
    block = layouts.single(Box((1.0, 1.0, 1.0)))
    layout = layouts.layout(layouts.placed("Left", block), layouts.placed("left", block))
    with pytest.raises(RequestError, match=r"Left\.stl and left\.stl are one file on disks"):
        export(layout, tmp_path / "out", ("stl",))
    assert state(tmp_path) == {}


def test_names_that_would_leave_the_folder_are_refused(tmp_path: Path) -> None:
    for name in ("../left", "a/b", "..", "C:left", "a\\b", ""):
        with pytest.raises(RequestError, match="cannot be a file name"):
            export(one(name), tmp_path / "out", ("stl",))
    assert state(tmp_path) == {}


def test_a_link_is_replaced_and_what_it_points_to_stays(tmp_path: Path) -> None:
    (tmp_path / "mine.stl").write_text("mine")
    folder = tmp_path / "out"
    folder.mkdir()
    (folder / "left.stl").symlink_to(tmp_path / "mine.stl")
    export(one(), folder, ("stl",))
    assert (tmp_path / "mine.stl").read_text() == "mine"
    assert not (folder / "left.stl").is_symlink()


# The list of files


def test_own_stale_files_go_and_all_others_stay(tmp_path: Path) -> None:
    two = layouts.layout(*(layouts.placed(name, layouts.post()) for name in ("left", "old", "touched")))
    export(two, tmp_path, ALL)
    (tmp_path / "bracket.stl").write_text("mine")
    (tmp_path / "touched.stl").write_text("mended by hand")
    report = export(one(), tmp_path, ("stl",))
    assert names(report.written) == ["left.stl", "whole.stl"]
    assert names(report.removed) == ["old.stl", "posts.glb", "posts.step"]
    assert report.notes == (
        "touched.stl is of an earlier state of the scene; it was changed since, so it stays",
    )
    assert (tmp_path / "bracket.stl").read_text() == "mine"
    assert (tmp_path / "touched.stl").read_text() == "mended by hand"
    # From now on the changed file is a stranger's.
    assert export(one(), tmp_path, ("stl",)).notes == ()
    assert set(os.listdir(tmp_path)) == {
        "left.stl",
        "whole.stl",
        "bracket.stl",
        "touched.stl",
        "layout3d-files.json",
    }


def test_files_that_still_show_the_layout_stay(tmp_path: Path) -> None:
    export(layouts.two_posts(), tmp_path, ("stl",))
    report = export(layouts.two_posts(), tmp_path, ("glb",))
    assert report.removed == ()
    assert "left.stl" in os.listdir(tmp_path)
    # They are still on the list: once the layout changes they go.
    assert "over.stl" in names(export(one(), tmp_path, ("glb",)).removed)


def test_a_part_moved_by_a_hair_makes_files_stale(tmp_path: Path) -> None:
    moved = layouts.layout(layouts.placed("left", layouts.post(), Pose.at((0.0, 0.0, 1e-9))))
    still = layouts.layout(layouts.placed("left", layouts.post()))
    assert contents_of(moved).fingerprint != contents_of(still).fingerprint
    export(still, tmp_path, ("glb",))
    assert names(export(moved, tmp_path, ("stl",)).removed) == ["posts.glb"]


def test_another_scene_in_the_folder_keeps_its_files(tmp_path: Path) -> None:
    export(one("right", file="other.yaml"), tmp_path, ("stl", "glb"))
    report = export(one(), tmp_path, ("stl", "glb"))
    assert report.removed == ()
    assert report.notes == ("whole.stl was of the scene other.yaml: replaced",)
    assert {"right.stl", "other.glb", "left.stl", "posts.glb"} <= set(os.listdir(tmp_path))


def test_replaced_files_that_were_not_ours_are_named(tmp_path: Path) -> None:
    (tmp_path / "left.stl").write_text("a stranger's")
    assert export(one(), tmp_path, ("stl",)).notes == (
        "left.stl was there before, not written by layout3d: replaced",
    )
    (tmp_path / "left.stl").write_text("mended by hand")
    assert export(one(), tmp_path, ("stl",)).notes == (
        "left.stl had been changed since it was written: replaced",
    )


def test_a_part_renamed_in_case_only_does_not_lose_its_file(tmp_path: Path) -> None:
    export(one("Left"), tmp_path, ("stl",))
    report = export(one("left"), tmp_path, ("stl",))
    assert (tmp_path / "left.stl").is_file()
    assert names(report.removed) == ["Left.stl"]


@pytest.mark.parametrize(
    "text",
    [
        "",
        "{",
        "[]",
        '{"files": []}',
        '{"files": {"a.stl": 1}}',
        '{"files": {"a.stl": {"sha256": 1, "scene": "", "fingerprint": ""}}}',
        "[" * 9999,
        "\ud800",
    ],
    ids=["empty", "broken", "no object", "no files", "no entry", "no text", "deep", "no utf-8"],
)
def test_a_damaged_list_removes_nothing_and_is_replaced(text: str, tmp_path: Path) -> None:
    export(one("old"), tmp_path, ("stl",))
    (tmp_path / manifest.NAME).write_bytes(text.encode("utf-8", "surrogatepass"))
    report = export(one(), tmp_path, ("stl",))
    assert report.removed == ()
    assert (
        report.notes[0] == "layout3d-files.json could not be read and is replaced; no older file was removed"
    )
    assert (tmp_path / "old.stl").is_file()
    assert set(manifest.read(tmp_path) or {}) == {"left.stl", "whole.stl"}


def test_a_forged_list_cannot_reach_out_of_the_folder(tmp_path: Path) -> None:
    outside = tmp_path / "outside.stl"
    outside.write_text("mine")
    folder = tmp_path / "out"
    export(one("old"), folder, ("stl",))
    (folder / "link.stl").symlink_to(outside)
    digest = hashlib.sha256(b"mine").hexdigest()
    listed = json.loads((folder / manifest.NAME).read_text())
    stale = replace(manifest.Entry(**listed["files"]["old.stl"]), sha256=digest)
    forged = dict.fromkeys(("../outside.stl", str(outside), "link.stl", ".."), stale)
    (folder / manifest.NAME).write_text(manifest.text(forged))
    report = export(one(), folder, ("stl",))
    assert report.removed == ()
    assert outside.read_text() == "mine"
    assert (folder / "link.stl").is_symlink()
