"""What every open page is to know: the latest state, and whether another is being made."""

from __future__ import annotations

import threading
from dataclasses import dataclass
from typing import Literal, TypeAlias

Kind: TypeAlias = Literal["state", "busy", "end"]


@dataclass(frozen=True, slots=True)
class Message:
    """One message: ``number`` grows with each."""

    number: int
    kind: Kind
    text: bytes = b""


class Board:
    """One thread writes, many wait for what is new. Who comes late gets the latest state."""

    def __init__(self) -> None:
        self._news = threading.Condition()
        self._state: Message | None = None
        self._latest = Message(0, "busy")

    def put(self, kind: Kind, text: bytes = b"") -> None:
        """Tell all. ``end``: nothing comes after it."""
        with self._news:
            self._latest = Message(self._latest.number + 1, kind, text)
            if kind == "state":
                self._state = self._latest
            self._news.notify_all()

    def after(self, number: int, seconds: float) -> tuple[Message, ...]:
        """What is new since message ``number``, waited for: at most a state and what followed it."""
        with self._news:
            self._news.wait_for(lambda: self._latest.number > number, seconds)
            new = (self._state, self._latest) if self._state is not self._latest else (self._latest,)
            return tuple(each for each in new if each is not None and each.number > number)
