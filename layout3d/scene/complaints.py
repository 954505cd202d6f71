"""Everything wrong with one scene file, gathered before it is refused."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from operator import attrgetter
from typing import TypeAlias

from layout3d.errors import Problem, SceneErrors
from layout3d.scene.model import Places

Key: TypeAlias = tuple[str | int, ...]

#: More than anyone reads; a file that is no scene can hold a hundred thousand.
_MOST_SHOWN = 200
#: Names that still read well in a message that already offers the near one.
_LONG_LIST = 12


class ChoiceError(ValueError):
    """A wrong word, with those that could stand in its place."""

    def __init__(self, message: str, choices: Iterable[str]) -> None:
        self.choices = tuple(choices)
        super().__init__(message)


class Complaints:
    """Collects the problems of one file, each with the line of its key."""

    def __init__(self, file: str, places: Places) -> None:
        self._file = file
        self._places = places
        self._problems: list[Problem] = []
        self._foreign: list[Problem] = []

    def line(self, *key: str | int) -> int:
        """The line of a key, or of the nearest key above it that is in the file; else the first."""
        return self._places.line(*key) or 1

    def stands(self, *key: str | int) -> bool:
        """Whether the file has this key."""
        return key in self._places.lines

    def add(self, key: Key, message: str, choices: Iterable[str] = ()) -> None:
        """A problem at a key, or at the nearest key above it that is in the file."""
        self.at_line(self.line(*key), key, message, choices)

    def at_line(self, line: int, key: Key, message: str, choices: Iterable[str] = ()) -> None:
        """A problem at a line, from 1."""
        problem = Problem(self._file, line, key_text(key), message, tuple(choices))
        if problem not in self._problems[-20:]:
            self._problems.append(problem)

    def foreign(self, problems: Iterable[Problem]) -> None:
        """Problems of other files that this one needs; they are told after its own."""
        self._foreign += problems

    def raise_any(self) -> None:
        """SceneErrors with all problems, if there is one."""
        if self._problems or self._foreign:
            raise self.errors()

    def errors(self) -> SceneErrors:
        """All problems in file order."""
        ordered = [*sorted(self._problems, key=attrgetter("line")), *self._foreign]
        if len(ordered) > _MOST_SHOWN:
            more = f"... and {len(ordered) - _MOST_SHOWN} more problems"
            ordered = [*ordered[:_MOST_SHOWN], Problem(self._file, ordered[-1].line, "", more)]
        return SceneErrors(ordered)


def key_text(key: Key) -> str:
    """``parts.left.solids[0].box`` for a key path."""
    text = "".join(f"[{step}]" if isinstance(step, int) else f".{step}" for step in key)
    return text.removeprefix(".")


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known word that ``word`` was probably meant to be."""
    by_folded = {name.lower(): name for name in known}
    found = difflib.get_close_matches(word.lower(), by_folded, n=1)
    return by_folded[found[0]] if found else None


def unknown(what: str, word: str, known: Iterable[str], where: str = "") -> str:
    """ "unknown port 'inn' on 'cpu_block'; it has in, out", or "unknown part 'lefft'; did you mean left?".

    Names without a ``where`` come with a near match; a long list of them is then left out.
    """
    names = tuple(known)
    listed = ", ".join(names) or "none"
    if where:
        return f"unknown {what} {word!r} on {where!r}; it has {listed}"
    near = nearest(word, names)
    hint = f"; did you mean {near}?" if near else ""
    if near and len(names) > _LONG_LIST:
        return f"unknown {what} {word!r}{hint}"
    return f"unknown {what} {word!r}; known: {listed}{hint}"
