"""``use: name`` in a scene: the library's part in its place, the entry's own keys over it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from layout3d.errors import SceneErrors
from layout3d.library.shelf import Shelf, built_in, open_shelf
from layout3d.scene.complaints import Complaints, Key, unknown
from layout3d.scene.document import BROKEN
from layout3d.scene.wording import shown


def with_library(values: dict[str, object], folder: Path, complaints: Complaints) -> dict[str, object]:
    """A scene's values with each ``use:`` spelled out.

    One that cannot be is complained of, or its problems in the library's file are added.
    """
    folders: Any = values.get("library", ())
    usable = isinstance(folders, tuple) and all(isinstance(name, str) for name in folders)
    mine = open_shelf(folders, folder) if usable else Shelf({})
    for at, message in mine.lacking:
        complaints.add(("library", at), message)
    complaints.foreign(mine.problems)
    return _Resolver(mine, complaints).scene(values)


def _entries(values: dict[str, object]) -> Iterator[tuple[Key, dict[str, object]]]:
    """Every mapping that may hold ``use:``."""
    parts, tubes = values.get("parts"), values.get("tubes")
    if isinstance(parts, dict):
        for name, entry in parts.items():
            if isinstance(entry, dict):
                yield ("parts", name), entry
    if isinstance(tubes, dict):
        for name, tube in tubes.items():
            fittings = tube.get("fittings") if isinstance(tube, dict) else None
            yield from _links(fittings, ("tubes", name, "fittings"))


def _links(value: object, key: Key) -> Iterator[tuple[Key, dict[str, object]]]:
    if isinstance(value, dict):
        yield key, value
    elif isinstance(value, tuple):
        for at, item in enumerate(value):
            yield from _links(item, (*key, at))


class _Resolver:
    def __init__(self, mine: Shelf, complaints: Complaints) -> None:
        self._mine = mine
        self._complaints = complaints
        self._faulty: set[str] = set()

    def scene(self, values: dict[str, object]) -> dict[str, object]:
        found = {key: self._entry(entry, key) for key, entry in _entries(values) if "use" in entry}
        made = dict(values)
        for section in ("parts", "tubes"):
            if section in made:
                made[section] = _replaced(made[section], (section,), found)
        return made

    def _entry(self, entry: dict[str, object], key: Key) -> object:
        name = entry["use"]
        if not isinstance(name, str):
            if name is not BROKEN:
                self._complaints.add((*key, "use"), f"expected the name of a part, got {shown(name)}")
            return BROKEN
        if "shape" in entry:
            message = "`use` takes its shape from the library: delete `shape`, or `use`"
            self._complaints.add((*key, "shape"), message)
            return BROKEN
        # A part of one's own goes before one of the same name that comes with the program.
        shelf = self._mine if name in self._mine.holders else built_in()
        if name not in shelf.holders:
            known = (*self._mine.holders, *built_in().holders)
            self._complaints.add((*key, "use"), unknown("part", name, known), known)
            return BROKEN
        try:
            part = shelf.part(name)
        except SceneErrors as error:
            if name not in self._faulty:
                self._complaints.foreign(error.problems)
            self._faulty.add(name)
            return BROKEN
        return {"shape": part.entry.shape, **part.given, **part.about, **entry}


def _replaced(value: object, key: Key, found: dict[Key, object]) -> object:
    if key in found:
        return found[key]
    if isinstance(value, dict):
        return {name: _replaced(item, (*key, name), found) for name, item in value.items()}
    if isinstance(value, tuple) and len(key) <= 4:
        return tuple(_replaced(item, (*key, at), found) for at, item in enumerate(value))
    return value
