"""Writes line pictures of a layout, or of a shape, into a folder: all of them or none."""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Sequence
from pathlib import Path, PurePath

import numpy as np

from layout3d import __version__
from layout3d.drawing.picture import layout_picture, part_picture
from layout3d.drawing.views import USUAL, VIEWS, View
from layout3d.errors import RequestError
from layout3d.exporters.contents import contents_of
from layout3d.exporters.whole import Outcome, write_whole
from layout3d.layout import Layout
from layout3d.scene.complaints import unknown
from shapes import SHAPES, shape_named


def write_pictures(
    layout: Layout,
    folder: Path,
    views: Sequence[str] = USUAL,
    *,
    without: Collection[str] = (),
    open_case: bool = False,
) -> Outcome:
    """Write SCENE_VIEW.svg for each view.

    ``without``: parts, tubes and solids (``case.roof``) to leave out; ``open_case``: also whatever
    comes off by itself and stands before the rest in that view. RequestError for an unknown view or name, and
    where the folder cannot be written.
    """
    chosen = _views(views)
    _check_names(layout, without)
    stem = PurePath(layout.scene.file).stem
    pictures = {
        f"{stem}_{view.name}.svg": layout_picture(
            layout, view, without={*without, *(_covers(layout, view) if open_case else ())}
        )
        for view in chosen
    }
    return _write(folder, pictures, layout.scene.file, contents_of(layout).fingerprint)


def write_shape_pictures(name: str, folder: Path, views: Sequence[str] = ("corner",)) -> Outcome:
    """Write NAME_VIEW.svg of a family as it is with no parameters given.

    RequestError for an unknown shape or view, and where the folder cannot be written.
    """
    if name not in SHAPES:
        raise RequestError(unknown("shape", name, SHAPES))
    part = shape_named(name)().build()
    pictures = {f"{name}_{view.name}.svg": part_picture(name, part, view) for view in _views(views)}
    fingerprint = hashlib.sha256("".join((__version__, *pictures.values())).encode()).hexdigest()
    return _write(folder, pictures, name, fingerprint)


def _write(folder: Path, pictures: dict[str, str], source: str, fingerprint: str) -> Outcome:
    def fill(stage: Path) -> None:
        for name, text in pictures.items():
            (stage / name).write_text(text, encoding="utf-8", newline="\n")

    return write_whole(folder, fill, scene=source, fingerprint=fingerprint)


def _views(names: Sequence[str]) -> list[View]:
    if not names:
        raise RequestError(f"no view asked for; there are {', '.join(VIEWS)}")
    for name in names:
        if name not in VIEWS:
            raise RequestError(unknown("view", name, VIEWS))
    return [VIEWS[name] for name in dict.fromkeys(names)]


def _check_names(layout: Layout, without: Collection[str]) -> None:
    known = {*layout.parts, *(tube.name for tube in layout.tubes)}
    for name in without:
        owner, point, solid = name.rpartition(".")
        if name in known:
            continue
        if point and owner in layout.parts:
            solids = [piece.name for piece in layout.parts[owner].part.solids]
            if solid in solids:
                continue
            raise RequestError(unknown("solid", solid, solids, owner))
        raise RequestError(unknown("part or tube", name, sorted(known)))


def _covers(layout: Layout, view: View) -> list[str]:
    """Solids that come off by themselves toward the eye."""
    covers = []
    for name, placed in layout.parts.items():
        for solid, way in placed.part.removals.items():
            if float(placed.part2scene.turn(np.array(way)) @ view.scene2view.rotation[2]) > 0.5:
                covers.append(f"{name}.{solid}")
    return covers
