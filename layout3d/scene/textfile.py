"""The bytes of a scene file as text."""

from __future__ import annotations

import codecs
import os
from pathlib import Path

from layout3d.errors import Problem, SceneErrors
from layout3d.scene.complaints import nearest

#: A full build takes some 20 kB; this stops a picture or a log given by mistake.
LARGEST_FILE = 1_000_000


def read_text(path: Path) -> str:
    """The file's text with its line endings and byte order mark as they are.

    SceneErrors for a file that is missing, a folder, too large or not UTF-8.
    """
    try:
        with path.open("rb") as file:
            data = file.read(LARGEST_FILE + 1)
    except FileNotFoundError:
        message, near = _missing(path)
        raise SceneErrors([Problem(path.name, None, "", message, near)]) from None
    except OSError as error:
        reason = (
            "is a folder, not a scene file" if os.path.isdir(path) else f"cannot be read: {error.strerror}"
        )
        raise SceneErrors([Problem(path.name or str(path), None, "", f"{path} {reason}")]) from None
    except ValueError:
        raise SceneErrors([Problem("", None, "", f"{str(path)!r} is no file name")]) from None
    if len(data) > LARGEST_FILE:
        message = f"the file is larger than {LARGEST_FILE // 1_000_000} MB: this is no scene file"
        raise SceneErrors([Problem(path.name, None, "", message)])
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError as error:
        wide = data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE))
        got = "UTF-16" if wide else f"a byte 0x{data[error.start]:02x}"
        line = None if wide else data.count(b"\n", 0, error.start) + 1
        message = f"the file is not UTF-8 text (found {got}): save it as UTF-8"
        raise SceneErrors([Problem(path.name, line, "", message)]) from None


def _missing(path: Path) -> tuple[str, tuple[str, ...]]:
    folder = path.parent
    if not folder.is_dir():
        return f"there is no folder {folder}", ()
    try:
        scenes = sorted(e.name for e in folder.iterdir() if e.suffix.lower() in (".yaml", ".yml"))
    except OSError:
        scenes = []
    near = nearest(path.name, scenes)
    hint = f"; did you mean {near}?" if near else ""
    return f"there is no file {path}{hint}", tuple(scenes[:20])
