"""Solved values written back into a scene's text, with every other byte left as it is."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise
from operator import itemgetter

from layout3d.errors import SceneErrors
from layout3d.scene.complaints import Key, key_text
from layout3d.scene.document import read_document
from layout3d.scene.model import Places


def splice(text: str, places: Places, values: Mapping[Key, str]) -> str:
    """``text`` with the value at each key path replaced by new one-line YAML.

    Only the span of each value changes: comments, line endings and a byte order mark stay.
    ``places`` are those of ``text``. KeyError for a key path that is not in the file; ValueError for
    new YAML that is not one line, spans that overlap, or text that would not read back as meant.
    """
    spans = sorted(((*places.spans[key], key) for key in values), key=itemgetter(0))
    for (_, end, outer), (start, _, inner) in pairwise(spans):
        if start < end:
            raise ValueError(f"{key_text(inner)} lies inside {key_text(outer)}: replace one of them")
    pieces: list[str] = []
    done = 0
    for start, end, key in spans:
        pieces += text[done:start], _fitted(text, start, values[key], key)
        done = end
    spliced = "".join((*pieces, text[done:]))
    _check_meaning(text, spliced, values)
    return spliced


def _fitted(text: str, start: int, value: str, key: Key) -> str:
    """The new YAML, moved in where a list stood on lines of its own, as far left as its key."""
    if not value.strip() or "\n" in value or "\r" in value:
        raise ValueError(f"{key_text(key)}: new YAML must be one line with a value, got {value!r}")
    begin = max(text.rfind("\n", 0, start), text.rfind("\r", 0, start)) + 1
    return f"  {value}" if not text[begin:start].strip(" ") and begin and text[start] == "-" else value


def _check_meaning(text: str, spliced: str, values: Mapping[Key, str]) -> None:
    before, _ = read_document(text, "")
    try:
        wanted = _replaced(before.values, {key: _value_of(value) for key, value in values.items()})
        after, complaints = read_document(spliced, "")
        complaints.raise_any()
    except SceneErrors as error:
        raise ValueError(f"the new values would not read back: {error}") from None
    if after.values != wanted:
        raise ValueError("the new values would change the meaning of what stands beside them")


def _value_of(yaml_text: str) -> object:
    document, complaints = read_document(f"value: {yaml_text}\n", "")
    complaints.raise_any()
    return document.values["value"] if len(document.values) == 1 else document.values


def _replaced(value: object, new: Mapping[Key, object]) -> object:
    if () in new:
        return new[()]
    steps = {key[0] for key in new}
    below = {step: {key[1:]: each for key, each in new.items() if key[0] == step} for step in steps}
    if isinstance(value, dict):
        return {name: _replaced(each, below[name]) if name in below else each for name, each in value.items()}
    if isinstance(value, tuple):
        return tuple(_replaced(each, below[at]) if at in below else each for at, each in enumerate(value))
    raise ValueError(f"there is nothing at {key_text(next(iter(new)))} to replace")
