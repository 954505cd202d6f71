"""Writes the preview of a layout."""

from __future__ import annotations

from pathlib import Path

from layout3d.assembly.sequence import assembly_of
from layout3d.checks.check import Checked
from layout3d.exporters.contents import contents_of
from layout3d.exporters.glb import encoded
from layout3d.exporters.whole import write_file
from layout3d.layout import Layout
from layout3d.preview.page import page
from layout3d.preview.told import told


def write_preview(layout: Layout, checked: Checked, path: Path) -> None:
    """The preview page as one file, written whole or not at all. RequestError where it cannot be."""
    model = encoded(contents_of(layout))
    text = page(told(layout, checked, assembly_of(layout)), model, "")
    write_file(path, text.encode())
