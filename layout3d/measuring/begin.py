"""How a scene is begun: from the starter, from a filled-in form, or by writing the sheet first."""

from __future__ import annotations

from pathlib import Path

from layout3d.errors import RequestError
from layout3d.measuring.form import blanks_told, read_form, scene_text, write_sheet
from layout3d.scene.starter import write_scene, write_starter

_WAYS = (
    "write `layout3d new FILE`, `layout3d new FILE --from MEASURES`, or "
    "`layout3d new --measure CASE [--to FORM]`"
)


def begin(
    file: Path | None, measures: Path | None = None, measure: str | None = None, to: Path | None = None
) -> tuple[tuple[Path, ...], str]:
    """The files written, and what is to be said beside; empty where nothing is.

    file : the scene to write; measures : a filled-in form to take its case from
    measure : write the caliper sheet of this kind of case instead, its form to ``to``
    RequestError for other combinations and files that are there already; SceneErrors for a form
    whose figures do not go together.
    """
    if measure is not None and file is None and measures is None:
        return write_sheet(measure, to), ""
    if file is None or measure is not None or to is not None:
        raise RequestError(_WAYS)
    if measures is None:
        return write_starter(file), ""
    measured = read_form(measures)
    return write_scene(file, scene_text(measured, measures.name)), blanks_told(measured)
