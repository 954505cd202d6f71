"""What a tube to be found must keep clear of: placed solids, each with the gap it asks for."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from layout3d.gaprule import gap_between
from layout3d.layout import Layout
from layout3d.tubes.request import Keeping
from shapes.pose import IDENTITY, Pose, compose
from shapes.primitives import Primitive


@dataclass(frozen=True, slots=True)
class Hindrance:
    """One placed solid and the gap a tube keeps from it [mm].

    near : at which ends the first or last straight may come nearer, though never overlap
    """

    name: str
    primitive: Primitive
    solid2scene: Pose
    required_mm: float
    near: tuple[bool, bool] = (False, False)


@dataclass(frozen=True, slots=True)
class Scenery:
    """All there is, and the gap the tube keeps from itself [mm]."""

    hindrances: tuple[Hindrance, ...]
    self_gap_mm: float = 3.0


def scenery(layout: Layout, request: Keeping) -> Scenery:
    """Every solid of the parts and of the tubes already laid, and the room parts must keep free.

    Of the tube's own gap and the other's the larger counts, the scene's ``tube_gap`` where
    neither has one, and 0 for what the tube may touch.
    """
    own = gap_between(layout.scene.rules.tube_gap, request.gap)
    return Scenery(tuple(_hindrances(layout, request)), own)


def _hindrances(layout: Layout, request: Keeping) -> Iterator[Hindrance]:
    for part in layout.parts.values():
        near = (part.name in request.near[0], part.name in request.near[1])
        required = _required(layout, request, part.name, part.gap)
        for solid in part.part.solids:
            solid2scene = compose(solid.solid2part, part.part2scene)
            yield Hindrance(part.name, solid.primitive, solid2scene, required, near)
        for zone in part.part.zones:
            if zone.severity == "error" and not zone.only_parts:
                yield Hindrance(part.name, zone.primitive, compose(zone.zone2part, part.part2scene), 0.0)
    for tube in layout.tubes:
        if tube.run is not None and tube.name != request.name:
            own = layout.scene.tubes[tube.name].gap
            yield Hindrance(tube.name, tube.run, IDENTITY, _required(layout, request, tube.name, own))


def _required(layout: Layout, request: Keeping, name: str, own: float | None) -> float:
    if name in request.touches or request.name in _touched_by(layout, name):
        return 0.0
    return gap_between(layout.scene.rules.tube_gap, own, request.gap)


def _touched_by(layout: Layout, name: str) -> tuple[str, ...]:
    spec = layout.scene.tubes.get(name) or layout.scene.parts.get(name)
    return () if spec is None else spec.touches
