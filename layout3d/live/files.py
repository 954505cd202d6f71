"""The files a scene is made of, and whether any of them was changed."""

from __future__ import annotations

import hashlib
import os
import time
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeAlias

from layout3d.errors import SceneErrors
from layout3d.layout import Layout
from layout3d.library.shelf import part_files
from layout3d.scene.document import read_document
from shapes.primitives import Mesh

#: A time of last change this old no longer hides a second change behind it: FAT counts in two seconds [s].
_SETTLED_S = 3.0
#: Larger files are read again only where their time or size says so.
_SMALL_BYTES = 4_000_000
_Key: TypeAlias = tuple[int, int, int]


@dataclass(frozen=True, slots=True)
class _Stamp:
    """A file as it was: its time, size and number on the disk, and the hash of its bytes."""

    key: _Key
    digest: bytes


class Watched:
    """Files looked at again and again, by content: saving without a change is none.

    Asking works on every system and disk, and for editors that write a new file and rename it.
    """

    def __init__(self, paths: Iterable[Path] = ()) -> None:
        self._stamps: dict[Path, _Stamp | None] = {path: _stamp(path, None) for path in paths}

    @property
    def paths(self) -> frozenset[Path]:
        """All that are watched, also those that are not there yet."""
        return frozenset(self._stamps)

    def watch(self, paths: Iterable[Path]) -> None:
        """These from now on, no others."""
        self._stamps = {
            path: self._stamps[path] if path in self._stamps else _stamp(path, None) for path in paths
        }

    def changed(self) -> bool:
        """Whether any file's bytes are others than when it was last looked at, or it came or went."""
        before = self._stamps
        self._stamps = {path: _stamp(path, stamp) for path, stamp in before.items()}
        return any(_digest(stamp) != _digest(before[path]) for path, stamp in self._stamps.items())


def named_files(text: str, folder: Path) -> list[Path] | None:
    """Part files and imported files that a scene's text names; None where the text cannot be taken apart."""
    try:
        document, _ = read_document(text, "")
    except SceneErrors:
        return None
    values: dict[str, Any] = document.values
    shelves = values.get("library", ())
    usable = isinstance(shelves, tuple) and all(isinstance(name, str) for name in shelves)
    parts = values.get("parts")
    entries = parts.values() if isinstance(parts, dict) else ()
    files = [entry.get("file") for entry in entries if isinstance(entry, dict)]
    named = [folder / name for name in files if isinstance(name, str) and "\0" not in name]
    return [*(part_files(shelves, folder) if usable else ()), *named]


def read_files(layout: Layout) -> Iterator[Path]:
    """Files that imported solids of a layout came from."""
    for placed in layout.parts.values():
        for solid in placed.part.solids:
            if isinstance(solid.primitive, Mesh) and solid.primitive.source is not None:
                yield Path(solid.primitive.source.path)


def _digest(stamp: _Stamp | None) -> bytes | None:
    return None if stamp is None else stamp.digest


def _stamp(path: Path, before: _Stamp | None) -> _Stamp | None:
    """None for a file that is not there or cannot be read."""
    try:
        state = os.stat(path)
        key = (state.st_mtime_ns, state.st_size, state.st_ino)
        settled = time.time() - state.st_mtime > _SETTLED_S
        if before is not None and before.key == key and (settled or state.st_size > _SMALL_BYTES):
            return before
        with open(path, "rb") as file:
            return _Stamp(key, hashlib.file_digest(file, "sha256").digest())
    except OSError:
        return None
