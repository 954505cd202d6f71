"""Folders of part files: which names they hold, and each part when it is asked for."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

from layout3d.errors import Problem, SceneErrors
from layout3d.library.partfile import LibraryPart, Partfile

#: The parts that come with the program.
BUILT_IN = Path(__file__).parent / "parts"
#: A folder with more files is no library; a mistaken `library: [/]` should not read a disk.
MOST_FILES = 500


@dataclass(frozen=True, slots=True, eq=False)
class Shelf:
    """All files of some folders, and what was wrong with them.

    holders : name of a part -> the file that holds it
    problems : of files that cannot be read, and of names that stand twice
    lacking : of folders that cannot be used: which one, and why
    """

    holders: dict[str, Partfile]
    problems: tuple[Problem, ...] = ()
    lacking: tuple[tuple[int, str], ...] = ()

    def part(self, name: str) -> LibraryPart:
        """The part of this name. KeyError where there is none, SceneErrors for a faulty one."""
        return self.holders[name].part(name)


def open_shelf(folders: Sequence[str], base: Path) -> Shelf:
    """The part files in these folders and those below, folders as seen from ``base``."""
    problems: list[Problem] = []
    holders: dict[str, Partfile] = {}
    folded: dict[str, str] = {}
    found, lacking = _found(folders, base)
    for called, path in found:
        try:
            file = Partfile(path, called, os.path.dirname(called))
        except SceneErrors as error:
            problems += (replace(problem, file=called) for problem in error.problems)
            continue
        for name in file.names:
            first = folded.setdefault(name.lower(), name)
            if first in holders:
                message = (
                    f"a part {first!r} stands in {holders[first].place(first)} already: "
                    "names of parts must be unique in a library, and capitals make no difference"
                )
                problems.append(file.problem(name, message))
            else:
                holders[name] = file
    return Shelf(holders, tuple(problems), tuple(lacking))


@cache
def built_in() -> Shelf:
    """The parts that come with the program."""
    return open_shelf([""], BUILT_IN)


def part_files(folders: Sequence[str], base: Path) -> list[Path]:
    """The files ``open_shelf`` would read."""
    return [path for _, path in _found(folders, base)[0]]


def _found(folders: Sequence[str], base: Path) -> tuple[list[tuple[str, Path]], list[tuple[int, str]]]:
    """Every YAML file once, though folders may lie in each other, and what was wrong with which folder."""
    files: dict[str, tuple[str, Path]] = {}
    lacking = []
    for at, folder in enumerate(folders):
        root = base / folder
        what_folder = f"the library folder {folder!r}" if folder else "the folder"
        if not root.is_dir():
            what = "is a file: name its folder" if root.exists() else "is not there"
            lacking.append((at, f"{what_folder} {what}"))
            continue
        held = _files(folder, root)
        if len(held) > MOST_FILES:
            lacking.append((at, f"{what_folder} holds more than {MOST_FILES} YAML files"))
            continue
        for called, path in held:
            files.setdefault(os.path.realpath(path), (called, path))
    return list(files.values()), lacking


def _files(folder: str, root: Path) -> list[tuple[str, Path]]:
    """YAML files of a folder and those below: what to call each, and its path; in order of name."""
    found: list[tuple[str, Path]] = []
    for place, folders, files in os.walk(root):
        folders[:] = sorted(name for name in folders if not name.startswith("."))
        for name in files:
            if name.lower().endswith((".yaml", ".yml")) and not name.startswith("."):
                path = Path(place, name)
                found.append((_called(folder, path.relative_to(root)), path))
        if len(found) > MOST_FILES:
            break
    return sorted(found)


def _called(folder: str, below: Path) -> str:
    stem = folder.replace("\\", "/").rstrip("/")
    return f"{stem}/{below.as_posix()}" if stem not in ("", ".") else below.as_posix()
