"""Writes pictures of a layout, or of a shape, into a folder: all of them or none."""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from pathlib import Path, PurePath

import numpy as np

from layout3d import __version__
from layout3d.drawing.picture import layout_picture, part_picture
from layout3d.drawing.views import USUAL, VIEWS, View
from layout3d.errors import RequestError
from layout3d.exporters.contents import Contents, Progress, contents_of, solids_key
from layout3d.exporters.whole import Outcome, write_whole
from layout3d.findings import Finding
from layout3d.layout import Layout, PlacedPart
from layout3d.scene.complaints import unknown
from shapes import SHAPES, shape_named
from shapes.pose import IDENTITY

#: Shaded pictures, and drawings in lines that are true to size.
FORMATS = ("png", "svg")


def write_pictures(
    layout: Layout,
    folder: Path,
    views: Sequence[str] = USUAL,
    *,
    without: Collection[str] = (),
    open_case: bool = False,
    formats: Sequence[str] = ("svg",),
    findings: Sequence[Finding] = (),
    progress: Progress = lambda _: None,
) -> Outcome:
    """Write SCENE_VIEW.svg, SCENE_VIEW.png or both for each view.

    ``without``: parts, tubes and solids (``case.roof``) to leave out; ``open_case``: also whatever
    comes off by itself and stands before the rest in that view, which shaded pictures else hint at;
    ``findings``: marked in shaded pictures. Where these cannot be had the others are written alone, with a
    note that says why. RequestError for an unknown view, format or name, where the folder cannot be written,
    and where nothing could be.
    """
    chosen, wanted = _views(views), checked_formats(formats)
    _check_names(layout, without)
    shots = []
    for view in chosen:
        covers = frozenset(_covers(layout, view))
        gone = frozenset(without) | (covers if open_case else frozenset())
        shots.append((view, gone, covers - gone))
    contents, stem = contents_of(layout), PurePath(layout.scene.file).stem
    lines = {
        f"{stem}_{view.name}.svg": layout_picture(layout, view, without=gone)
        for view, gone, _ in shots
        if "svg" in wanted
    }
    shaded = _Shaded(contents, findings, stem, shots, progress) if "png" in wanted else None
    return _write(folder, lines, layout.scene.file, contents.fingerprint, shaded)


def write_shape_pictures(
    name: str,
    folder: Path,
    views: Sequence[str] = ("corner",),
    *,
    formats: Sequence[str] = ("svg",),
    progress: Progress = lambda _: None,
) -> Outcome:
    """Write NAME_VIEW of a family as it is with no parameters given; see ``write_pictures``.

    RequestError for an unknown shape, view or format, and where the folder cannot be written.
    """
    if name not in SHAPES:
        raise RequestError(unknown("shape", name, SHAPES))
    part = shape_named(name)().build()
    chosen, wanted = _views(views), checked_formats(formats)
    lines = {f"{name}_{view.name}.svg": part_picture(name, part, view) for view in chosen if "svg" in wanted}
    alone = (PlacedPart(name, name, part, IDENTITY),)
    key = hashlib.sha256(b"|".join((__version__.encode(), name.encode(), solids_key(part)))).hexdigest()
    contents = Contents(name, name, alone, (), (), key, ())
    shots = [(view, frozenset[str](), frozenset[str]()) for view in chosen]
    shaded = _Shaded(contents, (), name, shots, progress) if "png" in wanted else None
    return _write(folder, lines, name, key, shaded)


def checked_formats(formats: Sequence[str]) -> tuple[str, ...]:
    """Each format once. RequestError for one there is not, and for none."""
    if not formats:
        raise RequestError(f"no format asked for; there are {', '.join(FORMATS)}")
    for name in formats:
        if name not in FORMATS:
            raise RequestError(unknown("format", name, FORMATS))
    return tuple(dict.fromkeys(formats))


@dataclass(frozen=True, slots=True)
class _Shaded:
    """Shaded pictures to write: of what, with which marks, from where."""

    contents: Contents
    findings: Sequence[Finding]
    stem: str
    shots: Sequence[tuple[View, frozenset[str], frozenset[str]]]
    progress: Progress

    def write(self, folder: Path) -> str | None:
        """All of them, or why there are none."""
        try:
            from layout3d.render.pictures import Shot, render
        except ImportError as error:
            if error.name != "manifold3d":
                raise
            return "manifold3d is not installed: pip install '.[export]' in layout3d's folder"
        from layout3d.render.run import NoPictures

        shots = [
            Shot(view, folder / f"{self.stem}_{view.name}.png", gone, hinted)
            for view, gone, hinted in self.shots
        ]
        try:
            render(self.contents, self.findings, shots, self.progress)
        except NoPictures as error:
            for shot in shots:
                shot.path.unlink(missing_ok=True)
            return str(error)
        return None


def _write(
    folder: Path, lines: dict[str, str], source: str, fingerprint: str, shaded: _Shaded | None
) -> Outcome:
    notes = []

    def fill(stage: Path) -> None:
        for name, text in lines.items():
            (stage / name).write_text(text, encoding="utf-8", newline="\n")
        if shaded is not None and (why := shaded.write(stage)) is not None:
            if not lines:
                raise RequestError(f"no picture could be made: {why}; or ask for drawings: --as svg")
            notes.append(f"drawings only, no shaded pictures: {why}")

    outcome = write_whole(folder, fill, scene=source, fingerprint=fingerprint)
    return replace(outcome, notes=(*notes, *outcome.notes))


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
