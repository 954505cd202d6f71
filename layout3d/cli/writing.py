"""What is written from a scene: files for other programs, pictures, pages and sheets."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated, cast

import typer

from layout3d.cli.common import ScenePath, app, checked_layout, exit_by, with_remedies, words
from layout3d.errors import RequestError


@app.command()
def export(
    scene: ScenePath,
    to: Annotated[
        Path, typer.Option("--to", metavar="FOLDER", help="Folder to write into.", show_default=False)
    ],
    formats: Annotated[
        str, typer.Option("--as", metavar="LIST", help="Which files, with commas between: step, stl, glb.")
    ] = "step,stl,glb",
) -> None:
    """Write STEP, STL and GLB files; all of them or none."""
    from layout3d.exporters import export as write

    layout, checked = checked_layout(scene)
    wanted = tuple(word.strip().lower() for word in formats.split(",") if word.strip())
    report = write(layout, to, wanted, progress=lambda line: print(line, file=sys.stderr))
    for path in report.written:
        print(path)
    if report.removed:
        gone = ", ".join(path.name for path in report.removed)
        print(f"removed, out of date: {gone}", file=sys.stderr)
    for note in report.notes:
        print(note, file=sys.stderr)
    if not checked.is_clear:
        errors = sum(finding.severity == "error" for finding in checked.findings)
        stand = "1 error stands" if errors == 1 else f"{errors} errors stand"
        print(f"written, but {stand}: do not print or cut by these files yet", file=sys.stderr)
    raise typer.Exit(0 if checked.is_clear else 1)


@app.command()
def preview(
    scene: ScenePath,
    to: Annotated[
        Path, typer.Option("--to", metavar="FILE.html", help="The page to write.", show_default=False)
    ],
    against: Annotated[
        Path | None,
        typer.Option(metavar="OTHER.yaml", help="The layout before: shown beside it, with what changed."),
    ] = None,
) -> None:
    """Write one page that shows the build in 3D, for the client."""
    from layout3d.exporters.lacking import needing

    with needing("preview"):
        from layout3d.preview.write import write_preview

    layout, checked = checked_layout(scene)
    write_preview(
        layout, with_remedies(layout, checked), to, None if against is None else checked_layout(against)
    )
    print(to)
    raise typer.Exit(0 if checked.is_clear else 1)


@app.command()
def sheet(
    scene: ScenePath,
    to: Annotated[
        Path, typer.Option("--to", metavar="FILE", help="A file ending in .pdf or .html.", show_default=False)
    ],
    paper: Annotated[str, typer.Option(metavar="PAPER", help="a4 or letter.")] = "a4",
) -> None:
    """Write the build sheet to print: cuts, bend templates, order."""
    from layout3d.sheet.write import write_sheet

    layout, checked = checked_layout(scene)
    note = write_sheet(layout, with_remedies(layout, checked), to, paper)
    print(to)
    if note:
        print(note, file=sys.stderr)
    exit_by(checked, scene)


@app.command()
def picture(
    scene: Annotated[
        Path | None, typer.Argument(metavar="SCENE", help="The scene file (YAML).", show_default=False)
    ] = None,
    to: Annotated[
        Path, typer.Option("--to", metavar="FOLDER", help="Folder to write into.", show_default=False)
    ] = ...,  # type: ignore[assignment]
    formats: Annotated[
        str, typer.Option("--as", metavar="LIST", help="png: shaded; svg: in lines, true to size.")
    ] = "png,svg",
    view: Annotated[
        str, typer.Option(metavar="LIST", help="From where: window, front, roof, corner, rear, tray, floor.")
    ] = "window,front,roof,corner",
    without: Annotated[
        str, typer.Option(metavar="LIST", help="Left out: parts, tubes, case.roof and the like.")
    ] = "",
    open_case: Annotated[
        bool, typer.Option("--open", help="Leave out the panels before the build that come off.")
    ] = False,
    shape: Annotated[
        str | None, typer.Option(metavar="NAME", help="A shape by itself, in place of a scene.")
    ] = None,
) -> None:
    """Make pictures of the build, or of one shape: shaded and in lines."""
    from layout3d.drawing.write import checked_formats, write_pictures, write_shape_pictures

    if (scene is None) == (shape is None):
        raise RequestError("give one of SCENE and --shape NAME")
    views, left_out, wanted = words(view), words(without), checked_formats(words(formats.lower()))

    def progress(line: str) -> None:
        print(line, file=sys.stderr, flush=True)

    if shape is not None:
        outcome = write_shape_pictures(shape, to, views, formats=wanted, progress=progress)
    else:
        layout, checked = checked_layout(cast(Path, scene))
        outcome = write_pictures(
            layout, to, views, without=left_out, open_case=open_case,
            formats=wanted, findings=checked.findings, progress=progress,
        )  # fmt: skip
    for name in outcome.written:
        print(to / name)
    for note in (*(f"removed, out of date: {name}" for name in outcome.removed), *outcome.notes):
        print(note, file=sys.stderr)
