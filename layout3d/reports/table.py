"""Plain-text and CSV tables."""

from __future__ import annotations

import csv
import io
import textwrap
from collections.abc import Sequence

Cell = str | float | None

#: No line is longer than this, so that it fits a usual window.
COLUMNS = 100
_LEAST_COLUMN = 24


def text_table(head: Sequence[str], rows: Sequence[Sequence[Cell]], decimals: int = 1) -> str:
    """Columns lined up, numbers to the right; no rule lines."""
    shown = [[_shown(cell, decimals) for cell in row] for row in rows]
    widths = [max(len(line[i]) for line in [list(head), *shown]) for i in range(len(head))]
    right = [bool(rows) and all(isinstance(row[i], float | None) for row in rows) for i in range(len(head))]
    lines = []
    for line in [list(head), *shown]:
        cells = [
            cell.rjust(width) if flush else cell.ljust(width)
            for cell, width, flush in zip(line, widths, right, strict=True)
        ]
        lines.append("  ".join(cells).rstrip())
    return "\n".join(lines)


def folded_table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """A table whose last column is folded so that no line is longer than ``COLUMNS``."""
    taken = sum(max(len(row[at]) for row in (head, *rows)) + 2 for at in range(len(head) - 1))
    width = max(COLUMNS - taken, _LEAST_COLUMN)
    folded: list[list[Cell]] = []
    for *cells, last in rows:
        lines = textwrap.wrap(last, width, break_long_words=False, break_on_hyphens=False) or [""]
        folded.append([*cells, lines[0]])
        folded += [[*[""] * len(cells), line] for line in lines[1:]]
    return text_table(head, folded)


def csv_table(head: Sequence[str], rows: Sequence[Sequence[Cell]]) -> str:
    """Comma-separated, a point as decimal mark, empty where nothing applies."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(head)
    writer.writerows([["" if cell is None else cell for cell in row] for row in rows])
    return out.getvalue()


def _shown(cell: Cell, decimals: int) -> str:
    if cell is None:
        return "-"
    return f"{cell:z.{decimals}f}" if isinstance(cell, float) else cell
