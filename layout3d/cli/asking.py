"""What is asked of a scene: does it fit, what is cut, in which order does it go together."""

from __future__ import annotations

import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from layout3d.cli.common import (
    AsJson,
    ScenePath,
    app,
    checked_layout,
    exit_by,
    print_json,
    problems_as_json,
    with_remedies,
)
from layout3d.errors import RequestError

if TYPE_CHECKING:
    from layout3d.checks.check import Checked
    from layout3d.checks.tightest import Margin
    from layout3d.layout import Layout
    from layout3d.tolerance.odds import Odds


@app.command()
def check(
    scene: ScenePath,
    as_json: AsJson = False,
    gaps: Annotated[bool, typer.Option("--gaps", help="Tell the tightest gaps as well.")] = False,
    odds: Annotated[
        bool, typer.Option("--odds", help="Tell which share of builds within the tolerances clears.")
    ] = False,
    draws: Annotated[
        int | None, typer.Option(metavar="NUMBER", help="How many builds --odds draws (10000).")
    ] = None,
    seed: Annotated[
        int | None, typer.Option(metavar="NUMBER", help="Another seed draws other builds (1).")
    ] = None,
    remedies: Annotated[
        bool, typer.Option("--remedies", help="Try every change that could mend a finding, not a few.")
    ] = False,
) -> None:
    """Say whether everything fits, and list the cuts."""
    if not odds and (draws is not None or seed is not None):
        raise RequestError("--draws and --seed are for --odds: add it, or leave them out")
    start = time.perf_counter()
    with problems_as_json(scene, as_json):
        layout, checked = checked_layout(scene)
    seconds = time.perf_counter() - start
    checked = with_remedies(layout, checked, remedies)
    drawn = _drawn(layout, checked, draws, seed) if odds else None
    if as_json:
        from layout3d.reports.results import check_result

        print_json(check_result(layout, checked, seconds, drawn))
    else:
        from layout3d.reports.text import check_text

        print(check_text(layout, checked, seconds, _tightest(layout) if gaps else (), drawn))
    raise typer.Exit(0 if checked.is_clear else 1)


def _drawn(layout: Layout, checked: Checked, draws: int | None, seed: int | None) -> Odds:
    # Drawn when asked for: others start without what draws.
    from layout3d.tolerance.odds import odds

    return odds(layout, checked.findings, 10_000 if draws is None else draws, 1 if seed is None else seed)


def _tightest(layout: Layout) -> tuple[Margin, ...]:
    # Told when asked for: measuring what keeps its rule would cost every check a tenth.
    from layout3d.checks.tightest import tightest

    return tightest(layout)


@app.command()
def tubes(
    scene: ScenePath,
    as_json: AsJson = False,
    as_csv: Annotated[bool, typer.Option("--csv", help="Print comma-separated rows.")] = False,
    choices: Annotated[
        str | None, typer.Option(metavar="TUBE", help="List other ways this rigid `path: auto` could run.")
    ] = None,
    keep: Annotated[
        int | None, typer.Option(metavar="NUMBER", help="Write this one of the choices into the scene.")
    ] = None,
) -> None:
    """List every tube: length to cut and bend table."""
    if choices is not None or keep is not None:
        if choices is None or as_csv:
            raise RequestError("--keep needs --choices TUBE" if choices is None else "--choices has no --csv")
        with problems_as_json(scene, as_json):
            _choices(scene, choices, keep, as_json)
        return
    from layout3d.reports.results import tube_result
    from layout3d.reports.text import tubes_csv, tubes_text

    if as_json and as_csv:
        raise RequestError("choose one of --json and --csv")
    with problems_as_json(scene, as_json):
        layout, checked = checked_layout(scene)
    if as_json:
        print_json({"scene": layout.scene.file, "tubes": [tube_result(tube) for tube in layout.tubes]})
    elif as_csv:
        sys.stdout.write(tubes_csv(layout.tubes))
    else:
        print(tubes_text(layout.tubes))
    for finding in (finding for tube in layout.tubes for finding in tube.findings):
        print(f"{finding.severity}: {finding.rule}: {finding.message}", file=sys.stderr)
    exit_by(checked, scene)


def _choices(path: Path, name: str, keep: int | None, as_json: bool) -> None:
    from layout3d.reports.choices import choices_result, choices_text
    from layout3d.scene.reader import parse_scene
    from layout3d.scene.textfile import read_text
    from layout3d.tubes.choices import choices_of, chosen, kept

    # One reading is judged and spliced, so that nothing saved meanwhile is taken for it.
    text = read_text(path)
    scene = parse_scene(text, path.name, path.parent)
    found = choices_of(scene, name)
    if keep is not None:
        from layout3d.exporters.whole import write_file

        written = kept(text, scene, name, chosen(found, keep))
        if read_text(path) != text:
            raise RequestError(f"{path} was changed meanwhile; nothing was written: choose again")
        write_file(path, written.encode("utf-8"))
        print(f"{path}: {name} now keeps choice {keep}", file=sys.stderr)
    if as_json:
        print_json(choices_result(scene.file, name, found))
    else:
        print(choices_text(name, found))


@app.command()
def bench(
    scene: ScenePath,
    end: Annotated[
        str, typer.Option(metavar="END", help="Marks measured from this end: from or to.")
    ] = "from",
    as_json: AsJson = False,
    as_csv: Annotated[
        str | None, typer.Option("--csv", metavar="KIND", help="Rows: marks, points, lra or cuts.")
    ] = None,
    lengths: Annotated[
        bool, typer.Option("--lengths", help="Seek the lengths soft tubes may have as well: takes seconds.")
    ] = False,
) -> None:
    """Say how tubes are sawn, marked and bent, and from how much stock."""
    from layout3d.bench.plan import bench_plan
    from layout3d.reports.bench import bench_result, bench_text
    from layout3d.reports.bench_rows import CSV_KINDS, bench_csv

    if end not in ("from", "to"):
        raise RequestError(f"--end {end}: choose one of from, to")
    if as_csv is not None and as_csv not in CSV_KINDS:
        raise RequestError(f"--csv {as_csv}: choose one of {', '.join(CSV_KINDS)}")
    if as_json and as_csv:
        raise RequestError("choose one of --json and --csv")
    with problems_as_json(scene, as_json):
        layout, checked = checked_layout(scene)
    plan = bench_plan(layout, checked, end, lengths)  # type: ignore[arg-type]
    if as_json:
        print_json(bench_result(layout, plan))
    elif as_csv:
        sys.stdout.write(bench_csv(layout, plan, as_csv))
    else:
        print(bench_text(layout, plan))
    exit_by(checked, scene)


@app.command()
def ports(scene: ScenePath, as_json: AsJson = False) -> None:
    """List every port: position, facing, thread and what uses it."""
    from layout3d.checks.ports import port_users
    from layout3d.reports.results import ports_result
    from layout3d.reports.text import ports_text

    with problems_as_json(scene, as_json):
        layout, checked = checked_layout(scene)
    users = port_users(layout)
    if as_json:
        print_json({"scene": layout.scene.file, "ports": ports_result(layout, users)})
    else:
        print(ports_text(layout, users))
    exit_by(checked, scene)


@app.command()
def order(scene: ScenePath, as_json: AsJson = False) -> None:
    """Say in which order everything goes in, or what blocks what."""
    from layout3d.assembly.sequence import assembly_of
    from layout3d.reports.assembly import assembly_result, assembly_text

    with problems_as_json(scene, as_json):
        layout, checked = checked_layout(scene)
    assembly = assembly_of(layout)
    if as_json:
        print_json(assembly_result(layout, assembly))
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

    with problems_as_json(scene, as_json):
        answer = find_fit(read_scene(scene), part)
    if as_json:
        print_json(fit_result(answer, scene.name))
    else:
        print(fit_text(answer, scene.name))
    raise typer.Exit(0 if answer.fits else 1)
