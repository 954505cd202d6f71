"""Tubes on the sheet: cut list, bend table, templates true to size."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from layout3d.bench.plan import BenchPlan, Work
from layout3d.bench.stock import Cutting
from layout3d.layout import Bend, Layout, Tube
from layout3d.reports.bench import order_words, stock_words
from layout3d.sheet.blocks import Block, Column, Plan, Points, Table, Text
from layout3d.sheet.plans import Flat, FlatRun, fitted, planar
from layout3d.words import counted, mm, number

_LEGEND = (
    "Mark every tube at its first end (the port under from, above). Marks are measured along the straight "
    "piece from there, insertion included, to half a millimetre: start = where the bend begins. Turn: how "
    "far the plane of the bend is turned from that of the bend before, right-handed about the way from the "
    "first end to the last (looking along it, + is clockwise)."
)
_LINE = " Line: where the former's own line goes."
_SET = " Set to: what to bend to, so that the angle stays once the tube has sprung back."
_HOT = "Warm tube springs back and stretches: bend a spare piece first, and cut long where you can trim."
#: Straight on both sides of a template's bend [mm].
_STUB_MM = 30.0


def cut_blocks(layout: Layout, plan: BenchPlan) -> tuple[Block, ...]:
    """What to saw, how much of each tubing it takes, and how it lies on bought lengths."""
    columns = (
        Column("tube"),
        Column("tubing"),
        Column("from", wide=True),
        Column("to", wide=True),
        Column("goes in\nmm", "number"),
        Column("path\nmm", "number"),
        Column("cut\nmm", "number"),
        Column("saw\nmm", "number"),
        Column("measured\nmm", "blank"),
        Column("cut", "tick"),
    )
    sawn = {name: size for pieces in plan.sawn.values() for name, size in pieces}
    rows = []
    for tube in layout.tubes:
        inserted = " + ".join(number(value, 1) for value in tube.insertions)
        sizes = (inserted, _mm(tube.path_mm), _mm(tube.cut_mm), _mm(sawn.get(tube.name)))
        rows.append((tube.name, tube.tubing, tube.start, tube.end, *sizes))
    stock = tuple(block for item in plan.cuttings.items() for block in _stock(*item, sawn))
    return (Table(columns, tuple(rows)), Table(*_tubings(layout)), *stock)


def _stock(tubing: str, cutting: Cutting, sawn: dict[str, float]) -> tuple[Block, ...]:
    columns = (
        Column("length"),
        Column("saw off, mm", wide=True),
        Column("left\nmm", "number"),
        Column("done", "tick"),
    )
    rows = [
        (str(n), ", ".join(f"{name} {number(sawn[name], 1)}" for name in length.pieces), _mm(length.left_mm))
        for n, length in enumerate(cutting.lengths, 1)
    ]
    return (Text(f"{stock_words(tubing, cutting)}."), *([Table(columns, tuple(rows))] if rows else []))


def _tubings(layout: Layout) -> tuple[tuple[Column, ...], tuple[tuple[str, ...], ...]]:
    columns = (
        Column("tubing"),
        Column("kind"),
        Column("outside\nmm", "number"),
        Column("inside\nmm", "number"),
        Column("bend radius\nmm", "number"),
        Column("pieces", "number"),
        Column("together, cuts not counted\nmm", "number", wide=True),
    )
    rows = []
    for name, tubing in layout.scene.tubings.items():
        tubes = [tube for tube in layout.tubes if tube.tubing == name]
        if tubes:
            least = "at least " if tubing.kind == "soft" else ""
            lengths = [tube.cut_mm for tube in tubes if tube.cut_mm is not None]
            total = _mm(math.fsum(lengths)) + (
                "" if len(lengths) == len(tubes) else " and what has no length"
            )
            sizes = (number(tubing.outside), number(tubing.inside), least + number(tubing.bend_radius))
            rows.append((name, tubing.kind, *sizes, str(len(tubes)), total))
    return columns, tuple(rows)


def bend_blocks(layout: Layout, plan: BenchPlan) -> tuple[Block, ...]:
    """The bend table with marks; nothing where no rigid tube bends."""
    works = [work for work in plan.works if work.marked.marks]
    if not works:
        return ()
    marks = [mark for work in works for mark in work.marked.marks]
    lined = any(mark.line_mm != mark.mark_mm for mark in marks)
    sprung = any(mark.set_deg != mark.bend_deg for mark in marks)
    columns = (
        Column("tube", wide=True),
        Column("bend"),
        Column("start mark\nmm", "number"),
        Column("end mark\nmm", "number"),
        *([Column("line\nmm", "number")] if lined else []),
        Column("bend\ndeg", "number"),
        *([Column("set to\ndeg", "number")] if sprung else []),
        Column("turn\ndeg", "number"),
        Column("radius\nmm", "number"),
        Column("bent\ndeg", "blank"),
        Column("done", "tick"),
    )
    rows = [
        (
            work.marked.name,
            str(n),
            _mm(mark.mark_mm),
            _mm(mark.end_mm),
            *([_mm(mark.line_mm)] if lined else []),
            _mm(mark.bend_deg),
            *([_mm(mark.set_deg)] if sprung else []),
            _mm(mark.turn_deg) if n > 1 else "-",
            _mm(mark.radius_mm),
        )
        for work in works
        for n, mark in enumerate(work.marked.marks, 1)
    ]
    legend = _LEGEND + (_LINE if lined else "") + (_SET if sprung else "")
    return (Table(columns, tuple(rows)), Text(legend), *_made(works), Text(_HOT))


def _made(works: Sequence[Work]) -> Iterator[Block]:
    """What bending to the rounded figures comes to, and in which order it is done."""
    worst = max(works, key=lambda work: work.marked.miss_mm)
    yield Text(
        f"Bent to just these figures every end lies within {mm(worst.marked.miss_mm)} of its mouth "
        f"({worst.marked.name})."
    )
    for work in works:
        for finding in work.rounded_findings:
            yield Text(f"With these figures, {finding.rule}: {finding.message}", strong=True)
    if orders := [(work.marked.name, f": {words}") for work in works if (words := order_words(work))]:
        yield Points(tuple(orders))


def _end_mark(bend: Bend) -> float:
    return bend.mark_mm + math.radians(bend.bend_deg) * bend.radius_mm


def _mm(value: float | None) -> str:
    return "-" if value is None else f"{value:z.1f}"


def template_blocks(layout: Layout, room_mm: tuple[float, float]) -> tuple[Block, ...]:
    """A template for each distinct bend, then each flat tube that fits ``room_mm`` as a whole."""
    return (*_bends(layout, room_mm), *_wholes(layout, room_mm))


def _bends(layout: Layout, room_mm: tuple[float, float]) -> Iterator[Block]:
    users: dict[tuple[float, float, float], list[str]] = {}
    for tube in layout.tubes:
        outside = layout.scene.tubings[tube.tubing].outside
        for n, bend in enumerate(tube.bends or (), 1):
            key = (round(bend.bend_deg, 1), round(bend.radius_mm, 2), outside)
            users.setdefault(key, []).append(f"{tube.name} bend {n}")
    for (angle, radius, outside), uses in sorted(users.items(), reverse=True):
        yield _bend(angle, radius, outside, uses, room_mm)


def _bend(
    angle: float, radius: float, outside: float, uses: list[str], room_mm: tuple[float, float]
) -> Block:
    """One bend with a straight on both sides; too large a one as a share to be laid on again and again."""
    half = outside / 2.0
    title = f"Bend of {number(angle)}°, radius {number(radius)} mm, tube {number(outside)} mm"
    for times in range(1, 33):
        flat = Flat(_STUB_MM, angle / times, radius, True, "bend\nstarts", "bend\nends")
        drawn = fitted(FlatRun((flat,), _STUB_MM, outside), room_mm)
        if drawn is None:
            continue
        share = (
            ""
            if times == 1
            else (
                f" Drawn is 1/{times} of it, {number(angle / times)}°: lay it on {times} times, end on start."
            )
        )
        arc = _mm(math.radians(angle) * radius)
        caption = (
            f"For {', '.join(uses)}. Middle line {number(radius)} mm, inner edge {number(radius - half)} mm, "
            f"outer edge {number(radius + half)} mm; {arc} mm along the middle from mark to mark.{share}"
        )
        return Plan(
            title, *drawn, caption, f"{title}, drawn true to size with the marks where it starts and ends"
        )
    return Text(f"{title}: too large for this paper. For {', '.join(uses)}.")


def _wholes(layout: Layout, room_mm: tuple[float, float]) -> Iterator[Block]:
    too_large, bent_in_space = [], []
    for tube in layout.tubes:
        if not tube.bends:
            continue
        sides = planar([bend.turn_deg for bend in tube.bends])
        if sides is None:
            bent_in_space.append(tube.name)
        elif (drawn := fitted(_flat(layout, tube, sides), room_mm)) is None:
            too_large.append(tube.name)
        else:
            title = f"Tube {tube.name} as a whole"
            caption = (
                f"From {tube.start} to {tube.end}, cut to {_mm(tube.cut_mm)} mm, insertion included at both "
                f"ends; {counted(len(tube.bends), 'bend')}. Lay the bent tube on it: both edges must meet."
            )
            yield Plan(title, *drawn, caption, f"{title}, bent, drawn true to size from above")
    if too_large:
        yield Text(
            f"Too long for this paper as a whole: {', '.join(too_large)}. Use the templates of their bends."
        )
    if bent_in_space:
        yield Text(f"Not flat, so not drawn as a whole: {', '.join(bent_in_space)}.")


def _flat(layout: Layout, tube: Tube, sides: list[bool]) -> FlatRun:
    flats = []
    for n, (bend, left) in enumerate(zip(tube.bends or (), sides, strict=True), 1):
        straight = bend.straight_mm + (tube.insertions[0] if n == 1 else 0.0)
        words = (f"{n} starts\n{_mm(bend.mark_mm)}", f"{n} ends\n{_mm(_end_mark(bend))}")
        flats.append(Flat(straight, bend.bend_deg, bend.radius_mm, left, *words))
    last = (tube.last_straight_mm or 0.0) + tube.insertions[1]
    return FlatRun(tuple(flats), last, layout.scene.tubings[tube.tubing].outside)
