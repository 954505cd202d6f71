"""What of a layout goes into files, whatever their format."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import PurePath
from typing import TypeAlias

from layout3d import __version__
from layout3d.errors import RequestError
from layout3d.exporters.manifest import is_file_name
from layout3d.layout import Layout, PlacedPart, Tube
from shapes.part import Part
from shapes.pose import Pose
from shapes.primitives import Arc, TubeRun

#: Told what is being written, in a few words.
Progress: TypeAlias = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class Contents:
    """The parts and tubes that have a body.

    scene : name of the scene file
    title : the scene's title, or the name of its file where it has none
    runs : name and run of each tube that could be made
    fingerprint : changes when anything that is written changes
    notes : what was left out and why
    """

    scene: str
    title: str
    parts: tuple[PlacedPart, ...]
    tubes: tuple[Tube, ...]
    runs: tuple[tuple[str, TubeRun], ...]
    fingerprint: str
    notes: tuple[str, ...]


def contents_of(layout: Layout) -> Contents:
    """What can be written of a layout. RequestError where nothing has a body or a name cannot be a file's."""
    for name in (*layout.parts, *(tube.name for tube in layout.tubes)):
        if not is_file_name(name):
            raise RequestError(f"'{name}' cannot be a file name; rename the part or tube")
    notes = []
    parts = []
    for placed in layout.parts.values():
        if placed.part.solids:
            parts.append(placed)
        else:
            notes.append(f"part '{placed.name}' has no solids: nothing is written for it")
    tubes = []
    for tube in layout.tubes:
        lack = _lack(tube)
        if lack is None:
            tubes.append(tube)
        else:
            notes.append(f"tube '{tube.name}' is left out: {lack}")
    if not parts and not tubes:
        raise nothing_left()
    runs = tuple((tube.name, tube.run) for tube in tubes if tube.run is not None)
    return Contents(
        scene=PurePath(layout.scene.file).name,
        title=layout.scene.title or PurePath(layout.scene.file).stem,
        parts=tuple(parts),
        tubes=tuple(tubes),
        runs=runs,
        fingerprint=_fingerprint(layout.scene.title, parts, runs),
        notes=tuple(notes),
    )


def nothing_left() -> RequestError:
    """For a layout without a body; writers raise it where openings and bores leave nothing of any solid."""
    return RequestError("nothing to export: no part has a solid and no tube has a run")


def solids_key(part: Part) -> bytes:
    """Equal for parts whose solids, looks and bores have equal values."""
    solids = [(solid.name, solid.primitive, solid.look, _pose_key(solid.solid2part)) for solid in part.solids]
    bores = [(bore.diameter, bore.depth, bore.into, _pose_key(bore.bore2part)) for bore in part.bores]
    return repr((solids, bores)).encode()


def _lack(tube: Tube) -> str | None:
    if tube.run is None:
        return "no path could be made of it"
    own = tube.run.outside / 2.0
    for piece in tube.run.pieces:
        if isinstance(piece, Arc) and piece.radius <= own:
            return f"a bend of radius {piece.radius:.4g} mm is within the tube's own radius {own:g} mm"
    return None


def _pose_key(pose: Pose) -> bytes:
    return (pose.rotation + 0.0).tobytes() + (pose.origin + 0.0).tobytes()


def _fingerprint(title: str, parts: list[PlacedPart], runs: tuple[tuple[str, TubeRun], ...]) -> str:
    digest = hashlib.sha256(repr((__version__, title, runs)).encode())
    for placed in parts:
        digest.update(repr((placed.name, placed.shape, placed.tube, _pose_key(placed.part2scene))).encode())
        digest.update(solids_key(placed.part))
    return digest.hexdigest()
