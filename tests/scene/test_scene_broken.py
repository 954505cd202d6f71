"""Every file in scenes/broken/unreadable is refused with the words and the line its first comments state."""

import re
from pathlib import Path

import pytest
import yaml

from layout3d.errors import SceneErrors
from layout3d.scene import document
from layout3d.scene.reader import read_scene

FOLDER = Path(__file__).parents[2] / "scenes" / "broken" / "unreadable"
FILES = sorted(FOLDER.glob("*.yaml"))


def test_there_are_broken_scenes() -> None:
    assert len(FILES) > 80


@pytest.mark.parametrize("loader", [yaml.CSafeLoader, yaml.SafeLoader], ids=["libyaml", "python"])
@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_refused_with_its_words_and_line(path: Path, loader: type, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(document, "_LOADER", loader)
    expect, line = re.match(r"# expect: (.*)\r?\n# line: (\d+)", path.read_text(encoding="latin-1")).groups()
    with pytest.raises(SceneErrors) as caught:
        read_scene(path)
    found = [(problem.line, problem.message) for problem in caught.value.problems]
    assert any(at == int(line) and expect in message for at, message in found), caught.value
    assert all(problem.file == path.name for problem in caught.value.problems)
    assert all(problem.line is not None for problem in caught.value.problems)


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_one_fault_brings_one_complaint(path: Path) -> None:
    several = {"yaml_alias_bomb", "decimal_comma_in_list"}
    with pytest.raises(SceneErrors) as caught:
        read_scene(path)
    assert len(caught.value.problems) == 1 or path.stem in several, caught.value
