"""What moves with a part, the way it slides, and what it must keep clear of as it does."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from layout3d.checks.items import Gaps, Item
from layout3d.checks.zones import counts
from layout3d.fit.slides import Pair, Span
from layout3d.kernels.bodies import body
from layout3d.layout import Layout
from layout3d.placing.mounting import MountError, slides
from layout3d.placing.place import hosts_of
from layout3d.scene.model import Scene
from layout3d.scene.values import split_reference
from shapes.pose import Array, compose


def placed_by(scene: Scene, group: frozenset[str]) -> frozenset[str]:
    """These parts and all that is fixed to them or measured off them, directly or by others."""
    while more := {spec.name for spec in scene.parts.values() if group & set(hosts_of(spec))} - group:
        group |= more
    return group


def movers_of(layout: Layout, group: frozenset[str]) -> frozenset[str]:
    """The group and the fittings on its ports."""
    fittings = set()
    for tube in layout.scene.tubes.values():
        for end, ref in (("from_fitting", tube.start), ("to_fitting", tube.end)):
            if ref.part in group:
                fittings |= {part for part in layout.parts if part.startswith(f"{tube.name}.{end}")}
    return group | fittings


def ways_to_slide(layout: Layout, name: str) -> tuple[Array, float, list[Span]] | None:
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


def solid_pairs(layout: Layout, items: tuple[Item, ...], movers: frozenset[str]) -> Iterator[Pair]:
    """Every moving solid with every standing one but what it engages with."""
    gaps = Gaps.of(layout)
    standing = [item for item in items if item.owner not in movers]
    for item in items:
        if item.owner in movers:
            for other in standing:
                joint = gaps.joint(item.owner, other.owner)
                if joint is None or joint.engagement == 0.0:
                    owners = frozenset((item.owner, other.owner))
                    yield Pair(item.body, other.body, gaps.required(other, item), owners)


def zone_pairs(layout: Layout, items: tuple[Item, ...], movers: frozenset[str]) -> Iterator[Pair]:
    """Moving solids with standing rooms, moving rooms with standing solids."""
    gaps = Gaps.of(layout)
    for part in layout.parts.values():
        for zone in part.part.zones:
            if zone.severity != "error":
                continue
            room = body(zone.primitive, compose(zone.zone2part, part.part2scene))
            for item in items:
                if (item.owner in movers) != (part.name in movers) and counts(item, part, zone, gaps):
                    pair = (item.body, room) if item.owner in movers else (room, item.body)
                    yield Pair(*pair, 0.0, frozenset((item.owner, part.name)))
