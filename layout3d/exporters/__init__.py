"""Writes a layout as STEP, STL and GLB.

Each format's library is imported only when that format is asked for: STL and GLB need
manifold3d alone, STEP needs cadquery.
"""

from __future__ import annotations

import difflib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TypeAlias

from layout3d.errors import RequestError
from layout3d.exporters.contents import Contents, Progress, contents_of
from layout3d.exporters.lacking import needing
from layout3d.exporters.whole import write_whole
from layout3d.layout import Layout

#: Writes one format's files into an empty folder.
Writer: TypeAlias = Callable[[Contents, Path, Progress], None]


@dataclass(frozen=True, slots=True)
class ExportReport:
    """What an export did: paths written and removed, and what the user should know."""

    written: tuple[Path, ...]
    removed: tuple[Path, ...]
    notes: tuple[str, ...]


def _step() -> Writer:
    from layout3d.exporters import step

    return step.write


def _stl() -> Writer:
    from layout3d.exporters import stl

    return stl.write


def _glb() -> Writer:
    from layout3d.exporters import glb

    return glb.write


#: Format word to what fetches its writer.
FORMATS: Mapping[str, Callable[[], Writer]] = {"step": _step, "stl": _stl, "glb": _glb}


def export(
    layout: Layout,
    folder: Path,
    formats: Sequence[str],
    *,
    progress: Progress = lambda _: None,
) -> ExportReport:
    """Write the layout into ``folder`` in each format, all files or none.

    ``progress`` is told what is being written. RequestError for an unknown format, a missing
    library, a layout without a body, and a folder that cannot be written.
    """
    writers = [_writer(name) for name in _checked(formats)]
    drawn = contents_of(layout)

    def fill(stage: Path) -> None:
        for write in writers:
            write(drawn, stage, progress)

    outcome = write_whole(folder, fill, scene=drawn.scene, fingerprint=drawn.fingerprint)
    return ExportReport(
        written=tuple(folder / name for name in outcome.written),
        removed=tuple(folder / name for name in outcome.removed),
        notes=(*drawn.notes, *outcome.notes),
    )


def _checked(formats: Sequence[str]) -> tuple[str, ...]:
    known = ", ".join(FORMATS)
    if not formats:
        raise RequestError(f"no format asked for; known: {known}")
    for name in formats:
        if name not in FORMATS:
            near = difflib.get_close_matches(name.lower().lstrip("."), FORMATS, n=1)
            hint = f"; did you mean {near[0]}?" if near else ""
            raise RequestError(f"unknown format '{name}'{hint} (known: {known})")
    return tuple(dict.fromkeys(formats))


def _writer(name: str) -> Writer:
    with needing(name):
        return FORMATS[name]()
