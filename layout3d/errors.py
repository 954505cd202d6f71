"""What stops a run. A broken rule is a finding, not an error; see ``layout3d.findings``."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong with a scene file: where, and what could stand there instead."""

    file: str
    line: int | None
    key: str
    message: str
    choices: tuple[str, ...] = ()

    def __str__(self) -> str:
        place = self.file if self.line is None else f"{self.file}:{self.line}"
        key = f" {self.key}:" if self.key else ""
        return f"{place}:{key} {self.message}"


class LayoutError(Exception):
    """Base of all errors a command reports without a traceback (exit status 2)."""


class SceneErrors(LayoutError, ValueError):
    """A scene that cannot be read or built: every problem that could be found at once."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


class RequestError(LayoutError, ValueError):
    """A command asked for something that makes no sense (an unknown format, an unwritable folder)."""
