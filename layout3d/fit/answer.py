"""Asks the checker of every way one part could be built in."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from types import MappingProxyType

from layout3d.build import build
from layout3d.checks.items import Item, items_of
from layout3d.errors import RequestError, SceneErrors
from layout3d.fit.movers import movers_of, placed_by, solid_pairs, ways_to_slide, zone_pairs
from layout3d.fit.slides import Span, free_slides
from layout3d.fit.variants import Variant, group_of, variants
from layout3d.fit.worst import Failure, worst_failure
from layout3d.layout import Layout, Tube
from layout3d.placing.place import place
from layout3d.scene.complaints import unknown
from layout3d.scene.model import Scene
from layout3d.scene.paths import AutoPath
from layout3d.words import rounded_up


@dataclass(frozen=True, slots=True)
class Row:
    """One variant's answer.

    clears : at the slide the scene states; None where it cannot be built in
    slides : every slide at which it clears [mm], as the scene writes them, ends rounded inward to
        0.01; None for a part that does not slide, or off which another is measured
    """

    variant: Variant
    clears: bool | None
    failure: Failure | None
    slides: tuple[Span, ...] | None


@dataclass(frozen=True, slots=True)
class FitAnswer:
    """Every variant of one part.

    group : the part and all that is placed by it
    left_out : tubes not asked about, each with the reason
    """

    part: str
    group: tuple[str, ...]
    rows: tuple[Row, ...]
    left_out: tuple[tuple[str, str], ...]

    @property
    def fits(self) -> bool:
        """Whether at least one variant clears, here or at another slide."""
        return any(row.clears or row.slides for row in self.rows)


def fit(scene: Scene, name: str) -> FitAnswer:
    """How a part could be built in so that it and what is fixed to it clear everything.

    RequestError for a part the scene does not have; SceneErrors where the scene itself cannot be
    built.
    """
    if name not in scene.parts:
        raise RequestError(unknown("part", name, scene.parts))
    group = placed_by(scene, group_of(scene, name))
    left_out = tuple(_left_out(scene, group))
    away = {tube for tube, _ in left_out}
    kept = {tube: spec for tube, spec in scene.tubes.items() if tube not in away}
    laid = build(replace(scene, tubes=MappingProxyType(kept))).tubes
    rows = tuple(_row(variant, name, laid) for variant in variants(scene, name))
    order = tuple(part for part in scene.parts if part in group)
    return FitAnswer(name, order, rows, left_out)


def _left_out(scene: Scene, group: frozenset[str]) -> Iterator[tuple[str, str]]:
    for tube in scene.tubes.values():
        if tube.start.part in group or tube.end.part in group:
            yield tube.name, "ends on it"
        elif isinstance(tube.path, AutoPath):
            yield tube.name, "finds its own way round it"


def _row(variant: Variant, name: str, laid: tuple[Tube, ...]) -> Row:
    scene = variant.scene
    if scene is None:
        return Row(variant, None, None, None)
    try:
        layout = replace(place(scene)[0], tubes=laid)
    except SceneErrors as error:
        return Row(replace(variant, fault=error.problems[0].message), None, None, None)
    group = group_of(scene, name)
    placed = placed_by(scene, group)
    movers, items = movers_of(layout, placed), items_of(layout)
    failure = worst_failure(layout, items, movers)
    # What is only measured off the group does not slide as it does.
    free = _free(layout, items, movers, name) if placed == group else None
    return Row(variant, failure is None, failure, free)


def _free(
    layout: Layout, items: tuple[Item, ...], movers: frozenset[str], name: str
) -> tuple[Span, ...] | None:
    """Every slide at which the group clears; None for a part that does not slide."""
    found = ways_to_slide(layout, name)
    if found is None:
        return None
    way, at, spans = found
    if not any(high - low > 1e-6 for low, high in spans):
        return None
    pairs = [*solid_pairs(layout, items, movers), *zone_pairs(layout, items, movers)]
    free = free_slides(pairs, way, [(low - at, high - at) for low, high in spans])
    inward = ((rounded_up(low + at), -rounded_up(-(high + at))) for low, high in free)
    return tuple((low + 0.0, high + 0.0) for low, high in inward if low <= high)
