"""A layout's tolerances looked into once: what follows them, which pairs they move, and the worst of each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from layout3d.checks.items import Item
from layout3d.errors import Problem, SceneErrors
from layout3d.kernels.measure import CONTACT_MM
from layout3d.layout import Layout, PlacedPart
from layout3d.tolerance.following import Following, following
from layout3d.tolerance.misfit import Miss, end_slopes, misses
from layout3d.tolerance.pairs import Movers, Pair
from layout3d.tolerance.unknowns import Unknowns
from layout3d.tolerance.worst import WorstCase, worst_cases


@dataclass(frozen=True, slots=True, eq=False)
class Study:
    """The worst cases within all tolerances of a layout.

    pairs, worst : every pair that the unknown lengths move against each other, and what is proved of it
    misses : every rigid tube whose ends they move against each other
    """

    layout: Layout
    unknowns: Unknowns
    follows: Following
    pairs: tuple[Pair, ...]
    worst: tuple[WorstCase, ...]
    misses: tuple[Miss, ...]

    @property
    def failing(self) -> list[int]:
        """Which pairs are not proved to keep their gap."""
        return [
            n
            for n, (pair, worst) in enumerate(zip(self.pairs, self.worst, strict=True))
            if worst.room_mm < pair.required - CONTACT_MM
        ]


def study(layout: Layout, items: Sequence[Item]) -> Study | None:
    """Look into the tolerances of a scene; None where all of them are 0.

    None as well for a layout tried out with other parts or places than its file states: that is
    judged as it stands.
    SceneErrors for lengths it cannot be built with, or that something follows out of proportion.
    """
    unknowns = Unknowns.of(layout.scene)
    if not len(unknowns):
        return None
    as_written, _ = unknowns.built(np.zeros(len(unknowns)))
    if not all(_same(part, as_written.parts.get(name)) for name, part in layout.parts.items()):
        return None
    found = following(unknowns)
    _refuse_hoses(layout, found, unknowns)
    pairs = Movers(layout, items, unknowns, found).pairs()
    worst = worst_cases(pairs, unknowns.low, unknowns.high)
    missed = misses(layout, found, unknowns.low, unknowns.high)
    return Study(layout, unknowns, found, tuple(pairs), tuple(worst), tuple(missed))


def _same(part: PlacedPart, written: PlacedPart | None) -> bool:
    if written is None or np.abs(part.part2scene.origin - written.part2scene.origin).max() > CONTACT_MM:
        return False
    if np.abs(part.part2scene.rotation - written.part2scene.rotation).max() > CONTACT_MM:
        return False
    ours, theirs = (each.part.solids for each in (part, written))
    return [solid.primitive for solid in ours] == [solid.primitive for solid in theirs]


def _refuse_hoses(layout: Layout, found: Following, unknowns: Unknowns) -> None:
    """A hose whose ends move against each other takes shapes of which nothing is proved."""
    problems = []
    for tube in layout.tubes:
        slopes = end_slopes(tube, found, len(unknowns))
        if tube.kind == "soft" and tube.run is not None and abs(slopes).max() > 1e-9:
            n = int((abs(slopes).max(axis=1) * (unknowns.high - unknowns.low)).argmax())
            message = (
                f"it moves the ends of hose {tube.name} against each other, so that the hose takes shapes "
                "nothing is proved of: check the scene once with "
                f"{unknowns.nominal[n] + unknowns.low[n]:g} and once with "
                f"{unknowns.nominal[n] + unknowns.high[n]:g}, or leave the hose out while checking"
            )
            line = layout.scene.places.line(*unknowns.keys[n])
            problems.append(Problem(layout.scene.file, line, unknowns.name(n), message))
    if problems:
        raise SceneErrors(problems)
