"""What is in a library: a table of its parts, or everything that is wrong with it."""

from __future__ import annotations

from pathlib import Path

from layout3d.errors import RequestError, SceneErrors
from layout3d.library.partfile import LibraryPart
from layout3d.library.shelf import built_in, open_shelf
from layout3d.reports.families import yaml_text
from layout3d.reports.shapes import shape_text
from layout3d.reports.table import Cell, text_table
from layout3d.scene.complaints import unknown
from layout3d.words import counted, number
from shapes import SHAPES

_HEAD = ("use", "shape", "label", "price", "mass", "written in")


def folder_text(folder: Path) -> str:
    """The parts of a folder, each built once to see that it can be.

    Raises SceneErrors with everything that is wrong, RequestError where there is no such folder.
    """
    shelf = open_shelf([""], folder)
    if shelf.lacking:
        raise RequestError(f"{folder}: {shelf.lacking[0][1]}")
    problems = list(shelf.problems)
    parts = []
    for name, file in shelf.holders.items():
        try:
            part = file.part(name)
            file.built(part, folder)
        except SceneErrors as error:
            problems += error.problems
        else:
            parts.append(part)
    if problems:
        raise SceneErrors(problems)
    if not parts:
        return f"no parts in {folder}: a part file starts with `layout3d_parts: 1`"
    rows: list[list[Cell]] = [
        [*_told(part), _price(part), mass_text(part.entry.mass), part.where] for part in parts
    ]
    return f"{text_table(_HEAD, rows)}\n\n{counted(len(parts), 'part')}, all sound"


def built_in_text() -> str:
    """The parts that come with the program."""
    shelf = built_in()
    rows: list[list[Cell]] = [_told(shelf.part(name)) for name in shelf.holders]
    return "ready parts, placed by `use:` in place of `shape:`\n\n" + text_table(_HEAD[:3], rows)


def shape_or_part_text(name: str) -> str:
    """A family in full, or the figures of a part that comes with the program.

    Raises RequestError for a name that is neither.
    """
    shelf = built_in()
    if name in SHAPES:
        return shape_text(name)
    if name not in shelf.holders:
        raise RequestError(unknown("shape or part", name, (*SHAPES, *shelf.holders)))
    part = shelf.part(name)
    lines = [f"{name}: {part.entry.label or part.entry.shape}", "", f"  shape: {part.entry.shape}"]
    lines += [f"  {key}: {yaml_text(value)}" for key, value in part.given.items()]
    lines += [f"  {key}: {yaml_text(value)}" for key, value in part.about.items() if key != "label"]
    return "\n".join(
        (*lines, "", f"placed by `use: {name}`; all else by `layout3d shapes {part.entry.shape}`")
    )


def mass_text(mass_g: float | None) -> str | None:
    """A mass as people say it, "850 g" or "1.2 kg"."""
    if mass_g is None:
        return None
    return f"{number(mass_g, 1)} g" if mass_g < 1000.0 else f"{number(mass_g / 1000.0, 3)} kg"


def _told(part: LibraryPart) -> list[Cell]:
    return [part.name, part.entry.shape, part.entry.label]


def _price(part: LibraryPart) -> str | None:
    return None if part.entry.price is None else str(part.entry.price)
