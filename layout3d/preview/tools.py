"""The picture's place in the page and the tools under it; they show once the script runs."""

from __future__ import annotations

from collections.abc import Mapping
from html import escape
from typing import Any

from layout3d.preview.told import TUBES

_VIEWS = ("corner", "window", "front", "roof", "tray", "rear", "floor")
_KEYS = (
    "Arrow keys turn it, plus and minus come nearer and go away, 1 to 7 choose a view, "
    "H hides what is chosen, A shows all, escape ends a choice."
)


def stages(two: bool) -> str:
    """The places for the pictures that turn: one, or before and now under one camera."""
    words = ("before", "now") if two else ("now",)
    return (
        f'<div id="stages" hidden>{"".join(_stage(word, two) for word in words)}'
        '<div id="card" role="status"></div></div>'
    )


def _stage(word: str, two: bool) -> str:
    caption = f'<p class="caption">{word}</p>' if two else ""
    told = "The build in three dimensions" if not two else f"The build {word}, in three dimensions"
    return (
        f'<div class="stage" id="stage-{word}"><canvas tabindex="0" role="application" '
        f'aria-label="{told}. {_KEYS}"></canvas><div class="marks"></div>{caption}</div>'
    )


def tools(told: Mapping[str, Any], before: Mapping[str, Any] | None) -> str:
    """One ruled cell for each tool."""
    views = "".join(
        f'<button type="button" data-view="{view}" aria-keyshortcuts="{n}">{view.title()}</button>'
        for n, view in enumerate(_VIEWS, 1)
    )
    sides = "".join(
        f'<option value="{side}">from the {side}</option>' for side in ("window", "front", "roof")
    )
    cut = (
        f'<select id="section" aria-label="Cut"><option value="">no cut</option>{sides}</select>'
        '<input type="range" id="depth" min="0" max="100" value="50" disabled aria-label="Depth of the cut">'
    )
    apart = '<input type="range" id="apart" min="0" max="100" value="0" aria-label="How far apart">'
    measure = '<button type="button" id="measure" aria-pressed="false">Two points</button>'
    cells = (
        _cell("View", views, "views")
        + _cell("Measure", measure)
        + _cell("Show", chips(told, before), "show", "chips")
        + _cell("Cut", cut)
        + _cell("Apart", apart)
        + (_cell("Order", _order(len(told["steps"])), "order") if told["steps"] else "")
    )
    return f'<div id="tools" hidden>{cells}</div>'


def _cell(title: str, inside: str, kind: str = "", place: str = "") -> str:
    named = f' id="{place}"' if place else ""
    return f'<fieldset class="{kind}"><legend>{title}</legend><div{named}>{inside}</div></fieldset>'


def chips(told: Mapping[str, Any], before: Mapping[str, Any] | None = None) -> str:
    """What can be shown and hidden: panels, and each group of parts."""
    layouts = (told, *([before] if before is not None else []))
    groups = dict.fromkeys(part["group"] for one in layouts for part in one["parts"])
    tubes = [TUBES] if any(one["tubes"] for one in layouts) else []
    panels = (
        '<label><input type="checkbox" id="panels" checked> panels</label>'
        if any(one["panels"] for one in layouts)
        else ""
    )
    names = [escape(group) for group in (*groups, *tubes)]
    chips = "".join(
        f'<label><input type="checkbox" class="group" value="{name}" checked> {name}</label>'
        for name in names
    )
    return f'{panels}{chips}<button type="button" id="all">Show all</button>'


def _order(steps: int) -> str:
    return (
        '<button type="button" id="play">Play</button>'
        f'<input type="range" id="step" min="0" max="{steps}" value="{steps}" aria-label="Step of assembly">'
        f'<output id="at">{steps} of {steps}</output>'
    )
