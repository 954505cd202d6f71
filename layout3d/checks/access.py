"""Whether fingers reach what is turned by hand in the built case: collars of fittings, fill caps.

Two fingertips stand opposite each other against the grip, at whatever angle round it there is room.
Tubes and panels that come off are taken off first; all else stays where it is.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from layout3d.checks.items import Item
from layout3d.checks.words import midpoint, name_of, where_of
from layout3d.findings import Finding
from layout3d.kernels.bodies import Body, body
from layout3d.kernels.measure import CONTACT_MM, Measured, measure_pairs
from layout3d.kernels.pieces import Pieces
from layout3d.kernels.points import distance_to
from layout3d.kernels.sweep import hulls, passes
from layout3d.layout import Layout
from layout3d.words import mm
from shapes.pose import Array, Pose, about_z, compose
from shapes.primitives import Box, Cylinder, Mesh

#: A fingertip: out from the grip, across, and along its axis [mm]. From memory.
FINGER_MM = (12.0, 16.0, 14.0)
#: Corners, middles of edges and faces, and the middle of a box of half size 1.
_LATTICE = np.array(list(product((-1.0, 0.0, 1.0), repeat=3)))
#: The way off that a proof of standing still is asked for with [mm].
_STILL_MM = 1e-7
#: The pair is tried at these turns round the grip, the plain ones first [degrees].
_FIRST_DEG = (0.0, 90.0, 45.0, 135.0)
_ALL_DEG = (*_FIRST_DEG, *(float(turn) for turn in range(0, 180, 5) if turn % 45))


@dataclass(frozen=True, slots=True)
class _Grip:
    """A round solid in the scene, and who of the layout is not in its way."""

    item: Item
    diameter: float
    length: float

    def fingers(self, turn_deg: float) -> tuple[Body, Body]:
        """Both fingertips, their flat faces against the grip."""
        out, across, along = FINGER_MM
        tip = Box((out, across, min(along, self.length)))
        offset = 0.5 * (self.diameter + out)
        low, high = (
            compose(compose(Pose.at((side * offset, 0.0, 0.0)), about_z(turn_deg)), self.item.solid2scene)
            for side in (-1.0, 1.0)
        )
        return body(tip, low), body(tip, high)


def access_findings(layout: Layout, items: Sequence[Item]) -> Iterator[Finding]:
    """One for each grip that no two fingers reach; what leaves most room is told."""
    waiting = list(_grips(layout, items))
    standing = _Standing([item for item in items if item.kind != "tube" and not _comes_off(layout, item)])
    for turns in (_FIRST_DEG[:1], _FIRST_DEG[1:], _ALL_DEG[len(_FIRST_DEG) :]):
        waiting = [grip for grip in waiting if not any(standing.free(grip, turn) for turn in turns)]
    for grip in waiting:
        roomiest = min(_ALL_DEG, key=lambda turn: standing.dip(grip, turn))
        yield _finding(layout, grip, *standing.deepest(grip, roomiest))


def _grips(layout: Layout, items: Sequence[Item]) -> Iterator[_Grip]:
    for item in items:
        part = layout.parts.get(item.owner)
        if part is None or item.solid not in part.part.grips or not isinstance(item.primitive, Cylinder):
            continue
        spec = layout.scene.parts.get(part.name) if part.tube is None else layout.scene.tubes[part.tube]
        if spec is None or spec.service == "check":
            yield _Grip(item, item.primitive.diameter, item.primitive.length)


def _comes_off(layout: Layout, item: Item) -> bool:
    return item.solid in layout.parts[item.owner].part.removals


class _Standing:
    """All that stays where it is."""

    def __init__(self, items: Sequence[Item]) -> None:
        self.items = items
        self.low = np.array([item.body.low for item in items]).reshape(-1, 3)
        self.high = np.array([item.body.high for item in items]).reshape(-1, 3)

    def near(self, grip: _Grip, turn: float) -> Iterator[tuple[Body, Item]]:
        """Fingers, and what their boxes meet."""
        for finger in grip.fingers(turn):
            meets = (self.low < finger.high - CONTACT_MM) & (finger.low + CONTACT_MM < self.high)
            for i in np.flatnonzero(meets.all(axis=1)).tolist():
                if self.items[i] is not grip.item:
                    yield finger, self.items[i]

    def free(self, grip: _Grip, turn: float) -> bool:
        """Whether the fingers at this turn are proved off everything: a support plane parts each pair."""
        return all(_apart(finger, item.body) for finger, item in self.near(grip, turn))

    def dip(self, grip: _Grip, turn: float) -> float:
        """About how deep the fingers at this turn stand in anything [mm]."""
        return max(
            (-float(_inside(finger, item.body).min()) for finger, item in self.near(grip, turn)), default=0.0
        )

    def deepest(self, grip: _Grip, turn: float) -> tuple[Item, Measured]:
        """What stands deepest in the fingers at this turn; it is not free."""
        near = list(self.near(grip, turn))
        found = measure_pairs([(finger, item.body) for finger, item in near], np.zeros(len(near)))
        return min(zip((item for _, item in near), found, strict=True), key=lambda met: met[1].gap_mm)


def _apart(finger: Body, other: Body) -> bool:
    """Whether a plane parts the fingertip from every convex piece of another body; no is no proof."""
    if isinstance(other.primitive, Mesh):
        return measure_pairs([(finger, other)], np.zeros(1))[0].gap_mm >= -CONTACT_MM
    if (_inside(finger, other) < -CONTACT_MM).any():
        # A plane that is not there would take long to be sure of.
        return False
    pieces = hulls(_about(other.pieces, finger))
    tip = finger.pieces.take(np.zeros(len(pieces), dtype=np.intp))
    return bool(passes(tip, pieces, np.full((len(pieces), 3), _STILL_MM)).all())


def _inside(finger: Body, other: Body) -> Array:
    """Signed distances of a lattice of points of a fingertip to another body [mm], negative inside."""
    assert isinstance(finger.primitive, Box)
    points = _LATTICE * (0.5 * np.array(finger.primitive.size)) @ finger.solid2scene.rotation.T
    return distance_to(points + finger.solid2scene.origin, other.primitive, other.solid2scene)


def _about(pieces: Pieces, finger: Body) -> Pieces:
    """Those whose boxes meet the fingertip's."""
    axes = np.concatenate([np.eye(3), -np.eye(3)])
    reach = pieces.height(np.broadcast_to(axes, (len(pieces), 6, 3)))
    meets = (-reach[:, 3:] < finger.high - CONTACT_MM) & (finger.low + CONTACT_MM < reach[:, :3])
    return pieces.take(np.flatnonzero(meets.all(axis=1)))


def _finding(layout: Layout, grip: _Grip, item: Item, met: Measured) -> Finding:
    first = "tubes" if not _has_panels(layout) else "side panels and tubes"
    return Finding(
        rule="hand-reach",
        severity="warning",
        parts=tuple(dict.fromkeys((grip.item.owner, item.owner))),
        solids=(grip.item.solid, item.solid),
        message=(
            f"no two fingers reach round {name_of(grip.item)}, {first} off: where there is most room one "
            f"would still go {mm(-met.gap_mm)} into {name_of(item)}"
        ),
        measured_mm=met.gap_mm,
        required_mm=0.0,
        at_mm=midpoint(met),
        depth_is="bound",
        remedy="turn an angled fitting, use an extender or another port, or tighten it before the part goes "
        "in and say `service: ignore`",
        where=where_of(grip.item.owner, layout),
    )


def _has_panels(layout: Layout) -> bool:
    return any(part.part.removals for part in layout.parts.values())
