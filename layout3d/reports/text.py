"""What a builder reads in the terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import TYPE_CHECKING

from layout3d.checks.check import Checked
from layout3d.findings import SEVERITIES, Finding
from layout3d.layout import Layout, Tube
from layout3d.reports.table import Cell, csv_table, text_table
from layout3d.words import counted, direction_word, mm, mm_pair, number
from shapes.pose import as_vec3

if TYPE_CHECKING:
    from layout3d.checks.tightest import Margin
    from layout3d.tolerance.odds import Odds

_WIDTH = 100


def check_text(
    layout: Layout,
    checked: Checked,
    seconds: float,
    margins: Sequence[Margin] = (),
    odds: Odds | None = None,
) -> str:
    """The verdict, every finding, the odds, the tightest gaps, the tubes to cut, and what was looked at."""
    blocks = [_verdict(layout, checked)]
    blocks += [_finding(finding) for finding in checked.findings]
    if odds is not None:
        # Only who asks for odds loads what words them.
        from layout3d.reports.odds import odds_text

        blocks.append(odds_text(odds))
    if margins:
        blocks.append(_tightest(margins))
    if layout.tubes:
        blocks.append(tubes_text(layout.tubes))
    looked_at = f"{counted(checked.solids, 'solid')} ({counted(checked.parts, 'part')})"
    within = "" if layout.scene.tolerances is None else _within(len(layout.scene.tolerances.terms))
    blocks.append(f"checked every pair of {looked_at} and every tube{within}, in {seconds:.2f} s")
    return "\n\n".join(blocks)


def _within(lengths: int) -> str:
    return f", for every build within the tolerances of {counted(lengths, 'length')}"


def _verdict(layout: Layout, checked: Checked) -> str:
    counts = [
        counted(count, severity)
        for severity in SEVERITIES
        if (count := sum(finding.severity == severity for finding in checked.findings))
    ]
    word = "CLEAR" if checked.is_clear else "NOT CLEAR"
    scene = layout.scene
    name = f"{scene.title} ({scene.file})" if scene.title else scene.file
    return f"{word}  {name}" + (f": {', '.join(counts)}" if counts else "")


def _tightest(margins: Sequence[Margin]) -> str:
    """The gaps with least to spare, so that they are measured first on the real parts."""
    lines = ["tightest gaps:"]
    for margin in margins:
        gap, required = mm_pair(margin.gap_mm, margin.required_mm)
        spare = mm(max(margin.spare_mm, 0.0))
        lines += _wrapped(f"{margin.first} and {margin.second}: {gap}, {required} wanted, {spare} to spare")
    return "\n".join(lines)


def _finding(finding: Finding) -> str:
    lines = [f"{finding.severity}: {finding.rule}"]
    lines += _wrapped(finding.message)
    if finding.remedy:
        lines += _wrapped(f"-> {finding.remedy}")
    place = [] if finding.at_mm is None else ["at " + _point(finding.at_mm)]
    if finding.where is not None:
        place.append(f"written in {finding.where}")
    if place:
        lines += _wrapped(", ".join(place))
    return "\n".join(lines)


def _wrapped(text: str) -> list[str]:
    return textwrap.wrap(text, _WIDTH, initial_indent="  ", subsequent_indent="    ", break_on_hyphens=False)


def _point(point: Sequence[float]) -> str:
    return "[" + ", ".join(f"{value:z.1f}" for value in point) + "]"


TUBE_HEAD = ("tube", "from", "to", "path mm", "cut mm", "least radius mm")
BEND_HEAD = ("tube", "bend", "straight mm", "turn deg", "bend deg", "radius mm", "mark mm")


BEND_LEGEND = (
    "straight: before the bend; turn: of the bend's plane since the last bend, right-handed about the way\n"
    "of travel; mark: where the bend starts on the cut piece, from its first end, insertion included"
)


def tubes_text(tubes: Sequence[Tube]) -> str:
    """The cut list and, below it, the bend table."""
    rows: list[list[Cell]] = [
        [tube.name, tube.start, tube.end, tube.path_mm, tube.cut_mm, tube.least_bend_radius_mm]
        for tube in tubes
    ]
    bends = bend_rows(tubes)
    tables = [text_table(TUBE_HEAD, rows)]
    if bends:
        tables.append(text_table(BEND_HEAD, bends) + "\n" + BEND_LEGEND)
    return "\n\n".join(tables)


def tubes_csv(tubes: Sequence[Tube]) -> str:
    """One row a bend, and one for what is left of each tube after its last bend."""
    head = (
        "tube",
        "from",
        "to",
        "cut_mm",
        "bend",
        "straight_mm",
        "turn_deg",
        "bend_deg",
        "radius_mm",
        "mark_mm",
    )
    rows: list[list[Cell]] = []
    for tube in tubes:
        start: list[Cell] = [tube.name, tube.start, tube.end, _rounded(tube.cut_mm)]
        for place, bend in enumerate(tube.bends or (), start=1):
            values = (bend.straight_mm, bend.turn_deg, bend.bend_deg, bend.radius_mm, bend.mark_mm)
            rows.append([*start, str(place), *(_rounded(value) for value in values)])
        rows.append([*start, "end", _rounded(tube.last_straight_mm), None, None, None, None])
    return csv_table(head, rows)


def bend_rows(tubes: Sequence[Tube]) -> list[list[Cell]]:
    """The bend table: straight before each bend, turn of its plane, angle, radius, mark."""
    rows: list[list[Cell]] = []
    for tube in tubes:
        for place, bend in enumerate(tube.bends or (), start=1):
            values = (bend.straight_mm, bend.turn_deg, bend.bend_deg, bend.radius_mm, bend.mark_mm)
            rows.append([tube.name, str(place), *values])
        if tube.bends:
            rows.append([tube.name, "end", tube.last_straight_mm, None, None, None, None])
    return rows


def ports_text(layout: Layout, users: dict[str, list[str]]) -> str:
    """Every port of every part and fitting: position, facing, thread and who uses it."""
    rows: list[list[Cell]] = []
    for part in layout.parts.values():
        for name, port in part.part.ports.items():
            port2scene = part.port2scene(name)
            x, y, z = as_vec3(port2scene.origin)
            axis = as_vec3(port2scene.z_axis)
            facing = direction_word(axis) or " ".join(number(value, 3) for value in axis)
            used = ", ".join(users.get(f"{part.name}.{name}", ["open"]))
            rows.append([f"{part.name}.{name}", x, y, z, facing, port.thread, used])
    return text_table(("port", "x mm", "y mm", "z mm", "facing", "thread", "used by"), rows, decimals=2)


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 3) + 0.0
