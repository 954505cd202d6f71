"""Writes the preview of a layout, alone or beside another."""

from __future__ import annotations

import re
from pathlib import Path

from layout3d.assembly.sequence import assembly_of
from layout3d.checks.check import Checked
from layout3d.drawing.picture import layout_picture
from layout3d.drawing.views import VIEWS
from layout3d.exporters.contents import contents_of
from layout3d.exporters.glb import encoded
from layout3d.exporters.whole import write_file
from layout3d.layout import Layout
from layout3d.preview.changes import changes
from layout3d.preview.page import Shown, page
from layout3d.preview.told import told


def preview_text(layout: Layout, checked: Checked, before: tuple[Layout, Checked] | None = None) -> str:
    """The preview page of a layout, beside the one ``before``. RequestError where there is none."""
    if before is None:
        return page(_shown(layout, checked))
    changed = changes(before[0], layout, before[1], checked)
    return page(_shown(layout, checked), _shown(*before), changed)


def write_preview(
    layout: Layout, checked: Checked, path: Path, before: tuple[Layout, Checked] | None = None
) -> None:
    """The preview page as one file, written whole or not at all. RequestError where it cannot be."""
    write_file(path, preview_text(layout, checked, before).encode())


def _shown(layout: Layout, checked: Checked) -> Shown:
    shown = told(layout, checked, assembly_of(layout))
    panels = [f"{part}.{solid}" for part, solid in shown["panels"]]
    still = layout_picture(layout, VIEWS["corner"], without=panels)
    return Shown(shown, encoded(contents_of(layout)), _lighter(still))


def _lighter(drawing: str) -> str:
    """Outlines to a tenth of a millimetre: a still picture on a page shows no more."""
    return re.sub(r' d="[^"]*"', lambda path: re.sub(r"(\.\d)\d+", r"\1", path.group()), drawing)
