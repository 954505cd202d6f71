"""The list of files the tool wrote into a folder, kept beside them.

It lets a later export tell its own untouched files, which it may remove, from everything else.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from pathlib import Path

from layout3d import __version__

NAME = "layout3d-files.json"


@dataclass(frozen=True, slots=True)
class Entry:
    """One file as it was written.

    scene : name of the scene file it came from
    fingerprint : of the layout it shows
    """

    sha256: str
    scene: str
    fingerprint: str


def read(folder: Path) -> dict[str, Entry] | None:
    """File name to entry; empty where there is no list, None where it cannot be read as one.

    Names that could lead out of the folder are passed over: the list is a file anybody can edit.
    """
    try:
        text = (folder / NAME).read_text(encoding="utf-8")
    except FileNotFoundError:
        return {}
    except (OSError, UnicodeDecodeError):
        return None
    try:
        files = json.loads(text)["files"].items()
        found = {str(name): Entry(**entry) for name, entry in files}
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError):
        return None
    if not all(isinstance(value, str) for entry in found.values() for value in asdict(entry).values()):
        return None
    return {name: entry for name, entry in found.items() if is_file_name(name)}


def text(files: Mapping[str, Entry]) -> str:
    """The list as it is written."""
    listed = {name: asdict(files[name]) for name in sorted(files)}
    return json.dumps({"layout3d": __version__, "files": listed}, indent=1) + "\n"


def is_file_name(name: str) -> bool:
    """Whether it names a file in the folder itself, on any system."""
    return bool(name) and name not in {".", ".."} and not set(name) & set('/\\:*?"<>|\0')


def sha256(path: Path) -> str | None:
    """Digest of a plain file's bytes; None where there is no such file or it is a link."""
    if path.is_symlink() or not path.is_file():
        return None
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
