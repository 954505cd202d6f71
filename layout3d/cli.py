"""The commands. Each parses, calls and prints; only this module prints and exits.

Exit status: 0 no error stands, 1 at least one does, 2 the scene cannot be read or the request
makes no sense.
"""

from __future__ import annotations

import json
import os
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, NoReturn, cast

import typer

from layout3d import __version__
from layout3d.errors import LayoutError, RequestError, SceneErrors

if TYPE_CHECKING:
    from layout3d.checks.check import Checked
    from layout3d.checks.tightest import Margin
    from layout3d.layout import Layout

app = typer.Typer(
    add_completion=False,
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    help="Fits a liquid-cooling loop into a PC case: one scene file in, a checked build out.",
)

ScenePath = Annotated[
    Path, typer.Argument(metavar="SCENE", help="The scene file (YAML).", show_default=False)
]
AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON object and nothing else.")]


def run() -> NoReturn:
    """The process: ``main``, then out at once.

    Nothing is left open then, and taking every loaded module apart first would cost a tenth of a
    whole check.
    """
    status: object = 0
    try:
        main()
    except SystemExit as end:
        status = end.code
    try:
        sys.stdout.flush()
        sys.stderr.flush()
    except OSError:  # nobody reads any more: `layout3d check ... | head`
        status = 1
    os._exit(status if isinstance(status, int) else 0 if status is None else 1)


def main() -> None:
    """The command line: reports what went wrong in words, exit status 2, never a traceback."""
    # Our arrays are small: starting OpenBLAS's threads would cost more than they ever save.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    # Nor do our models want other distributions' plugins, or the search for them at every start.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    try:
        _refuse_foreign_shapes()
        app()
    except LayoutError as error:
        print(_folded(str(error)), file=sys.stderr)
        sys.exit(2)


def _folded(text: str) -> str:
    """Each line within a usual window, what goes on indented."""
    from textwrap import fill

    lines = text.splitlines()
    return "\n".join(
        fill(line, 100, subsequent_indent="  ", break_long_words=False, break_on_hyphens=False)
        for line in lines
    )


def _refuse_foreign_shapes() -> None:
    """Another distribution may have put a package of this plain name before ours."""
    found = find_spec("shapes")
    origin = None if found is None or found.origin is None else Path(found.origin)
    if origin is None or origin.parent.parent != Path(__file__).parent.parent:
        raise RequestError(
            f"the package `shapes` found at {origin} is not layout3d's: install layout3d into an "
            "environment of its own (python -m venv)"
        )


def _version(wanted: bool) -> None:
    if wanted:
        print(f"layout3d {__version__}")
        raise typer.Exit


@app.callback()
def _options(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version.")
    ] = False,
) -> None:
    pass


@app.command()
def check(
    scene: ScenePath,
    as_json: AsJson = False,
    gaps: Annotated[bool, typer.Option("--gaps", help="Tell the tightest gaps as well.")] = False,
) -> None:
    """Say whether everything fits, and list the cuts."""
    start = time.perf_counter()
    with _problems_as_json(scene, as_json):
        layout, checked = _checked(scene)
    seconds = time.perf_counter() - start
    if as_json:
        from layout3d.reports.results import check_result

        _print_json(check_result(layout, checked, seconds))
    else:
        from layout3d.reports.text import check_text

        print(check_text(layout, checked, seconds, _tightest(layout) if gaps else ()))
    raise typer.Exit(0 if checked.is_clear else 1)


def _tightest(layout: Layout) -> tuple[Margin, ...]:
    # Told when asked for: measuring what keeps its rule would cost every check a tenth.
    from layout3d.checks.tightest import tightest

    return tightest(layout)


@app.command()
def tubes(
    scene: ScenePath,
    as_json: AsJson = False,
    as_csv: Annotated[bool, typer.Option("--csv", help="Print comma-separated rows.")] = False,
) -> None:
    """List every tube: length to cut and bend table."""
    from layout3d.reports.results import tube_result
    from layout3d.reports.text import tubes_csv, tubes_text

    if as_json and as_csv:
        raise RequestError("choose one of --json and --csv")
    with _problems_as_json(scene, as_json):
        layout, checked = _checked(scene)
    if as_json:
        _print_json({"scene": layout.scene.file, "tubes": [tube_result(tube) for tube in layout.tubes]})
    elif as_csv:
        sys.stdout.write(tubes_csv(layout.tubes))
    else:
        print(tubes_text(layout.tubes))
    for finding in (finding for tube in layout.tubes for finding in tube.findings):
        print(f"{finding.severity}: {finding.rule}: {finding.message}", file=sys.stderr)
    _exit_by(checked, scene)


@app.command()
def ports(scene: ScenePath, as_json: AsJson = False) -> None:
    """List every port: position, facing, thread and what uses it."""
    from layout3d.checks.ports import port_users
    from layout3d.reports.results import ports_result
    from layout3d.reports.text import ports_text

    with _problems_as_json(scene, as_json):
        layout, checked = _checked(scene)
    users = port_users(layout)
    if as_json:
        _print_json({"scene": layout.scene.file, "ports": ports_result(layout, users)})
    else:
        print(ports_text(layout, users))
    _exit_by(checked, scene)


@app.command()
def order(scene: ScenePath, as_json: AsJson = False) -> None:
    """Say in which order everything goes in, or what blocks what."""
    from layout3d.assembly.sequence import assembly_of
    from layout3d.reports.assembly import assembly_result, assembly_text

    with _problems_as_json(scene, as_json):
        layout, checked = _checked(scene)
    assembly = assembly_of(layout)
    if as_json:
        _print_json(assembly_result(layout, assembly))
    else:
        print(assembly_text(layout, assembly))
    if not checked.is_clear:
        print("errors stand (`layout3d check`): mend them before building by this order", file=sys.stderr)
    raise typer.Exit(1 if assembly.stuck or not checked.is_clear else 0)


@app.command()
def fit(
    scene: ScenePath,
    part: Annotated[
        str, typer.Option("--part", metavar="NAME", help="The part asked about.", show_default=False)
    ],
    as_json: AsJson = False,
) -> None:
    """Say in which thicknesses and ways round a part fits."""
    from layout3d.fit.answer import fit as find_fit
    from layout3d.reports.fit import fit_result, fit_text
    from layout3d.scene.reader import read_scene

    with _problems_as_json(scene, as_json):
        answer = find_fit(read_scene(scene), part)
    if as_json:
        _print_json(fit_result(answer, scene.name))
    else:
        print(fit_text(answer, scene.name))
    raise typer.Exit(0 if answer.fits else 1)


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

    layout, checked = _checked(scene)
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
    from layout3d.preview.write import write_preview

    layout, checked = _checked(scene)
    write_preview(layout, checked, to, None if against is None else _checked(against))
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

    layout, checked = _checked(scene)
    note = write_sheet(layout, checked, to, paper)
    print(to)
    if note:
        print(note, file=sys.stderr)
    _exit_by(checked, scene)


@app.command()
def picture(
    scene: Annotated[
        Path | None, typer.Argument(metavar="SCENE", help="The scene file (YAML).", show_default=False)
    ] = None,
    to: Annotated[
        Path, typer.Option("--to", metavar="FOLDER", help="Folder to write into.", show_default=False)
    ] = ...,  # type: ignore[assignment]
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
    """Draw the build, or one shape, in lines (SVG, true to size)."""
    from layout3d.drawing.write import write_pictures, write_shape_pictures

    if (scene is None) == (shape is None):
        raise RequestError("give one of SCENE and --shape NAME")
    views, left_out = _words(view), _words(without)
    if shape is not None:
        outcome = write_shape_pictures(shape, to, views)
    else:
        outcome = write_pictures(_built(cast(Path, scene)), to, views, without=left_out, open_case=open_case)
    for name in outcome.written:
        print(to / name)
    for note in (*(f"removed, out of date: {name}" for name in outcome.removed), *outcome.notes):
        print(note, file=sys.stderr)


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

    _print_json(part_file_schema() if parts else scene_schema())


@contextmanager
def _problems_as_json(scene: Path, as_json: bool) -> Iterator[None]:
    """With --json, an unreadable scene is an answer too: printed as one, exit status 2."""
    try:
        yield
    except SceneErrors as error:
        if not as_json:
            raise
        from layout3d.reports.results import unreadable_result

        _print_json(unreadable_result(scene, error.problems))
        raise typer.Exit(2) from None


def _exit_by(checked: Checked, scene: Path) -> NoReturn:
    """Exit status 1 with a warning where a list was printed of a layout that is not clear."""
    if not checked.is_clear:
        errors = sum(finding.severity == "error" for finding in checked.findings)
        stand = "1 error stands" if errors == 1 else f"{errors} errors stand"
        told = f"NOT CLEAR: {stand} (layout3d check {scene}): do not cut by this list"
        print(told, file=sys.stderr)
    raise typer.Exit(0 if checked.is_clear else 1)


def _built(scene: Path) -> Layout:
    from layout3d.build import build
    from layout3d.scene.reader import read_scene

    return build(read_scene(scene))


def _checked(scene: Path) -> tuple[Layout, Checked]:
    from layout3d.checks.check import check as run_checks

    layout = _built(scene)
    return layout, run_checks(layout)


def _words(text: str) -> tuple[str, ...]:
    """What stands between commas."""
    return tuple(word.strip() for word in text.split(",") if word.strip())


def _print_json(value: Any) -> None:
    print(json.dumps(value, indent=2, allow_nan=False))
