"""What is measured against what: every solid of a layout, and the gap each pair must keep."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal, TypeAlias

from layout3d.gaprule import gap_between
from layout3d.kernels.bodies import Body, body
from layout3d.layout import Joint, Layout, PlacedPart, Tube
from layout3d.scene.model import Rules
from shapes.pose import IDENTITY, Pose, compose
from shapes.primitives import Arc, Primitive, Straight, TubeRun

Kind: TypeAlias = Literal["part", "fitting", "tube"]
Pieces: TypeAlias = tuple[Straight | Arc, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Item:
    """One measured solid. ``near`` names the parts it may touch though no joint says so."""

    owner: str
    solid: str
    kind: Kind
    primitive: Primitive
    solid2scene: Pose
    body: Body
    near: frozenset[str] = frozenset()


def items_of(layout: Layout) -> tuple[Item, ...]:
    """Every solid of the layout: parts in scene order, fittings, then tubes."""
    parts = (item for part in layout.parts.values() for item in part_items(part))
    tubes = (item for tube in layout.tubes for item in tube_items(tube))
    return (*parts, *tubes)


def part_items(part: PlacedPart) -> Iterator[Item]:
    """The solids of one part or fitting."""
    kind: Kind = "part" if part.tube is None else "fitting"
    for solid in part.part.solids:
        solid2scene = compose(solid.solid2part, part.part2scene)
        there = body(solid.primitive, solid2scene)
        yield Item(part.name, solid.name, kind, solid.primitive, solid2scene, there)


def tube_items(tube: Tube) -> Iterator[Item]:
    """A tube in up to three runs: only its first and last straight may be near what they end on."""
    if tube.run is None:
        return
    pieces = tube.run.pieces
    start, end = (frozenset(names) for names in tube.near)
    if len(pieces) == 1 and isinstance(pieces[0], Straight):
        yield _tube_item(tube.name, tube.run, pieces, start | end)
        return
    head = pieces[:1] if isinstance(pieces[0], Straight) else ()
    tail = pieces[-1:] if isinstance(pieces[-1], Straight) else ()
    middle = pieces[len(head) : len(pieces) - len(tail)]
    for stretch, near in ((head, start), (middle, frozenset[str]()), (tail, end)):
        if stretch:
            yield _tube_item(tube.name, tube.run, stretch, near)


def _tube_item(name: str, run: TubeRun, pieces: Pieces, near: frozenset[str]) -> Item:
    stretch = TubeRun(pieces, run.outside, run.inside, run.deviation)
    return Item(name, "tube", "tube", stretch, IDENTITY, body(stretch, IDENTITY), near)


@dataclass(frozen=True, slots=True)
class Gaps:
    """The gap rules of a layout, asked pair by pair."""

    rules: Rules
    own: dict[str, float]
    joints: dict[frozenset[str], Joint]
    touches: frozenset[frozenset[str]]

    @staticmethod
    def of(layout: Layout) -> Gaps:
        """The rules, own gaps and joints of this layout."""
        scene = layout.scene
        own = {part.name: part.gap for part in layout.parts.values() if part.gap is not None}
        own |= {tube.name: tube.gap for tube in scene.tubes.values() if tube.gap is not None}
        touches = (frozenset((tube.name, part)) for tube in scene.tubes.values() for part in tube.touches)
        joints = {frozenset((joint.first, joint.second)): joint for joint in layout.joints}
        return Gaps(scene.rules, own, joints, frozenset(touches))

    def joint(self, first: str, second: str) -> Joint | None:
        """The joint between two owners, if there is one."""
        return self.joints.get(frozenset((first, second)))

    def required(self, first: Item, second: Item) -> float:
        """The least gap between two items of different owners [mm]; 0 where they may touch."""
        pair = frozenset((first.owner, second.owner))
        if pair in self.joints or pair in self.touches:
            return 0.0
        if second.owner in first.near or first.owner in second.near:
            return 0.0
        return self.between(first, second)

    def between(self, first: Item, second: Item) -> float:
        """The gap rule for two items that are not joined [mm]."""
        kinds = {first.kind, second.kind}
        if "tube" in kinds:
            rule = self.rules.tube_gap
        else:
            rule = self.rules.fitting_gap if kinds == {"fitting"} else self.rules.part_gap
        return gap_between(rule, self.own.get(first.owner), self.own.get(second.owner))

    @property
    def widest(self) -> float:
        """The largest gap any rule may ask for [mm]."""
        rules = self.rules
        return max(rules.part_gap, rules.tube_gap, rules.fitting_gap, *self.own.values(), 0.0)
