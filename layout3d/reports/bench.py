"""The bench plan as text, and as plain values for other programs."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from layout3d import __version__
from layout3d.bench.plan import BenchPlan, Work
from layout3d.bench.stock import Cutting
from layout3d.layout import Layout
from layout3d.reports.results import finding_result
from layout3d.reports.table import Cell, folded_table, text_table
from layout3d.tubes.given_table import MISS_MM
from layout3d.words import counted, degrees, mm, number

_MARK_HEAD = (
    "tube",
    "marked from",
    "saw mm",
    "bend",
    "mark mm",
    "end mm",
    "line mm",
    "turn deg",
    "bend deg",
    "set deg",
)
_MARK_LEGEND = (
    "mark, end: where the bend starts and ends on the straight piece, from the end it is marked from,\n"
    "insertion included; line: where the former's own line goes; turn: of the bend's plane since the\n"
    "last bend, right-handed about the way from that end; set: what to bend to, with spring-back"
)


def bench_text(layout: Layout, plan: BenchPlan) -> str:
    """Everything to saw, mark and bend, then what it is worth and how it is cut from stock."""
    rigid = list(plan.works)
    parts = [_title(layout)]
    if rigid:
        parts.append(
            text_table(_MARK_HEAD, [row for work in rigid for row in _mark_rows(work)]) + "\n" + _MARK_LEGEND
        )
        parts.append(_worth(rigid))
        parts.append("\n".join(_orders(rigid)))
        parts.append(_slips(rigid))
    parts += [_stock(layout, plan, tubing) for tubing in plan.sawn]
    parts.append(_windows(plan))
    if plan.without:
        parts.append(f"No length yet, see `layout3d check`: {', '.join(plan.without)}")
    return "\n\n".join(part for part in parts if part)


def _title(layout: Layout) -> str:
    return f"At the bench: {layout.scene.title or layout.scene.file} ({layout.scene.file})"


def _mark_rows(work: Work) -> Iterator[list[Cell]]:
    made = work.marked
    start: list[Cell] = [made.name, made.marked_from, made.saw_mm]
    if not made.marks:
        yield [*start, "-", None, None, None, None, None, None]
    for n, mark in enumerate(made.marks, 1):
        figures = (mark.mark_mm, mark.end_mm, mark.line_mm, mark.turn_deg if n > 1 else None)
        yield [*(start if n == 1 else ["", "", None]), str(n), *figures, mark.bend_deg, mark.set_deg]


def _worth(works: list[Work]) -> str:
    rows = []
    for work in works:
        made = work.marked
        news = "; ".join(f"{one.rule}: {one.message}" for one in work.rounded_findings)
        rows.append([made.name, mm(made.miss_mm), degrees(made.off_deg), news or "nothing new"])
    head = ("tube", "its end misses by", "tilted by", "in the layout it meets")
    return "Bent to just these figures:\n" + folded_table(head, rows)


def _orders(works: list[Work]) -> Iterator[str]:
    for work in works:
        name, count = work.marked.name, len(work.marked.marks)
        if work.order.blocked:
            why = "; ".join(f"bend {one.bend + 1} meets {one.meets}" for one in work.order.blocked)
            yield f"{name}: no order of bends was found that can be made on this former ({why})"
        elif order_words(work):
            yield f"{name}: {order_words(work)}"
        elif count > 1:
            yield f"{name}: bend in order, 1 to {count}"


def order_words(work: Work) -> str:
    """The order of a tube's bends from the end it is marked from; nothing for the plain one."""
    order = work.order.order
    if all(one.bend == n and not one.turned_over for n, one in enumerate(order)):
        return ""
    words = ", then ".join(f"{one.bend + 1}{' turned over' if one.turned_over else ''}" for one in order)
    return f"make bend {words}"


def _slips(works: list[Work]) -> str:
    """What angles must be held to; a straight's millimetre is a millimetre at the end."""
    rows: list[list[Cell]] = []
    for work in works:
        angles = [slip for slip in work.slips if slip.unit == "degree"]
        if angles:
            worst = max(angles, key=lambda slip: slip.moves_mm)
            rows.append([work.marked.name, worst.what, worst.moves_mm, MISS_MM / worst.moves_mm])
    if not rows:
        return ""
    head = ("tube", "touchiest angle", "mm a degree", f"degrees for {number(MISS_MM)} mm")
    told = (
        "What a slip does to the far end: a millimetre too much on a straight moves it a millimetre, on the\n"
        "last one only in or out of its fitting. Angles move it by more:\n"
    )
    return told + text_table(head, rows, decimals=2)


def _windows(plan: BenchPlan) -> str:
    if not plan.windows:
        return ""
    rows = [
        [name, " or ".join(f"{low:.1f} to {high:.1f}" for low, high in spans) or "no length was found"]
        for name, spans in plan.windows.items()
    ]
    return "Lengths a soft tube may be cut to, mm:\n" + folded_table(("tube", "from, to"), rows)


def _stock(layout: Layout, plan: BenchPlan, tubing: str) -> str:
    pieces = plan.sawn[tubing]
    cutting = plan.cuttings.get(tubing)
    if cutting is None:
        total = mm(sum(size for _, size in pieces))
        return (
            f"{tubing}: {counted(len(pieces), 'piece')}, {total} together; state `bench: {{{tubing}: "
            "{stock: <length>}}` to have them laid out on bought lengths"
        )
    sizes = dict(pieces)
    rows = [
        [str(n), mm(length.left_mm), ", ".join(f"{name} {number(sizes[name], 1)}" for name in length.pieces)]
        for n, length in enumerate(cutting.lengths, 1)
    ]
    table = folded_table(("length", "left", "saw off, mm"), rows) if rows else ""
    return "\n".join(line for line in (stock_words(tubing, cutting), table) if line)


def stock_words(tubing: str, cutting: Cutting) -> str:
    """How many bought lengths it takes and what is left of them."""
    told = f"{tubing}: {counted(len(cutting.lengths), 'length')} of {mm(cutting.stock_mm)}"
    told += ", fewer would not do" if cutting.fewest else ", not proved to be the fewest"
    told += f"; {mm(cutting.waste_mm)} left, saw cuts of {mm(cutting.kerf_mm)} counted"
    if cutting.too_long:
        told += f". LONGER THAN A LENGTH, join or buy longer: {', '.join(cutting.too_long)}"
    return told


def bench_result(layout: Layout, plan: BenchPlan) -> dict[str, Any]:
    """The plan as plain values; keys are always present."""
    return {
        "layout3d": __version__,
        "scene": layout.scene.file,
        "tubes": [_work_result(work) for work in plan.works],
        "sawn": {
            tubing: [{"tube": name, "saw_mm": figure(size)} for name, size in pieces]
            for tubing, pieces in plan.sawn.items()
        },
        "cuttings": {tubing: _cutting_result(cutting) for tubing, cutting in plan.cuttings.items()},
        "without_length": list(plan.without),
        "windows_mm": None
        if plan.windows is None
        else {
            name: [[figure(low), figure(high)] for low, high in spans] for name, spans in plan.windows.items()
        },
    }


def _work_result(work: Work) -> dict[str, Any]:
    made = work.marked
    return {
        "name": made.name,
        "tubing": made.tubing,
        "marked_from": made.marked_from,
        "cut_mm": figure(made.cut_mm),
        "saw_mm": figure(made.saw_mm),
        "marks": [
            {
                "mark_mm": figure(mark.mark_mm),
                "end_mm": figure(mark.end_mm),
                "line_mm": figure(mark.line_mm),
                "turn_deg": figure(mark.turn_deg),
                "bend_deg": figure(mark.bend_deg),
                "set_deg": figure(mark.set_deg),
                "radius_mm": figure(mark.radius_mm),
            }
            for mark in made.marks
        ],
        "miss_mm": figure(made.miss_mm),
        "off_deg": figure(made.off_deg),
        "findings": [finding_result(finding) for finding in work.rounded_findings],
        "order": [{"bend": one.bend + 1, "turned_over": one.turned_over} for one in work.order.order],
        "blocked": [{"bend": one.bend + 1, "meets": one.meets} for one in work.order.blocked],
        "slips": [
            {
                "figure": slip.what,
                "unit": slip.unit,
                "along_mm": figure(slip.along_mm),
                "aside_mm": figure(slip.aside_mm),
            }
            for slip in work.slips
        ],
    }


def _cutting_result(cutting: Cutting) -> dict[str, Any]:
    return {
        "stock_mm": figure(cutting.stock_mm),
        "kerf_mm": figure(cutting.kerf_mm),
        "lengths": [
            {"pieces": list(length.pieces), "left_mm": figure(length.left_mm)} for length in cutting.lengths
        ],
        "waste_mm": figure(cutting.waste_mm),
        "fewest": cutting.fewest,
        "too_long": list(cutting.too_long),
    }


def figure(value: float) -> float:
    """A length or angle as other programs get it, without the arithmetic's last bits."""
    return round(value, 6) + 0.0
