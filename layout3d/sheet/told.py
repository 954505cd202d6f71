"""A checked layout as a build sheet: every word, figure and drawing on it, as plain values."""

from __future__ import annotations

from collections.abc import Sequence

from layout3d import __version__
from layout3d.assembly.sequence import Assembly
from layout3d.bench.plan import BenchPlan
from layout3d.checks.check import Checked
from layout3d.checks.tightest import tightest
from layout3d.drawing.picture import layout_picture
from layout3d.drawing.views import VIEWS
from layout3d.findings import SEVERITIES
from layout3d.layout import Layout
from layout3d.reports.assembly import step_words
from layout3d.sheet.blocks import (
    Blanks,
    Block,
    Column,
    Findings,
    Picture,
    Pictures,
    Points,
    Section,
    Sheet,
    Steps,
    Table,
    Text,
    Told,
)
from layout3d.sheet.filling import coolant_blocks, filling_blocks
from layout3d.sheet.places import parts_blocks, ports_blocks
from layout3d.sheet.plans import ruler
from layout3d.sheet.runs import bend_blocks, cut_blocks, template_blocks
from layout3d.sheet.words import CAUTIONS, SCREW_BAGS
from layout3d.words import counted, mm_pair, toward

_VIEWS = ("corner", "window")
BANNER = "NOT CLEAR: do not cut by this sheet"
_PRINT = (
    "Print at 100 percent, without fitting to the page. Then hold a steel rule against both rulers: if "
    "either is not 100 mm long, do not use these pages."
)


def sheet_of(
    layout: Layout,
    checked: Checked,
    assembly: Assembly,
    plan: BenchPlan,
    room_mm: tuple[float, float],
    views: Sequence[str] = _VIEWS,
) -> Sheet:
    """The whole sheet. ``room_mm``: what a page has for one drawing true to size."""
    sections = (
        Section("Findings", _findings(layout, checked, assembly)),
        Section("The build", (_pictures(layout, views),)),
        Section("Before you begin", (Points(CAUTIONS),)),
        Section("Parts and where they go", parts_blocks(layout), new_page=True),
        Section("Tubes to cut", cut_blocks(layout, plan) if layout.tubes else (), new_page=True),
        Section("Bends", bend_blocks(layout, plan)),
        Section("Fittings, port by port", ports_blocks(layout) if layout.tubes or layout.scene.plugs else ()),
        Section("Screw bags", _screw_bags()),
        Section("Coolant", coolant_blocks(layout) if layout.tubes else ()),
        Section("Order of assembly", _order(assembly)),
        Section("Test, fill, bleed, drain", filling_blocks(layout) if layout.tubes else (), new_page=True),
        Section("Measured and signed", _signed()),
        *_templates(layout, room_mm),
    )
    scene = layout.scene
    return Sheet(
        title=scene.title.strip() or scene.file,
        source=f"{scene.file}, layout3d {__version__}",
        verdict=_verdict(checked),
        banner="" if checked.is_clear else BANNER,
        sections=tuple(section for section in sections if section.blocks),
        rulers=(ruler(upright=False), ruler(upright=True)),
    )


def _verdict(checked: Checked) -> str:
    counts = [
        counted(count, severity)
        for severity in SEVERITIES
        if (count := sum(finding.severity == severity for finding in checked.findings))
    ]
    word = "CLEAR" if checked.is_clear else "NOT CLEAR"
    return word + (f": {', '.join(counts)}" if counts else ": no finding")


def _findings(layout: Layout, checked: Checked, assembly: Assembly) -> tuple[Block, ...]:
    told = tuple(
        Told(finding.severity, finding.rule, finding.message, finding.remedy or "", finding.where or "")
        for finding in checked.findings
    )
    blocks: list[Block] = [Findings(told)] if told else [Text("None.")]
    if assembly.stuck:
        names = ", ".join(stuck.name for stuck in assembly.stuck)
        blocks.append(Text(f"No order was found in which all goes in ({names}): see there.", strong=True))
    if checked.is_clear and (margins := tightest(layout)):
        columns = (
            Column("tightest gaps: measure these first", wide=True),
            Column("gap", "number"),
            Column("wanted", "number"),
            Column("measured\nmm", "blank"),
        )
        rows = tuple(
            (f"{margin.first} and {margin.second}", *mm_pair(margin.gap_mm, margin.required_mm))
            for margin in margins
        )
        blocks.append(Table(columns, rows))
    return tuple(blocks)


def _pictures(layout: Layout, views: Sequence[str]) -> Pictures:
    panels = [f"{name}.{solid}" for name, part in layout.parts.items() for solid in part.part.removals]
    drawn = []
    for name in views:
        view = VIEWS[name]
        svg = layout_picture(layout, view, without=panels)
        drawn.append(Picture(svg, f"Seen {view.words}", f"Line drawing of the build, seen {view.words}"))
    return Pictures(tuple(drawn))


def _order(assembly: Assembly) -> tuple[Block, ...]:
    blocks: list[Block] = []
    if assembly.stuck:
        blocks.append(Text("NO ORDER: these cannot be put in along straight lines.", strong=True))
        blocks.append(
            Points(
                tuple(
                    (
                        stuck.name,
                        "; ".join(
                            f"{toward(way)}: {', '.join(names)} in the way" for way, names in stuck.blocked_by
                        ),
                    )
                    for stuck in assembly.stuck
                )
            )
        )
        if assembly.waiting:
            blocks.append(Text(f"These wait for them: {', '.join(assembly.waiting)}. All else:"))
    if assembly.stays is not None:
        blocks.append(Text(f"Everything is built into {assembly.stays}."))
    steps = tuple((words[:1].upper() + words[1:] + ".", "") for words in map(step_words, assembly.steps))
    blocks.append(Steps(steps))
    blocks.append(
        Text(
            "Every way in was measured against all that is in place by then; tubes are set with their "
            "collars open. Turning and tilting were not tried. Test with air before the panels are closed."
        )
    )
    return tuple(blocks)


def _screw_bags() -> tuple[Block, ...]:
    columns = (
        Column("bag"),
        Column("screw, length\nmm", "blank"),
        Column("count", "blank"),
        Column("for which parts", "blank", wide=True),
        Column("in", "tick"),
    )
    return (Text(SCREW_BAGS), Table(columns, tuple((str(n),) for n in range(1, 9))))


def _signed() -> tuple[Block, ...]:
    return (
        Blanks(("tube outside, measured mm", "tube inside, measured mm", "bend radius made mm")),
        Blanks(("built by", "date", "signature")),
        Blanks(("checked by", "date", "signature")),
    )


def _templates(layout: Layout, room_mm: tuple[float, float]) -> tuple[Section, ...]:
    blocks = template_blocks(layout, room_mm)
    if not blocks:
        return ()
    return (Section("Bend templates, true to size", (Text(_PRINT, strong=True), *blocks), True, True),)
