"""`layout3d shapes` on libraries: the list of a sound folder, every fault of another."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from layout3d.errors import RequestError, SceneErrors
from layout3d.library.shelf import BUILT_IN
from layout3d.reports.library import folder_text, mass_text, shape_or_part_text

GOOD = """\
layout3d_parts: 1
parts:
  a: {shape: radiator, fans: 3, price: 89.90 EUR, mass: 1200 g, label: Slim}
  b: {shape: fan, mass: 160 g}
"""


def run(*arguments: str, cwd: Path) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "layout3d", *arguments]
    return subprocess.run(command, cwd=cwd, capture_output=True, text=True, check=False)


def test_a_sound_folder_is_listed(tmp_path: Path) -> None:
    (tmp_path / "a.yaml").write_text(GOOD, encoding="utf-8")
    lines = folder_text(tmp_path).splitlines()
    assert lines[0].split() == ["use", "shape", "label", "price", "mass", "written", "in"]
    assert lines[1].split() == ["a", "radiator", "Slim", "89.90", "EUR", "1.2", "kg", "a.yaml:3"]
    assert lines[2].split() == ["b", "fan", "-", "-", "160", "g", "a.yaml:4"]
    assert lines[-1] == "2 parts, all sound"


def test_a_part_that_cannot_be_built_is_told(tmp_path: Path) -> None:
    text = "layout3d_parts: 1\nparts:\n  x: {shape: radiator, width: 120, fan_size: 140}\n"
    (tmp_path / "a.yaml").write_text(text, encoding="utf-8")
    with pytest.raises(SceneErrors) as caught:
        folder_text(tmp_path)
    (problem,) = caught.value.problems
    assert (problem.file, problem.line, problem.key) == ("a.yaml", 3, "parts.x")
    assert "140" in problem.message


def test_a_missing_imported_file_is_told_where_the_part_stands(tmp_path: Path) -> None:
    (tmp_path / "deep").mkdir()
    text = "layout3d_parts: 1\nparts:\n  x: {shape: import, file: nope.stl, units: mm}\n"
    (tmp_path / "deep" / "a.yaml").write_text(text, encoding="utf-8")
    with pytest.raises(SceneErrors) as caught:
        folder_text(tmp_path)
    (problem,) = caught.value.problems
    assert problem.file == "deep/a.yaml"
    assert "deep/nope.stl" in problem.message


def test_the_command_exits_with_0_and_2(tmp_path: Path) -> None:
    (tmp_path / "good").mkdir()
    (tmp_path / "good" / "a.yaml").write_text(GOOD, encoding="utf-8")
    (tmp_path / "bad").mkdir()
    (tmp_path / "bad" / "a.yaml").write_text(GOOD.replace("fans: 3", "fans: 9"), encoding="utf-8")
    good = run("shapes", "--check", "good", cwd=tmp_path)
    assert (good.returncode, good.stderr) == (0, "")
    bad = run("shapes", "--check", "bad", cwd=tmp_path)
    assert (bad.returncode, bad.stdout) == (2, "")
    assert bad.stderr.startswith("a.yaml:3: parts.a.fans:")
    gone = run("shapes", "--check", "gone", cwd=tmp_path)
    assert (gone.returncode, "is not there" in gone.stderr) == (2, True)
    both = run("shapes", "fan", "--check", "good", cwd=tmp_path)
    assert (both.returncode, "choose one" in both.stderr) == (2, True)


def test_an_empty_folder_says_how_to_start(tmp_path: Path) -> None:
    assert "layout3d_parts: 1" in folder_text(tmp_path)


def test_a_file_is_no_folder() -> None:
    with pytest.raises(RequestError, match="is a file"):
        folder_text(BUILT_IN / "fans.yaml")


def test_a_ready_part_is_told_by_its_name() -> None:
    text = shape_or_part_text("slim_360")
    assert "fans: 3" in text
    assert "use: slim_360" in text
    with pytest.raises(RequestError, match="did you mean slim_360"):
        shape_or_part_text("slim_361x")


@pytest.mark.parametrize(
    ("grams", "text"),
    [(None, None), (850.0, "850 g"), (999.9, "999.9 g"), (1000.0, "1 kg"), (1234.0, "1.234 kg")],
)
def test_masses_are_said_as_people_do(grams: float | None, text: str | None) -> None:
    assert mass_text(grams) == text
