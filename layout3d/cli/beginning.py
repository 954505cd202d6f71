"""What a scene is begun from: shapes and ready parts, starters, the scene file's schema."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from layout3d.cli.common import app, print_json
from layout3d.errors import RequestError


@app.command()
def shapes(
    name: Annotated[
        str | None,
        typer.Argument(metavar="NAME", help="One shape or ready part, in full.", show_default=False),
    ] = None,
    check: Annotated[
        Path | None,
        typer.Option("--check", metavar="FOLDER", help="Check a folder of part files and list its parts."),
    ] = None,
    pages: Annotated[
        Path | None, typer.Option(metavar="FOLDER", help="Write a page and a picture of every shape.")
    ] = None,
) -> None:
    """List what can be placed, one shape in full, or a library."""
    if [name, check, pages].count(None) < 2:
        raise RequestError("choose one of NAME, --check and --pages")
    if check is not None:
        from layout3d.reports.library import folder_text

        print(folder_text(check))
    elif pages is not None:
        from layout3d.reports.pages import write_pages

        for path in write_pages(pages):
            print(path)
    elif name is None:
        from layout3d.reports.library import built_in_text
        from layout3d.reports.shapes import shapes_text

        print(f"{shapes_text()}\n\n{built_in_text()}")
    else:
        from layout3d.reports.library import shape_or_part_text

        print(shape_or_part_text(name))


@app.command()
def new(
    file: Annotated[Path | None, typer.Argument(metavar="FILE", help="The scene file to make.")] = None,
    measures: Annotated[
        Path | None, typer.Option("--from", metavar="MEASURES", help="A filled-in form: takes its case.")
    ] = None,
    measure: Annotated[
        str | None,
        typer.Option(metavar="CASE", help="A caliper sheet: tower, dual, sandwich, shoebox or open."),
    ] = None,
    to: Annotated[
        Path | None, typer.Option(metavar="FORM", help="The form to write, with --measure.")
    ] = None,
) -> None:
    """Write a scene to start from, or a sheet to measure a case by."""
    from layout3d.measuring.begin import begin

    written, told = begin(file, measures, measure, to)
    if told:
        print(told, file=sys.stderr)
    for path in written:
        print(path)


@app.command()
def schema(
    parts: Annotated[bool, typer.Option("--parts", help="The schema of part files instead.")] = False,
) -> None:
    """Print the JSON Schema of scene files, for editors."""
    from layout3d.scene.schema import part_file_schema, scene_schema

    print_json(part_file_schema() if parts else scene_schema())
