"""Rounded marks: where they bring the tube's end, judged by plain matrices, and that they keep the rules."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path
from types import MappingProxyType

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layout3d.bench.marks import Marked, flipped, marked
from layout3d.bench.slack import slips
from layout3d.build import build
from layout3d.layout import Layout, Tube
from layout3d.scene.model import Bench
from layout3d.scene.reader import parse_scene, read_scene
from layout3d.tubes.centreline import Row, bend_table, from_table, reversed_pieces

ROOT = Path(__file__).parents[2]


def walked(rows: list[tuple[float, float, float, float]], last: float) -> np.ndarray:
    """End of a bend table as a (4, 4) pose: feed, rotate, bend, one matrix each; the first feed along x.

    Length, rotation, angle as machines of the trade take them (common practice, no source).
    """
    pose = np.eye(4)
    for feed, turn, bend, radius in rows:
        step = np.eye(4)
        step[0, 3] = feed
        t, b = math.radians(turn), math.radians(bend)
        roll = np.eye(4)
        roll[1:3, 1:3] = [[math.cos(t), -math.sin(t)], [math.sin(t), math.cos(t)]]
        arc = np.eye(4)
        arc[:2, :2] = [[math.cos(b), -math.sin(b)], [math.sin(b), math.cos(b)]]
        arc[:2, 3] = radius * math.sin(b), radius * (1.0 - math.cos(b))
        pose = pose @ step @ roll @ arc
    end = np.eye(4)
    end[0, 3] = last
    return pose @ end


def scene(corners: list[list[float]], end: list[float], facing: str, bench: str = "") -> Layout:
    text = f"""layout3d: 1
tubings: {{t: {{kind: rigid, outside: 12, inside: 8, bend_radius: 36, end_straight: 5, between_bends: 5}}}}
{bench}
parts:
  a: {{shape: custom, solids: [], ports: {{o: {{at: [0, 0, 0], facing: front}}}}}}
  b: {{shape: custom, at: {end}, solids: [], ports: {{o: {{at: [0, 0, 0], facing: {facing}}}}}}}
tubes:
  over: {{tubing: t, from: a.o, to: b.o, path: {corners or "straight"}}}
"""
    return build(parse_scene(text, "t.yaml"))


def only(layout: Layout, end: str = "from") -> Marked:
    made = marked(layout, layout.tubes[0], end)  # type: ignore[arg-type]
    assert made is not None
    return made


def rows_of(made: Marked) -> tuple[list[tuple[float, float, float, float]], float]:
    """The rows a builder makes who sets just the marks."""
    at, rows = 0.0, []
    for mark in made.marks:
        rows.append((mark.mark_mm - at, mark.turn_deg, mark.bend_deg, mark.radius_mm))
        at = mark.mark_mm + math.radians(mark.bend_deg) * mark.radius_mm
    return rows, made.cut_mm - at


def on_steps(value: float) -> bool:
    return abs(value * 2.0 - round(value * 2.0)) < 1e-9


def test_a_known_tube() -> None:
    # Legs 200, 150, 120 at 90 degrees, R 36: straights 164, 78, 84, arcs 56.5487; cut 439.0973.
    layout = scene([[200, 0, 0], [200, 150, 0]], [200, 150, 120], "floor")
    made = only(layout)
    assert made.cut_mm in (439.0, 439.5)
    first, second = made.marks
    assert first.mark_mm == pytest.approx(164.0)
    assert first.end_mm == pytest.approx(164.0 + 18.0 * math.pi)
    assert second.mark_mm == pytest.approx(298.5) or second.mark_mm == pytest.approx(299.0)
    assert second.turn_deg == pytest.approx(90.0)
    assert made.miss_mm < 0.36


def test_setback_springback_and_trim_only_change_what_they_should() -> None:
    corners, end = [[200, 0, 0]], [200, 100, 0]
    plain = only(scene(corners, end, "window"))
    told = only(scene(corners, end, "window", "bench: {t: {setback: 12.5, springback: 3, trim: 4}}"))
    assert told.saw_mm == plain.saw_mm + 4.0
    assert told.marks[0].line_mm == plain.marks[0].mark_mm - 12.5
    assert told.marks[0].set_deg == pytest.approx(93.0)
    assert replace(told.marks[0], line_mm=0.0, set_deg=0.0) == replace(
        plain.marks[0], line_mm=0.0, set_deg=0.0
    )


legs = st.lists(
    st.tuples(st.sampled_from(["x", "y", "z"]), st.sampled_from([-1, 1]), st.floats(90, 250)), max_size=4
)


@settings(max_examples=60, deadline=None)
@given(legs, st.floats(90.0, 300.0), st.sampled_from(["from", "to"]))
def test_the_end_told_is_the_end_made(legs: list[tuple[str, int, float]], first: float, end: str) -> None:
    points, axis = [np.array([first, 0.0, 0.0])], "x"
    sense = 1
    for way, sign, size in legs:
        if way != axis:
            axis, sense = way, sign
            points.append(points[-1] + sign * size * np.eye(3)["xyz".index(way)])
    facing = {"x": ("rear", "front"), "y": ("window", "tray"), "z": ("floor", "roof")}[axis][sense < 0]
    layout = scene([p.tolist() for p in points[:-1]], points[-1].tolist(), facing)
    tube = layout.tubes[0]
    assert tube.findings == ()
    made = only(layout, end)
    assert all(
        map(on_steps, [made.cut_mm, *(m.mark_mm for m in made.marks), *(m.bend_deg for m in made.marks)])
    )
    assert abs(made.cut_mm - (tube.cut_mm or 0.0)) < 0.5
    exact = [(b.straight_mm, b.turn_deg, b.bend_deg, b.radius_mm) for b in tube.bends or ()]
    wanted = walked(exact, tube.last_straight_mm or 0.0)
    rows, last = rows_of(made)
    if end == "to":
        back, last = flipped([Row(*row) for row in rows], last)
        rows = [(r.straight_mm, r.turn_deg, r.bend_deg, r.radius_mm) for r in back]
    # Marks keep the straights that the tubing asks for.
    assert all(row[0] >= 5.0 - 1e-6 for row in rows)
    got = walked(rows, last)
    # Rolled in its first fitting, no roll brings the end nearer than told, weighing degrees as mm.
    best = min(
        math.hypot(
            math.dist((rolled @ got)[:3, 3], wanted[:3, 3]),
            math.degrees(math.acos(np.clip((rolled @ got)[:3, 0] @ wanted[:3, 0], -1.0, 1.0))),
        )
        for angle in np.radians(np.linspace(-2.0, 2.0, 401))
        for rolled in [rotated_about_x(float(angle))]
    )
    assert math.hypot(made.miss_mm, made.off_deg) <= best + 0.02
    unrolled = math.dist(got[:3, 3], wanted[:3, 3])
    assert made.miss_mm <= unrolled + 0.5


def rotated_about_x(angle: float) -> np.ndarray:
    pose = np.eye(4)
    pose[1:3, 1:3] = [[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]]
    return pose


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.tuples(st.floats(5, 90), st.floats(-180, 180), st.floats(5, 170), st.floats(20, 60)),
        min_size=1,
        max_size=5,
    ),
    st.floats(5, 90),
)
def test_a_table_from_the_other_end_is_the_same_tube(
    rows: list[tuple[float, float, float, float]], last: float
) -> None:
    table = [Row(*row) for row in rows]
    pieces = from_table(table, last, (0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0))
    bends, left = bend_table(reversed_pieces(pieces))
    back, back_last = flipped(table, last)
    assert back_last == pytest.approx(left, abs=1e-7)
    for bend, row in zip(bends, back, strict=True):
        assert (bend.straight_mm, bend.bend_deg) == pytest.approx((row.straight_mm, row.bend_deg), abs=1e-6)
        assert math.cos(math.radians(bend.turn_deg - row.turn_deg)) == pytest.approx(1.0, abs=1e-9)
    assert flipped(back, back_last) == ([replace(table[0], turn_deg=0.0), *table[1:]], last)


def test_slips_are_the_end_s_derivatives() -> None:
    layout = scene([[200, 0, 0], [200, 150, 0], [330, 150, 0]], [330, 150, 120], "floor")
    tube = layout.tubes[0]
    told = {slip.what: slip for slip in slips(tube)}
    rows = [(b.straight_mm, b.turn_deg, b.bend_deg, b.radius_mm) for b in tube.bends or ()]
    last = tube.last_straight_mm or 0.0
    nominal = walked(rows, last)
    small = 1e-4

    def moved(bend: int, column: int, after: float) -> tuple[float, float]:
        changed = [list(row) for row in rows]
        changed[bend][column] += small
        if column == 2:  # the arc takes as much from the straight behind it
            taken = math.radians(small) * rows[bend][3]
            if bend + 1 < len(rows):
                changed[bend + 1][0] -= taken
            after -= 0.0 if bend + 1 < len(rows) else taken
        shift = (walked([tuple(r) for r in changed], after)[:3, 3] - nominal[:3, 3]) / small  # type: ignore[misc]
        along = float(shift @ nominal[:3, 0])
        return along, float(np.linalg.norm(shift - along * nominal[:3, 0]))

    for k in range(3):
        for column, what in ((0, f"straight {k + 1}"), (1, f"turn {k + 1}"), (2, f"bend {k + 1}")):
            if what in told:
                assert (told[what].along_mm, told[what].aside_mm) == pytest.approx(
                    moved(k, column, last), abs=2e-4
                )
    assert "turn 1" not in told
    assert (told["straight 4"].along_mm, told["straight 4"].aside_mm) == pytest.approx((1.0, 0.0), abs=1e-9)


def test_every_shipped_tube_still_fits_its_marks() -> None:
    # Common practice, no source: half a millimetre and half a degree at the end is what a collar takes up.
    for name in ("editing_tower", "dual_card", "editing_tower_auto", "two_posts"):
        layout = build(read_scene(ROOT / "scenes" / f"{name}.yaml"))
        for tube in layout.tubes:
            made = marked(layout, tube)
            if made is not None:
                assert made.miss_mm <= 0.5, (name, tube.name)
                assert made.off_deg <= 0.5, (name, tube.name)


def test_a_soft_tube_has_no_marks() -> None:
    layout = build(read_scene(ROOT / "scenes" / "itx_box.yaml"))
    assert all(marked(layout, tube) is None for tube in layout.tubes)


def test_a_tube_without_a_length_has_no_marks() -> None:
    layout = scene([[200, 0, 0]], [200, 100, 0], "window")
    blank: Tube = replace(layout.tubes[0], bends=None, path_mm=None)
    assert marked(layout, blank) is None
    bare = replace(layout, scene=replace(layout.scene, bench=MappingProxyType({"t": Bench()})))
    assert marked(bare, layout.tubes[0]) == marked(layout, layout.tubes[0])
