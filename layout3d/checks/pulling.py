"""Whether what hands pull straight out of the built case comes out: side panels, memory.

Panels come off first, past all that is built in. Memory comes out once panels and tubes are off.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from layout3d.checks.items import Item
from layout3d.checks.words import name_of, where_of
from layout3d.findings import Finding
from layout3d.kernels.pieces import joined
from layout3d.kernels.sweep import hulls, passes
from layout3d.layout import Layout
from layout3d.words import mm, toward
from shapes.pose import Array, Vec3, as_vec3

_CONTACT_MM = 1e-6
#: A panel drawn off so far is out of the way of all that is built in [mm]. From memory.
PANEL_MM = 50.0


@dataclass(frozen=True, slots=True)
class _Pull:
    """One solid drawn along ``way`` for ``far`` [mm]; ``off`` names what is taken off before."""

    item: Item
    way: Vec3
    far: float
    off: str

    @property
    def travel(self) -> Array:
        """The way as a vector (3,) [mm]."""
        return self.far * np.asarray(self.way)


def pull_findings(layout: Layout, items: Sequence[Item]) -> Iterator[Finding]:
    """One for each panel and memory module that something is, or may be, in the way of."""
    kept = [item for item in items if item.owner not in layout.parts or not _panel_way(layout, item)]
    low = np.array([item.body.low for item in kept]).reshape(-1, 3)
    high = np.array([item.body.high for item in kept]).reshape(-1, 3)
    for pull in _pulls(layout, items):
        ends = np.stack([np.zeros(3), pull.travel])
        lowest = pull.item.body.low + ends.min(axis=0) + _CONTACT_MM
        highest = pull.item.body.high + ends.max(axis=0) - _CONTACT_MM
        near = np.flatnonzero(((low < highest) & (lowest < high)).all(axis=1)).tolist()
        standing = [kept[n] for n in near if kept[n] is not pull.item]
        if pull.off:
            standing = [item for item in standing if item.kind != "tube"]
        if blocking := [item for item in standing if not _passes(pull, item)]:
            yield _finding(pull, blocking, layout)


def _pulls(layout: Layout, items: Sequence[Item]) -> Iterator[_Pull]:
    specs = layout.scene.parts
    for item in items:
        part = layout.parts.get(item.owner)
        if part is None or (item.owner in specs and specs[item.owner].service == "ignore"):
            continue
        if (way := _panel_way(layout, item)) is not None:
            yield _Pull(item, as_vec3(part.part2scene.turn(np.asarray(way))), PANEL_MM, "")
        if (way := part.part.pulled.get(item.solid)) is not None:
            turned = as_vec3(part.part2scene.turn(np.asarray(way)))
            off = "side panels and tubes" if _has_panels(layout) else "tubes"
            yield _Pull(item, turned, _length(item, turned), off)


def _panel_way(layout: Layout, item: Item) -> Vec3 | None:
    return layout.parts[item.owner].part.removals.get(item.solid)


def _has_panels(layout: Layout) -> bool:
    return any(part.part.removals for part in layout.parts.values())


def _length(item: Item, way: Vec3) -> float:
    """How long a solid is along a way: drawn so far it has left where it stood [mm]."""
    along = np.broadcast_to(np.asarray(way), (len(item.body.pieces), 3))
    pieces = item.body.pieces
    return float(pieces.height_along(along).max() + pieces.height_along(-along).max())


def _passes(pull: _Pull, other: Item) -> bool:
    """Whether it is proved to pass another solid; contact is allowed."""
    moving, standing = hulls(joined([pull.item.body.pieces])), hulls(joined([other.body.pieces]))
    i, j = np.divmod(np.arange(len(moving) * len(standing)), len(standing))
    return bool(passes(moving.take(i), standing.take(j), np.broadcast_to(pull.travel, (len(i), 3))).all())


def _finding(pull: _Pull, blocking: Sequence[Item], layout: Layout) -> Finding:
    item, first = pull.item, blocking[0]
    off = f", {pull.off} off" if pull.off else ""
    names = list(dict.fromkeys(name_of(one) for one in blocking))
    return Finding(
        rule="pull-out",
        severity="warning",
        parts=tuple(dict.fromkeys((item.owner, first.owner))),
        solids=(item.solid, first.solid),
        message=f"{name_of(item)} cannot be pulled {mm(pull.far)} straight {toward(pull.way)}{off}: "
        f"{' and '.join(names)} {'is' if len(names) == 1 else 'are'} in the way",
        remedy="move what is in the way, or say `service: ignore` where that comes out first",
        where=where_of(item.owner, layout),
    )
