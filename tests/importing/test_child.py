"""The child process by itself."""

from __future__ import annotations

import io
import json
import sys
from pathlib import Path

import pytest

from layout3d.importing import child


def test_a_library_that_is_not_there_is_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = {"path": str(tmp_path / "a.step"), "kind": "step", "scale": 1.0, "solid": "mesh"}
    asked |= {"deflection": 0.05, "most": 100, "out": str(tmp_path / "a.npz")}
    monkeypatch.setattr(sys, "stdin", io.StringIO(json.dumps(asked)))
    monkeypatch.delitem(sys.modules, "layout3d.importing.stepfile", raising=False)
    for name in [name for name in sys.modules if name.partition(".")[0] == "OCP"]:
        monkeypatch.setitem(sys.modules, name, None)
    monkeypatch.setitem(sys.modules, "OCP", None)
    child.main()
    told = json.loads(capsys.readouterr().out)["problem"]
    assert told.startswith("cannot be read without OCP")
    assert "[export]" in told
