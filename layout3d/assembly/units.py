"""What is put in as one: a part, a panel that comes off by itself, a fitting, a tube."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Literal, TypeAlias

import numpy as np

from layout3d.checks.items import Item, items_of
from layout3d.kernels.pieces import Pieces, joined
from layout3d.kernels.sweep import hulls
from layout3d.layout import Joint, Layout, PlacedPart, Tube
from shapes.pose import DIRECTIONS, Vec3, as_vec3

Kind: TypeAlias = Literal["panel", "tube", "fitting", "part"]


@dataclass(frozen=True, slots=True, eq=False)
class Unit:
    """One thing that is put in.

    name : the part's or tube's; of a panel "case.window_panel"
    owner : part or tube it belongs to
    ways : unit directions it may come off along, those most natural first
    drawn : what is screwed or plugged in: the only way it comes off, and how far until it is free [mm]
    depth : how many hosts stand between it and what stays, the more the earlier it comes off
    pieces : convex pieces that contain it
    """

    name: str
    owner: str
    kind: Kind
    ways: tuple[Vec3, ...]
    depth: int
    pieces: Pieces = field(repr=False)
    drawn: tuple[Vec3, float] | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Kit:
    """All units of a layout, and what stays where it is.

    stays : name of the part everything is built into, None where no part holds others
    fixed : its solids that never come off
    hosts : name of a unit -> name of what it is fixed to
    joints : the joints that engage, by their two owners
    """

    units: tuple[Unit, ...]
    stays: str | None
    fixed: Pieces | None
    hosts: dict[str, str]
    joints: dict[frozenset[str], Joint]

    def guests(self, name: str) -> frozenset[str]:
        """Names of all that is fixed to a unit, directly or through others; itself as well."""
        found = {name}
        while more := {guest for guest, host in self.hosts.items() if host in found} - found:
            found |= more
        return frozenset(found)


def kit_of(layout: Layout) -> Kit:
    """The units of a layout: panels, then parts, fittings and tubes in their order."""
    hosts = _hosts(layout)
    stays = _what_stays(layout, hosts)
    solids: dict[str, list[Item]] = {}
    for item in items_of(layout):
        solids.setdefault(item.owner, []).append(item)
    units: list[Unit] = []
    fixed: list[Item] = []
    for part in layout.parts.values():
        if part.name == stays:
            panels = part.part.removals
            units += [_panel(part, item) for item in solids.get(part.name, ()) if item.solid in panels]
            fixed += [item for item in solids.get(part.name, ()) if item.solid not in panels]
        elif part.name in solids:
            units.append(_part(part, solids[part.name], layout, hosts))
    for tube in layout.tubes:
        if tube.name in solids:
            units.append(Unit(tube.name, tube.name, "tube", _tube_ways(tube), 0, _pieces(solids[tube.name])))
    joints = {frozenset((j.first, j.second)): j for j in layout.joints if j.engagement > 0.0}
    return Kit(tuple(units), stays, _pieces(fixed) if fixed else None, hosts, joints)


def _pieces(items: Iterable[Item]) -> Pieces:
    return hulls(joined([item.body.pieces for item in items]))


def _hosts(layout: Layout) -> dict[str, str]:
    """Who is fixed to whom; a fitting to the part or fitting it is screwed into."""
    hosts = {
        spec.name: spec.fixed_to.host for spec in layout.scene.parts.values() if spec.fixed_to is not None
    }
    screwed = {part.name: part.screwed.host for part in layout.parts.values() if part.screwed is not None}
    return hosts | screwed


def _what_stays(layout: Layout, hosts: dict[str, str]) -> str | None:
    """The part with panels that come off, else the one that holds most others and hangs on none."""
    for part in layout.parts.values():
        if part.part.removals:
            return part.name
    held: dict[str, int] = {}
    for name in layout.scene.parts:
        for above in _hosts_above(name, hosts):
            held[above] = held.get(above, 0) + 1
    roots = [name for name in layout.parts if name in held and name not in hosts]
    return max(roots, key=lambda name: held[name], default=None)


def _hosts_above(name: str, hosts: dict[str, str]) -> list[str]:
    above: list[str] = []
    while (host := hosts.get(name)) is not None and host not in above:
        above.append(host)
        name = host
    return above


def _panel(part: PlacedPart, item: Item) -> Unit:
    way = as_vec3(part.part2scene.turn(np.asarray(part.part.removals[item.solid])))
    return Unit(f"{part.name}.{item.solid}", part.name, "panel", (way,), 0, _pieces([item]))


def _part(part: PlacedPart, items: list[Item], layout: Layout, hosts: dict[str, str]) -> Unit:
    kind: Kind = "part" if part.tube is None else "fitting"
    depth = len(_hosts_above(part.name, hosts))
    onto = [
        joint
        for joint in layout.joints
        if (joint.second == part.name and hosts.get(joint.first) != part.name)
        or (joint.first == part.name and joint.second == hosts.get(part.name))
    ]
    off = [(_off(joint, part.name), joint.engagement) for joint in onto if joint.axis is not None]
    ways = _distinct([*(way for way, _ in off), *CASE_WAYS])
    drawn = next(((way, length) for way, length in off if length > 0.0), None)
    return Unit(part.name, part.name, kind, ways, depth, _pieces(items), drawn)


def _off(joint: Joint, part: str) -> Vec3:
    """The way a part comes off its partner; one screwed over a male thread goes against the joint's axis."""
    assert joint.axis is not None
    x, y, z = joint.axis
    return joint.axis if joint.second == part else (-x + 0.0, -y + 0.0, -z + 0.0)


def _tube_ways(tube: Tube) -> tuple[Vec3, ...]:
    """Off both mouths at once, then along the case's axes and either mouth's."""
    first, second = (mouth.z_axis for mouth in tube.mouths)
    both = first + second
    length = float(np.linalg.norm(both))
    away = [both / length] if length > 1e-6 else []
    return _distinct([*(as_vec3(way) for way in away), *CASE_WAYS, as_vec3(first), as_vec3(second)])


#: A case is open to the window first.
CASE_WAYS = tuple(DIRECTIONS[word] for word in ("window", "roof", "front", "tray", "rear", "floor"))


def _distinct(ways: Iterable[Vec3]) -> tuple[Vec3, ...]:
    kept: list[Vec3] = []
    for way in ways:
        if all(float(np.dot(way, other)) < 1.0 - 1e-9 for other in kept):
            kept.append(way)
    return tuple(kept)
