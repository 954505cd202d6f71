"""What the commands share: the application, its usual arguments, and how they end."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, NoReturn

import typer

from layout3d import __version__
from layout3d.errors import SceneErrors

if TYPE_CHECKING:
    from layout3d.checks.check import Checked
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


@contextmanager
def problems_as_json(scene: Path, as_json: bool) -> Iterator[None]:
    """With --json, an unreadable scene is an answer too: printed as one, exit status 2."""
    try:
        yield
    except SceneErrors as error:
        if not as_json:
            raise
        from layout3d.reports.results import unreadable_result

        print_json(unreadable_result(scene, error.problems))
        raise typer.Exit(2) from None


def exit_by(checked: Checked, scene: Path) -> NoReturn:
    """Exit status 1 with a warning where a list was printed of a layout that is not clear."""
    if not checked.is_clear:
        errors = sum(finding.severity == "error" for finding in checked.findings)
        stand = "1 error stands" if errors == 1 else f"{errors} errors stand"
        told = f"NOT CLEAR: {stand} (layout3d check {scene}): do not cut by this list"
        print(told, file=sys.stderr)
    raise typer.Exit(0 if checked.is_clear else 1)


def built_layout(scene: Path) -> Layout:
    """The scene's layout, not checked."""
    from layout3d.build import build
    from layout3d.scene.reader import read_scene

    return build(read_scene(scene))


def checked_layout(scene: Path) -> tuple[Layout, Checked]:
    """The scene's layout and what the rules say of it."""
    from layout3d.checks.check import check as run_checks

    layout = built_layout(scene)
    return layout, run_checks(layout)


def with_remedies(layout: Layout, checked: Checked, every: bool = False) -> Checked:
    """The same verdict with what mends each overlap, gap and keep-out; every: however many must be tried."""
    if checked.is_clear:
        return checked
    from layout3d.remedies.advise import QUICK_TRIES, advised

    return advised(layout, checked, None if every else QUICK_TRIES)


def words(text: str) -> tuple[str, ...]:
    """What stands between commas."""
    return tuple(word.strip() for word in text.split(",") if word.strip())


def print_json(value: Any) -> None:
    """One JSON value, in the strict sense, on standard output."""
    print(json.dumps(value, indent=2, allow_nan=False))
