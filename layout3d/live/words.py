"""What the live page says: the same lists as the preview page, and what is wrong with the file."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from html import escape
from typing import Any

from layout3d.errors import Problem
from layout3d.preview.head import facts, said, verdict
from layout3d.preview.tables import findings_list, parts_table, tubes_table
from layout3d.preview.tools import chips
from layout3d.words import counted

#: What is told of a layout before there is one.
NOTHING: Mapping[str, Any] = {
    "verdict": "not clear",
    "parts": [],
    "tubes": [],
    "findings": [],
    "panels": [],
    "steps": [],
}


def good_words(told: Mapping[str, Any]) -> dict[str, str]:
    """The page's words for a layout."""
    errors = sum(finding["severity"] == "error" for finding in told["findings"])
    return {
        "title": told["title"],
        "sign": "\u2713" if errors == 0 else "\u2717",
        "kind": "clear" if errors == 0 else "not",
        "verdict": verdict(told),
        "facts": facts(told),
        "chips": chips(told),
        "lists": f"{findings_list(told)}{tubes_table(told)}{parts_table(told)}",
    }


def problem_words(
    problems: Sequence[Problem], lines: Sequence[str], file: str, good: Mapping[str, str] | None
) -> dict[str, str]:
    """The page's words while the file cannot be read: its problems, then the lists as they last were.

    lines : of the scene file, to show the faulty ones
    good : the words of the last good state, None where there is none yet
    """
    shown = good if good is not None else good_words({**NOTHING, "title": file}) | {"lists": ""}
    first = next((problem.line for problem in problems if problem.line is not None), None)
    where = counted(len(problems), "problem") if len(problems) > 1 or first is None else f"line {first}"
    items = "".join(_problem(problem, lines if problem.file == file else ()) for problem in problems)
    last = "<p>Picture and lists are as they were before.</p>" if good is not None else ""
    return {
        **shown,
        "sign": "!",
        "kind": "not",
        "verdict": said("!", f"Cannot be read: {where}"),
        "lists": f'<h2>Cannot be read</h2>{last}<ol class="problems">{items}</ol>{shown["lists"]}',
    }


def _problem(problem: Problem, lines: Sequence[str]) -> str:
    place = f"{problem.file}, line {problem.line}" if problem.line is not None else problem.file
    key = f"<p><code>{escape(problem.key)}</code></p>" if problem.key else ""
    source = ""
    if problem.line is not None and 0 < problem.line <= len(lines):
        source = f"<pre>{escape(lines[problem.line - 1].strip()[:200])}</pre>"
    known = f'<p class="cure known">{escape(", ".join(problem.choices[:40]))}</p>' if problem.choices else ""
    return f"<li><h3>{escape(place)}</h3>{source}{key}<p>{escape(problem.message)}</p>{known}</li>"
