"""What is wrong with tubes themselves, and tubes that come too near themselves."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from layout3d.checks.words import midpoint
from layout3d.findings import Finding
from layout3d.gaprule import gap_between
from layout3d.kernels.bodies import body
from layout3d.kernels.measure import CONTACT_MM, measure_pairs
from layout3d.layout import Layout, Tube
from layout3d.tubes.selfpairs import apart_mm, cannot_return, self_pairs
from layout3d.words import mm
from shapes.pose import IDENTITY


def tube_findings(layout: Layout) -> Iterator[Finding]:
    """Findings of every tube's own path, and the nearest place where it comes back to itself."""
    for tube in layout.tubes:
        yield from tube.findings
        if (found := near_itself(layout, tube)) is not None:
            yield found


def near_itself(layout: Layout, tube: Tube) -> Finding | None:
    """The place where a tube comes nearest to itself, if that is nearer than the rule."""
    if tube.run is None:
        return None
    spec, tubing = layout.scene.tubes[tube.name], layout.scene.tubings[tube.tubing]
    gap = gap_between(layout.scene.rules.tube_gap, spec.gap)
    apart = apart_mm(tubing)
    if cannot_return(tube.run, apart, tube.run.outside + 2.0 * tube.run.deviation + gap):
        return None
    pairs = [(body(near, IDENTITY), body(far, IDENTITY)) for near, far in self_pairs(tube.run, apart)]
    if not pairs:
        return None
    worst = min(measure_pairs(pairs, np.full(len(pairs), gap)), key=lambda measured: measured.gap_mm)
    if worst.gap_mm >= gap - CONTACT_MM:
        return None
    overlaps = worst.gap_mm < -CONTACT_MM
    told = (
        f"runs into itself by up to {mm(-worst.gap_mm)}"
        if overlaps
        else f"passes itself at {mm(max(worst.gap_mm, 0.0))}, {mm(gap)} wanted"
    )
    return Finding(
        rule="overlap" if overlaps else "gap",
        severity="error",
        parts=(tube.name, tube.name),
        solids=("tube", "tube"),
        message=f"tube {tube.name} {told}",
        measured_mm=worst.gap_mm,
        required_mm=gap,
        at_mm=midpoint(worst),
        depth_is="bound" if overlaps else None,
        where=layout.scene.where("tubes", tube.name, "path"),
    )
