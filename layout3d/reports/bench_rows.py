"""The bench plan as comma-separated rows."""

from __future__ import annotations

from collections.abc import Callable

from layout3d.bench.plan import BenchPlan
from layout3d.layout import Layout
from layout3d.reports.bench import figure
from layout3d.reports.table import Cell, csv_table
from shapes.pose import as_vec3


def bench_csv(layout: Layout, plan: BenchPlan, kind: str) -> str:
    """One of ``CSV_KINDS`` as rows."""
    return _CSV[kind](layout, plan)


def _marks_csv(layout: Layout, plan: BenchPlan) -> str:
    head = (
        "tube",
        "marked_from",
        "saw_mm",
        "bend",
        "mark_mm",
        "end_mm",
        "line_mm",
        "turn_deg",
        "bend_deg",
        "set_deg",
        "radius_mm",
    )
    rows: list[list[Cell]] = []
    for work in plan.works:
        made = work.marked
        start: list[Cell] = [made.name, made.marked_from, figure(made.saw_mm)]
        for n, mark in enumerate(made.marks, 1):
            figures = (
                mark.mark_mm,
                mark.end_mm,
                mark.line_mm,
                mark.turn_deg,
                mark.bend_deg,
                mark.set_deg,
                mark.radius_mm,
            )
            rows.append([*start, str(n), *map(figure, figures)])
        if not made.marks:
            rows.append([*start, None, None, None, None, None, None, None, None])
    return csv_table(head, rows)


def _points_csv(layout: Layout, plan: BenchPlan) -> str:
    """Where the straights meet, ends included: columns as tube bending machines take them (XYZ)."""
    rows: list[list[Cell]] = []
    for tube in layout.tubes:
        if tube.corners is None or tube.bends is None:
            continue
        ends = (as_vec3(tube.mouths[0].origin), as_vec3(tube.mouths[1].origin))
        radii: list[float | None] = [None, *(bend.radius_mm for bend in tube.bends), None]
        points = (ends[0], *tube.corners, ends[1])
        for n, (point, radius) in enumerate(zip(points, radii, strict=True)):
            rows.append([tube.name, str(n), *map(figure, point), None if radius is None else figure(radius)])
    return csv_table(("tube", "point", "x_mm", "y_mm", "z_mm", "radius_mm"), rows)


def _lra_csv(layout: Layout, plan: BenchPlan) -> str:
    """Length fed, rotation, angle of each bend (LRA), insertion counted in at both ends."""
    rows: list[list[Cell]] = []
    for tube in layout.tubes:
        if tube.bends is None or tube.last_straight_mm is None:
            continue
        for n, bend in enumerate(tube.bends, 1):
            feed = bend.straight_mm + (tube.insertions[0] if n == 1 else 0.0)
            figures = (feed, bend.turn_deg, bend.bend_deg, bend.radius_mm)
            rows.append([tube.name, str(n), *map(figure, figures)])
        last = tube.last_straight_mm + tube.insertions[1] + (0.0 if tube.bends else tube.insertions[0])
        rows.append([tube.name, "end", figure(last), None, None, None])
    return csv_table(("tube", "bend", "length_mm", "rotation_deg", "angle_deg", "radius_mm"), rows)


def _cuts_csv(layout: Layout, plan: BenchPlan) -> str:
    rows: list[list[Cell]] = []
    for tubing, pieces in plan.sawn.items():
        cutting = plan.cuttings.get(tubing)
        held = (
            {}
            if cutting is None
            else {name: n for n, one in enumerate(cutting.lengths, 1) for name in one.pieces}
        )
        for name, size in sorted(pieces, key=lambda piece: (held.get(piece[0], 0), -piece[1])):
            rows.append([tubing, str(held[name]) if name in held else None, name, figure(size)])
    return csv_table(("tubing", "length", "tube", "saw_mm"), rows)


_CSV: dict[str, Callable[[Layout, BenchPlan], str]] = {
    "marks": _marks_csv,
    "points": _points_csv,
    "lra": _lra_csv,
    "cuts": _cuts_csv,
}
CSV_KINDS = tuple(_CSV)
