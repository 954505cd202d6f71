"""Follows a scene's file: read, built and checked anew whenever it is saved, and told to every open page."""

from __future__ import annotations

import json
import time
from collections.abc import Callable
from dataclasses import dataclass
from html import escape
from itertools import count
from pathlib import Path
from typing import Any

from layout3d.assembly.sequence import Assembly
from layout3d.build import build
from layout3d.checks.check import check
from layout3d.errors import Problem, SceneErrors
from layout3d.live.board import Board
from layout3d.live.files import Watched, named_files, read_files
from layout3d.live.models import Models
from layout3d.live.server import serving
from layout3d.live.words import good_words, problem_words
from layout3d.preview.told import told
from layout3d.scene.reader import parse_scene
from layout3d.scene.textfile import read_text
from layout3d.words import counted

#: Between two looks at the files [s].
POLL_S = 0.05
#: A file being written may be half there: a problem is told once it has stood so long [s].
GRACE_S = 0.2
#: An order of assembly takes seconds to find: `layout3d order` tells it.
_NO_ORDER = Assembly(None, (), (), ())


def watch(scene: Path, port: int, say: Callable[[str], None], ready: Callable[[str], None]) -> None:
    """Serve the live page of a scene until the user interrupts.

    say : told a line for each state; ready : told the page's address once
    SceneErrors where there is no such file, RequestError where the port cannot be had.
    """
    read_text(scene)
    board, follower = Board(), Follower(scene)
    with serving(scene.name, board, follower.models, port) as address:
        try:
            ready(address)
            follower.run(board, say)
        except KeyboardInterrupt:
            return


@dataclass(frozen=True, slots=True)
class Look:
    """One reading of the file, and the line that tells it to the terminal."""

    message: bytes
    line: str
    is_good: bool


class Follower:
    """Reads a scene whenever it changes, and keeps the last good state for while it cannot be read."""

    def __init__(self, scene: Path) -> None:
        self.models = Models()
        self._scene = scene
        self._watched = Watched([scene])
        self._good: dict[str, Any] | None = None
        self._words: dict[str, str] | None = None
        # Never again the same, so that a page left open knows the states of another run from those it has.
        self._versions = count(int(time.time() * 1e3))

    def run(self, board: Board, say: Callable[[str], None]) -> None:
        """Without end: look, tell, wait."""
        waiting: tuple[float, Look] | None = None
        look: Look | None = self.look()
        while True:
            if look is not None and not look.is_good:
                waiting = (time.monotonic() + GRACE_S, look)
            elif look is not None:
                waiting = None
                _tell(look, board, say)
            elif waiting is not None and time.monotonic() > waiting[0]:
                _tell(waiting[1], board, say)
                waiting = None
            time.sleep(POLL_S)
            look = None
            if self._watched.changed():
                board.put("busy")
                look = self.look()

    def look(self) -> Look:
        """Read, build and check the scene as it now is."""
        start = time.perf_counter()
        text = ""
        try:
            text = read_text(self._scene)
            named = named_files(text, self._scene.parent)
            if named is not None:
                self._watched.watch([self._scene, *named])
            layout = build(parse_scene(text, self._scene.name, self._scene.parent))
            self._watched.watch([*self._watched.paths, *read_files(layout)])
            checked = check(layout)
        except SceneErrors as error:
            return self._faulty(error.problems, text)
        shown = told(layout, checked, _NO_ORDER)
        self._words = good_words(shown)
        took = f"{(time.perf_counter() - start) * 1e3:.0f} ms"
        version = next(self._versions)
        self._good = {"version": version, "told": shown, "nodes": self.models.take(layout)}
        errors = sum(finding.severity == "error" for finding in checked.findings)
        line = "clear" if checked.is_clear else f"not clear: {counted(errors, 'error')}"
        return self._look(version, self._words, f"checked in {took}", line)

    def _faulty(self, problems: tuple[Problem, ...], text: str) -> Look:
        words = problem_words(problems, text.splitlines(), self._scene.name, self._words)
        more = f" (and {len(problems) - 1} more)" if len(problems) > 1 else ""
        version = next(self._versions)
        return self._look(
            version, words, "cannot be read", f"cannot be read: {problems[0]}{more}", good=False
        )

    def _look(self, version: int, words: dict[str, str], how: str, line: str, *, good: bool = True) -> Look:
        now = time.strftime("%H:%M:%S")
        follow = f"Follows {self._scene.name}: {now}, {how}"
        state = {
            "version": version,
            "stale": not good and self._good is not None,
            "words": words | {"follow": escape(follow)},
            "good": self._good,
        }
        return Look(json.dumps(state, allow_nan=False).encode(), f"{now}  {line}", good)


def _tell(look: Look, board: Board, say: Callable[[str], None]) -> None:
    board.put("state", look.message)
    say(look.line)
