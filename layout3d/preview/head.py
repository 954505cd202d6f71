"""The page's head: the verdict in words, and the figures of the build."""

from __future__ import annotations

from collections.abc import Mapping
from html import escape
from typing import Any

from layout3d.words import counted


def head(title: str, told: Mapping[str, Any]) -> str:
    """The page's head with its title, verdict, figures, and the switch between light and dark."""
    kind = told["verdict"].split()[0]
    return (
        f'<header><h1>{escape(title)}</h1><p class="verdict {kind}" role="status">{verdict(told)}</p>'
        f'<dl class="facts" id="facts">{facts(told)}</dl>'
        '<button id="theme" class="live-only" type="button">Light or dark</button></header>\n'
    )


def verdict(told: Mapping[str, Any]) -> str:
    """Whether everything fits: a sign and words."""
    count = sum(finding["severity"] == "error" for finding in told["findings"])
    if told["verdict"] == "clear":
        return said("\u2713", "Everything fits")
    return said("\u2717", f"Does not fit: {counted(count, 'error')}")


def said(sign: str, words: str) -> str:
    """A sign for the eye and what it means."""
    return f'<b aria-hidden="true">{sign}</b> {escape(words)}'


def facts(told: Mapping[str, Any]) -> str:
    """How much of what there is."""
    tubes = [tube["cut_mm"] for tube in told["tubes"] if tube["cut_mm"] is not None]
    own = sum(part["group"] != "fittings" for part in told["parts"])
    shown = [("parts", str(own)), ("fittings", str(len(told["parts"]) - own)), ("tubes", str(len(tubes)))]
    if tubes:
        shown.append(("tube in all", f"{sum(tubes) / 1000:.2f} m"))
    return "".join(f"<div><dt>{name}</dt><dd>{value}</dd></div>" for name, value in shown)
