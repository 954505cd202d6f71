"""How one part could be built in: the table and the JSON of ``layout3d fit``."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Sequence
from typing import Any

from layout3d import __version__
from layout3d.fit.answer import FitAnswer, Row
from layout3d.reports.table import COLUMNS, Cell, text_table
from layout3d.words import number

#: What `layout3d.fit.variants` adds to the name of a fan on the other side.
_MORE = "_more"


def fit_text(answer: FitAnswer, scene: str) -> str:
    """A row for each variant, what was asked with it, and what was left out."""
    fits = sum(bool(row.clears or row.slides) for row in answer.rows)
    heading = f"{answer.part} ({scene}): {fits} of {len(answer.rows)} ways fit"
    moved = ", ".join(part for part in answer.group if part != answer.part)
    blocks = [_filled(heading + (f"; with it {moved}" if moved else ""))]
    told = list(dict.fromkeys(text for row in answer.rows if (text := _told(row))))
    columns: dict[str, Callable[[Row], str]] = {
        "thick mm": _thickness,
        "fans": _fans,
        "way": _way,
        "as it stands": lambda row: f"no, {told.index(_told(row)) + 1}" if _told(row) else "clears",
        "free slides mm": _slides,
    }
    shown = {head: cell for head, cell in columns.items() if any(cell(row) for row in answer.rows)}
    rows: list[list[Cell]] = [[cell(row) or "-" for cell in shown.values()] for row in answer.rows]
    blocks.append(text_table(tuple(shown), rows))
    if told:
        blocks.append("\n".join(_filled(f"{n:>2}  {text}", "    ") for n, text in enumerate(told, 1)))
    if any(_MORE in text for text in told):
        blocks.append(_filled(f"names ending in {_MORE}: fans added on the other side of {answer.part}"))
    if answer.left_out:
        tubes = ", ".join(f"{tube} ({why})" for tube, why in answer.left_out)
        blocks.append(_filled(f"tubes left out, `check` lays them anew: {tubes}"))
    return "\n\n".join(blocks)


def fit_result(answer: FitAnswer, scene: str) -> dict[str, Any]:
    """The same as plain values; keys are always present."""
    return {
        "layout3d": __version__,
        "scene": scene,
        "part": answer.part,
        "moves_with_it": [part for part in answer.group if part != answer.part],
        "fits": answer.fits,
        "left_out": [{"tube": tube, "reason": why} for tube, why in answer.left_out],
        "variants": [_result(row) for row in answer.rows],
    }


def _result(row: Row) -> dict[str, Any]:
    failure = row.failure
    return {
        "thickness_mm": row.variant.thickness,
        "fans": row.variant.fans,
        "way": row.variant.way,
        "clears": row.clears,
        "free_slides_mm": None if row.slides is None else [list(span) for span in row.slides],
        "failure": None
        if failure is None
        else {
            "rule": failure.rule,
            "parts": list(failure.parts),
            "measured_mm": round(failure.measured_mm, 6) + 0.0,
            "required_mm": failure.required_mm,
            "message": failure.message,
        },
        "fault": row.variant.fault,
    }


def _filled(text: str, indent: str = "  ") -> str:
    return textwrap.fill(text, COLUMNS, subsequent_indent=indent, break_on_hyphens=False)


def _thickness(row: Row) -> str:
    return "" if row.variant.thickness is None else number(row.variant.thickness)


def _fans(row: Row) -> str:
    return row.variant.fans or ""


def _way(row: Row) -> str:
    return row.variant.way


def _told(row: Row) -> str:
    """What keeps a variant from being built as it stands; empty where nothing does."""
    if row.clears is None:
        return f"cannot be: {row.variant.fault}"
    if row.failure is None:
        return ""
    return f"{row.failure.rule}: {row.failure.message}"


def _slides(row: Row) -> str:
    return "" if row.slides is None else _spans(row.slides) or "none"


def _spans(spans: Sequence[tuple[float, float]]) -> str:
    return ", ".join(
        number(low) if low == high else f"{number(low)} to {number(high)}" for low, high in spans
    )
