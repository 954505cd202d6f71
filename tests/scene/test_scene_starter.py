"""`layout3d new` gives a scene that is read as it stands, beside the schema its first line names."""

import json
import re
from pathlib import Path

import pytest

from layout3d.build import build
from layout3d.checks.check import check
from layout3d.errors import RequestError
from layout3d.scene.reader import read_scene
from layout3d.scene.schema import scene_schema
from layout3d.scene.starter import SCHEMA_NAME, starter_text, write_starter


def test_it_writes_the_scene_and_its_schema(tmp_path: Path) -> None:
    path = tmp_path / "mine.yaml"
    assert write_starter(path) == (path, tmp_path / SCHEMA_NAME)
    assert path.read_bytes() == starter_text().encode()
    named = re.match(r"# yaml-language-server: \$schema=(\S+)\n", path.read_text(encoding="utf-8")).group(1)
    assert json.loads((tmp_path / named).read_text(encoding="utf-8")) == json.loads(
        json.dumps(scene_schema())
    )
    scene = read_scene(path)
    assert len(scene.parts) >= 3
    assert len(scene.tubes) == 2


def test_it_checks_clear(tmp_path: Path) -> None:
    path = tmp_path / "mine.yaml"
    write_starter(path)
    assert check(build(read_scene(path))).findings == ()


def test_a_second_scene_shares_the_schema(tmp_path: Path) -> None:
    write_starter(tmp_path / "one.yaml")
    assert write_starter(tmp_path / "two.yaml") == (tmp_path / "two.yaml",)


def test_nothing_is_overwritten(tmp_path: Path) -> None:
    path = tmp_path / "mine.yaml"
    path.write_text("mine", encoding="utf-8")
    with pytest.raises(RequestError, match="is there already and is not overwritten"):
        write_starter(path)
    assert [entry.name for entry in tmp_path.iterdir()] == ["mine.yaml"]
    (tmp_path / SCHEMA_NAME).write_text("{}", encoding="utf-8")
    with pytest.raises(RequestError, match=r"layout3d\.schema\.json is there already, with other content"):
        write_starter(tmp_path / "other.yaml")
    assert path.read_text(encoding="utf-8") == "mine"
    assert (tmp_path / SCHEMA_NAME).read_text(encoding="utf-8") == "{}"
    assert not (tmp_path / "other.yaml").exists()


def test_where_no_file_can_be_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(RequestError, match="give a file name"):
        write_starter(tmp_path)
    with pytest.raises(RequestError, match="give a file name"):
        write_starter(tmp_path / SCHEMA_NAME)
    with pytest.raises(RequestError, match="there is no folder"):
        write_starter(tmp_path / "nowhere" / "mine.yaml")

    real = Path.open

    def full(self: Path, *args: object, **kwargs: object) -> object:
        if self.name == "mine.yaml":
            raise OSError(28, "No space left on device")
        return real(self, *args, **kwargs)

    monkeypatch.setattr(Path, "open", full)
    with pytest.raises(RequestError, match=r"cannot be written: No space left on device"):
        write_starter(tmp_path / "mine.yaml")
    assert list(tmp_path.iterdir()) == []
