"""A layout, or one part by itself, as a line picture from one side."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from layout3d.drawing.fine import fine_lines
from layout3d.drawing.hide import visible
from layout3d.drawing.order import painting_order
from layout3d.drawing.rounds import circle
from layout3d.drawing.seen import Body, Face, Fill, Line, Sketch
from layout3d.drawing.sketch import sketch
from layout3d.drawing.svg import Area, Frame, Ink, Pen, Stroke, svg_text
from layout3d.drawing.views import View
from layout3d.layout import Layout
from shapes.bounds import part_box
from shapes.part import Bore, Part
from shapes.pose import IDENTITY, Array, Pose, compose

#: Room about the drawing, as a share of its longer side.
_RIM = 0.03
#: What stands behind these is seen through them; through glass as clear as without it.
_SEEN_THROUGH: frozenset[Ink] = frozenset({"glass", "clear"})
#: How far sides of rounds may lie off them, as a share of the whole, and within which limits [mm].
_CHORD_SHARE = 6e-5
_LEAST_CHORD_MM, _MOST_CHORD_MM = 0.001, 0.03
#: Shorter visible runs of a bend's outline, as a share of it, are none.
_CRUMB_SHARE = 0.02
#: A bore is painted this much before the face it is in [mm].
_BORE_LIFT_MM = 0.05


@dataclass(frozen=True, slots=True, eq=False)
class _Drawn:
    owner: str
    ink: Ink
    sketch: Sketch


def layout_picture(
    layout: Layout, view: View, *, without: Collection[str] = (), pixels: int | None = None
) -> str:
    """The layout as SVG. ``without``: parts, tubes and solids (``case.roof``) to leave out."""
    scene2view = view.scene2view
    boxes = [part_box(placed.part, placed.part2scene) for placed in layout.parts.values()]
    chord_mm = _chord(boxes)
    drawn: list[_Drawn] = []
    names = {}
    for name, placed in layout.parts.items():
        if name not in without:
            spec = layout.scene.parts.get(name)
            names[name] = name if spec is None or spec.label is None else f"{name}: {spec.label}"
            part2view = compose(placed.part2scene, scene2view)
            drawn += _part(name, placed.shape, placed.part, part2view, chord_mm, without)
    for tube in layout.tubes:
        if tube.run is not None and tube.name not in without:
            names[tube.name] = tube.name
            ink: Ink = "tube" if tube.kind == "rigid" else "hose"
            drawn.append(_Drawn(tube.name, ink, sketch(tube.run, scene2view, chord_mm)))
    title = layout.scene.title or layout.scene.file
    return _svg(drawn, f"{title}, seen {view.words}", names, pixels)


def part_picture(name: str, part: Part, view: View, *, pixels: int | None = None) -> str:
    """One part by itself as SVG."""
    chord_mm = _chord([part_box(part, IDENTITY)])
    drawn = list(_part(name, name, part, view.scene2view, chord_mm, ()))
    return _svg(drawn, f"{name}, seen {view.words}", {name: name}, pixels)


def _chord(boxes: Sequence[tuple[Array, Array]]) -> float:
    """How far sides of rounds may lie off them [mm]: what no eye sees in a picture of all of these."""
    if not boxes:
        return _MOST_CHORD_MM
    low, high = np.min([low for low, _ in boxes], axis=0), np.max([high for _, high in boxes], axis=0)
    return min(max(float((high - low).max()) * _CHORD_SHARE, _LEAST_CHORD_MM), _MOST_CHORD_MM)


def _part(
    name: str, family: str, part: Part, part2view: Pose, chord_mm: float, without: Collection[str]
) -> Iterator[_Drawn]:
    for solid in part.solids:
        if f"{name}.{solid.name}" not in without:
            pose = compose(solid.solid2part, part2view)
            seen = sketch(solid.primitive, pose, chord_mm)
            seen.lines += fine_lines(family, solid, pose)
            yield _Drawn(name, solid.look, seen)
    for bore in part.bores:
        if not any(f"{name}.{into}" in without for into in bore.into):
            yield from _bore(name, bore, part2view, chord_mm)


def _bore(name: str, bore: Bore, part2view: Pose, chord_mm: float) -> Iterator[_Drawn]:
    pose = compose(bore.bore2part, part2view)
    if pose.z_axis[2] > 1e-3:
        ring = circle(bore.diameter / 2.0, chord_mm)
        corners = pose.apply(np.column_stack((ring, np.full(len(ring), _BORE_LIFT_MM))))
        face = Face(corners)
        body = Body((Fill((corners[:, :2],), pose.z_axis),), (face,))
        line = Line(np.concatenate((corners, corners[:1])), outline=False)
        yield _Drawn(name, "bore", Sketch([face], [body], [line]))


def _svg(drawn: Sequence[_Drawn], title: str, names: dict[str, str], pixels: int | None) -> str:
    bodies = [(item, body) for item in drawn for body in item.sketch.bodies if body.faces]
    order = painting_order([body for _, body in bodies])
    areas = [
        Area(bodies[number][0].owner, bodies[number][0].ink, fill)
        for number in order
        for fill in bodies[number][1].fills
    ]
    return svg_text(areas, _strokes(drawn), _frame(drawn), title=title, names=names, pixels=pixels)


def _strokes(drawn: Sequence[_Drawn]) -> list[Stroke]:
    solid = [face for item in drawn if item.ink not in _SEEN_THROUGH for face in item.sketch.hiding]
    clear = [face for item in drawn if item.ink == "clear" for face in item.sketch.hiding]
    lines = [(item, line) for item in drawn for line in item.sketch.lines]
    shown = visible([line.points for _, line in lines], solid)
    runs = [(item, line, run) for (item, line), kept in zip(lines, shown, strict=True) for run in kept]
    bare = visible([run for *_, run in runs], clear)
    veiled: list[Stroke] = []
    strokes: list[Stroke] = []
    for (item, line, run), free in zip(runs, bare, strict=True):
        if _is_crumb(run, line.points):
            continue
        if not (len(free) == 1 and np.array_equal(free[0], run)):
            veiled.append(Stroke(item.owner, "through", run[:, :2]))
        pen: Pen = "outline" if line.outline else "fine" if line.fine else "inner"
        strokes += [Stroke(item.owner, pen, piece[:, :2]) for piece in free]
    place = {name: at for at, name in enumerate(dict.fromkeys(item.owner for item in drawn))}
    return sorted(veiled + strokes, key=lambda stroke: place[stroke.owner])


def _is_crumb(run: Array, line: Array) -> bool:
    """Whether a run is what facets left of a line that is hidden there: a dot on the picture."""
    return len(run) < len(line) and _length(run) < _CRUMB_SHARE * _length(line)


def _length(points: Array) -> float:
    return float(np.hypot(*np.diff(points[:, :2], axis=0).T).sum())


def _frame(drawn: Iterable[_Drawn]) -> Frame:
    points = [face.corners[:, :2] for item in drawn for face in _faces(item.sketch)]
    if not points:
        return Frame(0.0, 1.0, 1.0, 1.0)
    low, high = _reach(np.concatenate(points))
    rim = _RIM * float((high - low).max())
    width, height = (high - low + 2.0 * rim).tolist()
    return Frame(float(low[0]) - rim, float(high[1]) + rim, round(width, 2), round(height, 2))


def _faces(drawn: Sketch) -> Iterator[Face]:
    for body in drawn.bodies:
        yield from body.faces


def _reach(points: Array) -> tuple[Array, Array]:
    return points.min(axis=0), points.max(axis=0)
