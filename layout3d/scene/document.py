"""A scene file's text as plain values, with the place of each.

One pass over the YAML parser's events. Only what a scene needs of YAML is let through:
no directives, anchors, aliases, merge keys, tags, second documents, double keys or empty values.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any, NoReturn

import yaml

from layout3d.scene.complaints import Complaints, Key
from layout3d.scene.model import Places
from layout3d.scene.scalars import resolve
from layout3d.scene.syntax import explained

DEEPEST = 32
#: Sections that may stand empty while a scene is being written.
SECTIONS = ("rules", "tubings", "parts", "tubes", "stacks", "bench", "plugs")

# libyaml reads a scene some twenty times faster; a Python built without it still works.
_LOADER: type = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_UNPRINTABLE = re.compile("[^\t\n\r\x20-\x7e\x85\xa0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


class Broken:
    """Stands where the file holds something refused, so that no second complaint follows it."""


BROKEN = Broken()
_FIRST = "layout3d: 1"


@dataclass(frozen=True, slots=True)
class Document:
    """The top mapping of a scene file; lists are tuples, refused values are ``BROKEN``."""

    values: dict[str, object]
    places: Places


def read_document(
    text: str, file: str, *, blanks: bool = False, first: str = _FIRST
) -> tuple[Document, Complaints]:
    """Values and places of a scene's text, and what was refused in it.

    blanks : keys without a value are left out instead of refused, as in a form to fill in
    first : the line such a file starts with
    SceneErrors where the text cannot be taken apart at all.
    """
    return _Reader(text, file, blanks, first).read()


class _Reader:
    def __init__(self, text: str, file: str, blanks: bool = False, first: str = _FIRST) -> None:
        self.blanks = blanks
        self.first = first
        what = "a scene" if first == _FIRST else "such a file"
        self.empty = f"the file is empty: {what} starts with `{first}`"
        self.mark = len(text) - len(text.removeprefix("\ufeff"))
        self.text = text[self.mark :]
        self.lines: dict[Key, int] = {}
        self.spans: dict[Key, tuple[int, int]] = {}
        self.places = Places(self.lines, self.spans)
        self.complaints = Complaints(file, self.places)
        self.next: Any = None

    def read(self) -> tuple[Document, Complaints]:
        if bad := _UNPRINTABLE.search(self.text):
            line = self.text.count("\n", 0, bad.start()) + 1
            self.stop(line, f"the character {bad[0]!a} is no text: is this a scene file?")
        loader = _LOADER(self.text)
        try:
            self.next = loader.get_event
            return Document(self.document(), self.places), self.complaints
        except yaml.MarkedYAMLError as error:
            self.stop(*explained(error, self.text))
        except yaml.YAMLError as error:
            self.stop(1, f"not YAML: {error}")
        finally:
            loader.dispose()

    def stop(self, line: int, message: str) -> NoReturn:
        self.complaints.at_line(line, (), message)
        raise self.complaints.errors()

    def document(self) -> dict[str, object]:
        self.next()
        start = self.next()
        if not isinstance(start, yaml.DocumentStartEvent):
            self.stop(1, self.empty)
        if start.version is not None or start.tags:
            message = "lines that start with % (YAML directives) are not used in a scene file: delete it"
            self.complaints.at_line(_line(start), (), message)
        top = self.next()
        if isinstance(top, yaml.ScalarEvent) and not top.value:
            self.stop(_line(top), self.empty)
        value, _ = self.value(top, ())
        self.next()
        again = self.next()
        if isinstance(again, yaml.DocumentStartEvent):
            message = "a second document starts here: a scene file holds one, without another ---"
            self.complaints.at_line(_line(again), (), message)
        if isinstance(value, dict):
            return value
        if value is not BROKEN:
            got = "a list" if isinstance(value, tuple) else "plain text"
            message = f"expected `key: value` lines, the first of them `{self.first}`; got {got}"
            self.complaints.at_line(_line(top), (), message)
        raise self.complaints.errors()

    def value(self, event: Any, key: Key) -> tuple[object, int]:
        """The value that starts with ``event`` and the offset of its end."""
        if len(key) > DEEPEST:
            self.stop(_line(event), f"lists and mappings are nested deeper than {DEEPEST} levels here")
        start = _start(event)
        value: object
        if isinstance(event, yaml.ScalarEvent):
            value, end = self.scalar(event, key), _end(event)
            if event.style in ("|", ">"):
                end = start + len(self.text[start:end].rstrip())
        elif isinstance(event, yaml.SequenceStartEvent):
            value, end = self.list(event, key)
        elif isinstance(event, yaml.MappingStartEvent):
            value, end = self.mapping(event, key)
        else:
            value, end = BROKEN, _end(event)
            self.refuse(event, key, "an alias (*) repeats another value: write the value out")
        if event.anchor is not None and value is not BROKEN:
            value = self.refuse(event, key, "an anchor (&) is not used in a scene file: write each value out")
        if getattr(event, "tag", None) is not None:
            tag = event.tag.replace("tag:yaml.org,2002:", "!!")
            value = self.refuse(event, key, f"a tag ({tag}) is not used in a scene file: delete it")
        self.spans[key] = (start + self.mark, end + self.mark)
        return value, end

    def refuse(self, event: yaml.Event, key: Key, message: str) -> Broken:
        self.complaints.at_line(_line(event), key, message)
        return BROKEN

    def scalar(self, event: yaml.ScalarEvent, key: Key) -> object:
        if event.style or event.tag is not None:
            return event.value
        try:
            value = resolve(event.value)
        except ValueError as error:
            return self.refuse(event, key, str(error))
        may_be_blank = self.blanks or (len(key) == 1 and key[0] in SECTIONS)
        if value is not None or (may_be_blank and not event.value):
            return value
        if event.value:
            return self.refuse(event, key, f"{event.value} means no value: delete the key, or quote the word")
        rest = self.text[_start(event) :].partition("\n")[0].strip().removeprefix(":").strip()
        if rest.startswith("#"):
            quoted = rest.split(" ")[0]
            hint = f"from # on a line is a comment; quote text that starts with #, such as '{quoted}'"
        elif (rest := str(key[-1]).partition(" ")[0]).isdigit():
            hint = f"a decimal comma before {rest} makes two of one number; write a point"
        else:
            hint = "write one or delete the key"
        return self.refuse(event, key, f"no value stands here: {hint}")

    def list(self, event: yaml.SequenceStartEvent, key: Key) -> tuple[tuple[object, ...], int]:
        items: list[object] = []
        end = _end(event)
        while not isinstance(item := self.next(), yaml.SequenceEndEvent):
            here = (*key, len(items))
            self.lines[here] = _line(item)
            value, end = self.value(item, here)
            items.append(value)
        return tuple(items), _end(item) if event.flow_style else end

    def mapping(self, event: yaml.MappingStartEvent, key: Key) -> tuple[dict[str, object], int]:
        values: dict[str, object] = {}
        end = _end(event)
        while not isinstance(name := self.next(), yaml.MappingEndEvent):
            word = self.key(name, key)
            here = (*key, word or "?")
            double = word is not None and here in self.lines
            if double:
                first = self.lines[here]
                self.complaints.at_line(
                    _line(name), here, f"this key stands here twice; first on line {first}"
                )
                here = (*here, "again")
            self.lines[here] = _line(name)
            value, end = self.value(self.next(), here)
            if word is not None and not double and value is not None:
                values[word] = value
        return values, _end(name) if event.flow_style else end

    def key(self, event: Any, above: Key) -> str | None:
        """A key's word, or None where it is refused."""
        if isinstance(event, yaml.AliasEvent):
            self.refuse(event, above, "a key must be plain text, not an alias (*)")
        elif not isinstance(event, yaml.ScalarEvent):
            self.refuse(event, above, "a key must be plain text, not a list or mapping")
            self.value(event, (*above, "?"))
        elif event.value == "<<" and not event.style:
            message = "merge keys (<<) are not used in a scene file: write the keys out"
            self.refuse(event, (*above, "<<"), message)
        elif event.anchor is not None or event.tag is not None:
            message = "anchors (&) and tags (!) are not used in a scene file: delete it"
            self.refuse(event, (*above, event.value), message)
        elif not event.value:
            self.refuse(event, above, "a key is missing before the ':'")
        else:
            return str(event.value)
        return None


# Every event the parser gives has marks; its type stubs allow for events made by hand.
def _line(event: Any) -> int:
    return int(event.start_mark.line) + 1


def _start(event: Any) -> int:
    return int(event.start_mark.index)


def _end(event: Any) -> int:
    return int(event.end_mark.index)
