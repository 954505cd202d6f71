"""What the YAML parser says, in words for a builder."""

from __future__ import annotations

import re

import yaml

_COMMENT = "from a blank and # on, a line is a comment: quote text that starts with #"
_COMMENT_FOR_VALUE = re.compile(r"[:,\[{][ \t]+#")


def explained(error: yaml.MarkedYAMLError, text: str) -> tuple[int, str]:
    """Line (from 1) and message of a syntax error in ``text``."""
    mark = error.problem_mark or error.context_mark
    if mark is None:
        return 1, f"not YAML: {error}"
    index = min(mark.index, len(text))
    char = text[index : index + 1]
    problem, context = error.problem or "", error.context or ""
    opened = error.context_mark.line + 1 if error.context_mark is not None else mark.line + 1
    line = mark.line + 1
    if (
        "directive" in problem
        or "incompatible YAML" in problem
        or "incompatible YAML" in context
        or char == "%"
    ):
        return line, "lines that start with % (YAML directives) are not used in a scene file: delete it"
    if "anchor" in problem or "alias" in problem or "anchor" in context or "alias" in context:
        return (
            line,
            "anchors (&) and aliases (*) are not used in a scene file; quote text that starts with them",
        )
    if "tag" in problem or "tag" in context:
        return line, "tags (!) are not used in a scene file; quote text that starts with one"
    if char == "\t":
        return line, "a tab stands where the indentation or a value starts: use spaces"
    if "cannot start any token" in problem:
        return line, f"text cannot start with {char!r}: put it in quotes"
    if context.endswith("flow node"):
        return _missing_item(text[:index], line)
    if "flow" in context:
        return _open_bracket(text, opened, line, "mapping" in context)
    if "quoted scalar" in context:
        return opened, "the quote opened on this line is never closed"
    if char == ":" and "block mapping" in context:
        return line, "a key is missing before the ':'"
    if "mapping values are not allowed" in problem:
        return line, (
            "a second ': ' on this line, or a key indented below a value: "
            "check the indentation, and quote text that contains ': '"
        )
    if "could not find expected ':'" in problem:
        return opened, "expected 'key: value'; the ':' or the blank after it is missing"
    if "block" in context or "<document start>" in problem or "block" in problem:
        return line, f"this line does not fit in with those above it (line {opened}): check the indentation"
    return line, f"not YAML: {problem or context}"


def _missing_item(before: str, line: int) -> tuple[int, str]:
    lines = before.rstrip().splitlines()
    if lines and _COMMENT_FOR_VALUE.search(lines[-1]):
        return len(lines), f"{_COMMENT}; it hides the rest of this line and its closing bracket"
    return line, "a value is missing here, inside brackets that are still open"


def _open_bracket(text: str, opened: int, line: int, mapping: bool) -> tuple[int, str]:
    bracket, close = ("{", "}") if mapping else ("[", "]")
    hidden = any(_COMMENT_FOR_VALUE.search(each) for each in text.splitlines()[opened - 1 : line])
    hint = f"; {_COMMENT}" if hidden else ""
    return opened, f"{bracket} opened on line {opened} is not closed: a {close} or a comma is missing{hint}"
