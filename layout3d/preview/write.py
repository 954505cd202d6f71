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
    """Outlines step by step in tenths of a millimetre: a still picture on a page shows no more."""
    return re.sub(r'(?<= d=")[^"]*', lambda path: _steps(path.group()), drawing)


def _steps(path: str) -> str:
    """Absolute M and L of an SVG path as relative m and l; Z stays."""
    told: list[str] = []
    x = y = start_x = start_y = 0
    for command, places in re.findall(r"([MLZ])([^MLZ]*)", path):
        if command == "Z":
            told.append("z")
            x, y = start_x, start_y
            continue
        to_x, to_y = (round(10.0 * float(place)) for place in places.split())
        if command == "M" or (to_x, to_y) != (x, y):
            told.append(f"{command.lower()}{_tenths(to_x - x)} {_tenths(to_y - y)}")
        x, y = to_x, to_y
        if command == "M":
            start_x, start_y = x, y
    return "".join(told)


def _tenths(value: int) -> str:
    return f"{value / 10:g}".replace("0.", ".") if abs(value) < 10 else f"{value / 10:.7g}"
