"""The ways one tube could run, as a table and as JSON."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from layout3d.reports.table import Cell, text_table
from layout3d.tubes.choices import Choice

_HEAD = ("choice", "cut mm", "path mm", "bends", "angles", "gap kept mm", "seen crossing")


def choices_text(name: str, choices: Sequence[Choice]) -> str:
    """A row for each, numbered as ``--keep`` takes them."""
    rows: list[list[Cell]] = [
        [
            str(number),
            one.cut_mm,
            one.path_mm,
            str(one.bends),
            one.angles,
            one.kept_mm,
            ", ".join(one.crosses) or "none",
        ]
        for number, one in enumerate(choices, 1)
    ]
    keep = f"keep one of them in the scene with --choices {name} --keep NUMBER"
    return f"ways to run {name}, the shortest first:\n\n{text_table(_HEAD, rows)}\n\n{keep}"


def choices_result(file: str, name: str, choices: Sequence[Choice]) -> dict[str, Any]:
    """The same for other programs."""
    return {
        "scene": file,
        "tube": name,
        "choices": [
            {
                "choice": number,
                "cut_mm": one.cut_mm,
                "path_mm": one.path_mm,
                "bends": one.bends,
                "angles": one.angles,
                "gap_kept_mm": one.kept_mm,
                "seen_crossing": list(one.crosses),
                "corners_mm": [list(corner) for corner in one.corners],
            }
            for number, one in enumerate(choices, 1)
        ],
    }
