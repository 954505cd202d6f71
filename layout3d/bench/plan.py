"""Everything a bench needs to know of a layout's tubes, as plain values."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from layout3d.bench.lengths import cut_windows
from layout3d.bench.marks import End, Marked, flipped, marked
from layout3d.bench.sequence import BendOrder, bend_order
from layout3d.bench.slack import Slip, slips
from layout3d.bench.stock import Cutting, cut_from
from layout3d.checks.check import Checked, check
from layout3d.findings import Finding
from layout3d.layout import Layout, Tube
from layout3d.scene.model import Bench, RigidTubing
from layout3d.tubes.centreline import Row


@dataclass(frozen=True, slots=True)
class Work:
    """One rigid tube at the bench.

    rounded_findings : what the checker finds against the tube bent to its rounded figures that
        it does not find against the model's
    """

    marked: Marked
    order: BendOrder
    slips: tuple[Slip, ...]
    rounded_findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class BenchPlan:
    """All of it.

    works : the rigid tubes that have lengths, in scene order
    sawn : tubing -> each of its pieces with the length to saw [mm]
    cuttings : tubing -> its pieces out of bought lengths, where the scene states how long these are
    without : tubes that have no length to cut
    windows : soft tube -> between which lengths it may be cut, where that was asked
    """

    works: tuple[Work, ...]
    sawn: dict[str, tuple[tuple[str, float], ...]]
    cuttings: dict[str, Cutting]
    without: tuple[str, ...]
    windows: dict[str, tuple[tuple[float, float], ...]] | None = None


def bench_plan(layout: Layout, checked: Checked, end: End = "from", lengths: bool = False) -> BenchPlan:
    """The plan; marks are measured from each tube's ``end``.

    lengths : seek the lengths soft tubes may have as well, which takes seconds for each
    """
    found = {tube.name: made for tube in layout.tubes if (made := marked(layout, tube, end)) is not None}
    rounded = tuple(found[tube.name].made if tube.name in found else tube for tube in layout.tubes)
    news = _news(checked, check(replace(layout, tubes=rounded)))
    works = tuple(
        Work(
            marked=found[tube.name],
            order=_order(layout, tube, end),
            slips=slips(tube, end == "to"),
            rounded_findings=tuple(one for one in news if tube.name in one.parts),
        )
        for tube in layout.tubes
        if tube.name in found
    )
    sawn: dict[str, list[tuple[str, float]]] = {}
    for tube in layout.tubes:
        if tube.cut_mm is not None:
            sawn.setdefault(tube.tubing, []).append((tube.name, _saw_mm(layout, tube, found.get(tube.name))))
    return BenchPlan(
        works=works,
        sawn={tubing: tuple(pieces) for tubing, pieces in sawn.items()},
        cuttings={
            tubing: cut_from(pieces, bench.stock, bench.kerf)
            for tubing, pieces in sawn.items()
            if (bench := layout.scene.bench.get(tubing)) is not None and bench.stock is not None
        },
        without=tuple(tube.name for tube in layout.tubes if tube.cut_mm is None),
        windows=cut_windows(layout) if lengths else None,
    )


def _saw_mm(layout: Layout, tube: Tube, found: Marked | None) -> float:
    """A soft tube may be a little longer than told, never shorter: its length is rounded up."""
    if found is not None:
        return found.saw_mm
    trim = layout.scene.bench.get(tube.tubing, Bench()).trim
    return math.ceil((tube.cut_mm or 0.0) * 2.0 - 1e-6) / 2.0 + trim


def _order(layout: Layout, tube: Tube, end: End) -> BendOrder:
    """The order of bends, counted from the end the tube is marked from."""
    tubing = layout.scene.tubings[tube.tubing]
    assert isinstance(tubing, RigidTubing)
    rows = [Row(b.straight_mm, b.turn_deg, b.bend_deg, b.radius_mm) for b in tube.bends or ()]
    if rows:
        rows[0] = replace(rows[0], straight_mm=rows[0].straight_mm + tube.insertions[0])
    last = (tube.last_straight_mm or 0.0) + tube.insertions[1]
    if end == "to":
        rows, last = flipped(rows, last)
    return bend_order(rows, last, tubing.outside, layout.scene.bench.get(tube.tubing, Bench()))


def _news(before: Checked, after: Checked) -> Sequence[Finding]:
    known = {(finding.rule, finding.parts) for finding in before.findings}
    return [finding for finding in after.findings if (finding.rule, finding.parts) not in known]
