"""A commented scene to begin with, and the schema its first line names."""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from pathlib import Path

from layout3d.errors import RequestError
from layout3d.scene.schema import scene_schema

SCHEMA_NAME = "layout3d.schema.json"


def starter_text() -> str:
    """The starter scene."""
    return Path(__file__).with_name("starter.yaml").read_text(encoding="utf-8")


def schema_text() -> str:
    """The editor schema as a file's text."""
    return json.dumps(scene_schema(), indent=1, ensure_ascii=False) + "\n"


def write_starter(path: Path) -> tuple[Path, ...]:
    """Write the starter scene to ``path`` and the schema beside it; the files written.

    RequestError where ``path`` is taken, or another schema lies beside it: nothing is overwritten.
    """
    return write_scene(path, starter_text())


def write_scene(path: Path, text: str) -> tuple[Path, ...]:
    """Write a scene's text to ``path`` and the schema beside it; the files written.

    RequestError as ``write_starter``.
    """
    schema_path = path.with_name(SCHEMA_NAME) if path.name else path
    if not path.name or os.path.isdir(path) or path == schema_path:
        raise RequestError(f"{path} cannot be a scene file: give a file name such as my_loop.yaml")
    if not os.path.isdir(path.parent):
        raise RequestError(f"there is no folder {path.parent}: make it first, or choose another")
    files = {schema_path: schema_text(), path: text}
    if os.path.exists(path):
        raise RequestError(f"{path} is there already and is not overwritten: choose another name")
    if _holds(schema_path, files[schema_path]):
        del files[schema_path]
    elif os.path.exists(schema_path):
        raise RequestError(f"{schema_path} is there already, with other content: move it away first")
    return write_new(files)


def write_new(files: Mapping[Path, str]) -> tuple[Path, ...]:
    """Write all of these files or none, the last one first in the answer.

    RequestError where one is there already or cannot be written.
    """
    written: list[Path] = []
    try:
        for target, text in files.items():
            with target.open("x", encoding="utf-8", newline="\n") as file:
                written.append(target)
                file.write(text)
    except OSError as error:
        for done in written:
            done.unlink(missing_ok=True)
        if isinstance(error, FileExistsError):
            raise RequestError(
                f"{target} is there already and is not overwritten: choose another name"
            ) from None
        raise RequestError(f"{target} cannot be written: {error.strerror}") from None
    return tuple(reversed(written))


def _holds(path: Path, text: str) -> bool:
    try:
        return path.read_text(encoding="utf-8") == text
    except (OSError, UnicodeDecodeError):
        return False
