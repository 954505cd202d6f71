"""Asks the checker of every way one part could be built in."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from types import MappingProxyType

import numpy as np

from layout3d.build import build
from layout3d.checks.items import Gaps, Item, items_of
from layout3d.checks.zones import counts
from layout3d.errors import RequestError, SceneErrors
from layout3d.fit.slides import Pair, Span, free_slides
from layout3d.fit.variants import Variant, group_of, variants
from layout3d.fit.worst import Failure, worst_failure
from layout3d.kernels.bodies import body
from layout3d.layout import Layout, Tube
from layout3d.placing.mounting import MountError, slides
from layout3d.placing.place import hosts_of, place
from layout3d.scene.complaints import unknown
from layout3d.scene.model import Scene
from layout3d.scene.paths import AutoPath
from layout3d.scene.values import split_reference
from shapes.pose import Array, compose


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
    group = _placed_by(scene, group_of(scene, name))
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
    placed = _placed_by(scene, group)
    movers, items = _movers(layout, placed), items_of(layout)
    failure = worst_failure(layout, items, movers)
    # What is only measured off the group does not slide as it does.
    free = _free(layout, items, movers, name) if placed == group else None
    return Row(variant, failure is None, failure, free)


def _placed_by(scene: Scene, group: frozenset[str]) -> frozenset[str]:
    """These parts and all that is fixed to them or measured off them, directly or by others."""
    while more := {spec.name for spec in scene.parts.values() if group & set(hosts_of(spec))} - group:
        group |= more
    return group


def _movers(layout: Layout, group: frozenset[str]) -> frozenset[str]:
    """The group and the fittings on its ports."""
    fittings = set()
    for tube in layout.scene.tubes.values():
        for end, ref in (("from_fitting", tube.start), ("to_fitting", tube.end)):
            if ref.part in group:
                fittings |= {part for part in layout.parts if part.startswith(f"{tube.name}.{end}")}
    return group | fittings


def _free(
    layout: Layout, items: tuple[Item, ...], movers: frozenset[str], name: str
) -> tuple[Span, ...] | None:
    """Every slide at which the group clears; None for a part that does not slide."""
    found = _ways_to_slide(layout, name)
    if found is None:
        return None
    way, at, spans = found
    if not any(high - low > 1e-6 for low, high in spans):
        return None
    pairs = [*_solid_pairs(layout, items, movers), *_zone_pairs(layout, items, movers)]
    free = free_slides(pairs, way, [(low - at, high - at) for low, high in spans])
    inward = ((_up(low + at), -_up(-(high + at))) for low, high in free)
    return tuple((low + 0.0, high + 0.0) for low, high in inward if low <= high)


def _up(value: float) -> float:
    """The next hundredth of a millimetre that is not less: ends are rounded into their stretch."""
    return math.ceil(value * 100.0 - 1e-7) / 100.0


def _ways_to_slide(layout: Layout, name: str) -> tuple[Array, float, list[Span]] | None:
    """The unit vector the group slides along, the slide it has, and those its slots allow [mm]."""
    scene = layout.scene
    stack, fixed = scene.stack_of(name), scene.parts[name].fixed_to
    if fixed is None:
        return None
    reference, at = (fixed.mount, fixed.slide) if stack is None else (stack.mount, stack.slide)
    on_mount = [name] if stack is None else [part for layer in stack.layers for part in layer]
    host_name, mount_name = split_reference(reference)
    host = layout.parts[host_name]
    if mount_name not in host.part.mounts:
        return None
    spans = [(-np.inf, np.inf)]
    for part in on_mount:
        own = scene.parts[part].fixed_to
        if own is not None and own.mount == reference:
            try:
                allowed = slides(layout.parts[part].part, own, host.part)
            except MountError:
                return None
            off = own.slide - at
            spans = [
                (max(low, least - off), min(high, most - off))
                for low, high in spans
                for least, most in allowed
                if max(low, least - off) <= min(high, most - off)
            ]
    mount2scene = compose(host.part.mounts[mount_name].mount2part, host.part2scene)
    return _straightened(mount2scene.x_axis), at, spans


def _straightened(way: Array) -> Array:
    """Without the last bits of the arithmetic along axes it does not go."""
    return np.where(np.abs(way) < 1e-12, 0.0, way)


def _solid_pairs(layout: Layout, items: tuple[Item, ...], movers: frozenset[str]) -> Iterator[Pair]:
    gaps = Gaps.of(layout)
    standing = [item for item in items if item.owner not in movers]
    for item in items:
        if item.owner in movers:
            for other in standing:
                joint = gaps.joint(item.owner, other.owner)
                if joint is None or joint.engagement == 0.0:
                    yield Pair(item.body, other.body, gaps.required(other, item))


def _zone_pairs(layout: Layout, items: tuple[Item, ...], movers: frozenset[str]) -> Iterator[Pair]:
    gaps = Gaps.of(layout)
    for part in layout.parts.values():
        for zone in part.part.zones:
            if zone.severity != "error":
                continue
            room = body(zone.primitive, compose(zone.zone2part, part.part2scene))
            for item in items:
                if (item.owner in movers) != (part.name in movers) and counts(item, part, zone, gaps):
                    pair = (item.body, room) if item.owner in movers else (room, item.body)
                    yield Pair(*pair, 0.0)
