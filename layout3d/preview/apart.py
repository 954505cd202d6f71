"""Where everything goes when the build is drawn apart: along its own mount's axis, and out of the case."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from layout3d.layout import Joint, Layout
from shapes.bounds import part_box, part_span, primitive_box
from shapes.pose import Array, Pose, Vec3, as_vec3

#: Room left between what is drawn apart [mm]: a fitting off its port, a part off its host, a
#: stack off the case.
_FITTING_MM, _PART_MM, _CASE_MM = 25.0, 35.0, 55.0
#: A part that sits nearer than this to the case's own wall goes out through it [mm].
_AT_WALL_MM = 60.0
_WINDOW = np.array([0.0, -1.0, 0.0])


@dataclass(frozen=True, slots=True, eq=False)
class _Stack:
    """A part on the case with all that hangs on it, and the way it leaves."""

    names: tuple[str, ...]
    low: Array
    high: Array
    way: Array
    wall: float
    last: bool = False

    def near(self) -> float:
        """How far out its inner side is along its way [mm]."""
        return _along(self.low, self.high, self.way)[0]

    def far(self) -> float:
        return _along(self.low, self.high, self.way)[1]

    def beside(self, other: _Stack) -> bool:
        """Whether the two can never meet, however far each goes along the same way."""
        across = np.abs(self.way) < 0.5
        return bool(np.any((self.low > other.high)[across] | (other.low > self.high)[across]))


def apart_offsets(layout: Layout) -> dict[str, Vec3]:
    """How far each part and tube is moved when the build is drawn fully apart [mm, scene]."""
    hosts: dict[str, Joint] = {}
    for joint in layout.joints:
        if joint.axis is not None and joint.second in layout.parts and joint.first in layout.parts:
            hosts.setdefault(joint.second, joint)
    own = _own_offsets(layout, hosts)
    stacks = _stacks(layout, hosts, own)
    found = dict(own)
    for names, shift in _shifts(stacks):
        for name in names:
            found[name] = own.get(name, np.zeros(3)) + shift
    return {name: as_vec3(offset) for name, offset in found.items()}


def _own_offsets(layout: Layout, hosts: Mapping[str, Joint]) -> dict[str, Array]:
    """Each part off its host, as far as it takes to clear it; parts on a root stay for now."""
    found: dict[str, Array] = {}

    def offset(name: str) -> Array:
        if name not in found:
            found[name] = np.zeros(3)
            joint = hosts.get(name)
            if joint is not None and joint.first in hosts and joint.axis is not None:
                axis = np.asarray(joint.axis)
                room = _FITTING_MM if layout.parts[name].tube is not None else _PART_MM
                clear = _span(layout, joint.first, axis)[1] - _span(layout, name, axis)[0]
                found[name] = offset(joint.first) + (max(clear, 0.0) + room) * axis
        return found[name]

    for name in layout.parts:
        offset(name)
    return found


def _stacks(layout: Layout, hosts: Mapping[str, Joint], own: Mapping[str, Array]) -> list[_Stack]:
    families: dict[str, list[str]] = {}
    for name in layout.parts:
        head, seen = name, {name}
        while head in hosts and hosts[head].first in hosts and hosts[head].first not in seen:
            head = hosts[head].first
            seen.add(head)
        if head in hosts and layout.parts[name].part.solids:
            families.setdefault(head, []).append(name)
    stacks = []
    for head, names in families.items():
        root, axis = hosts[head].first, hosts[head].axis
        if axis is None or not layout.parts[root].part.solids:
            continue
        way = np.asarray(axis)
        if layout.parts[head].tube is None:
            way = _way_out(layout, root, head, way)
        boxes = [(low + own[n], high + own[n]) for n in names for low, high in [_box(layout, n)]]
        low, high = _hull(boxes)
        stacks.append(_Stack(tuple(names), low, high, way, _span(layout, root, way)[1]))
    if stacks:
        stacks += _tubes(layout, stacks[0], hosts)
    return stacks


def _way_out(layout: Layout, root: str, head: str, axis: Array) -> Array:
    """Through the wall it is on; what is on the tray or deep inside goes toward the window."""
    window = layout.parts[root].part2scene.rotation @ _WINDOW
    back = -axis
    depth = _span(layout, root, back)[1] - _span(layout, head, back)[1]
    return back if depth < _AT_WALL_MM and abs(float(back @ window)) < 0.7 else window


def _tubes(layout: Layout, first: _Stack, hosts: Mapping[str, Joint]) -> list[_Stack]:
    """All tubes keep their places to each other, before everything else at the window."""
    names = tuple(tube.name for tube in layout.tubes if tube.run is not None)
    if not names:
        return []
    still = Pose(np.eye(3), np.zeros(3))
    low, high = _hull(primitive_box(tube.run, still) for tube in layout.tubes if tube.run is not None)
    root = hosts[first.names[0]].first
    way = layout.parts[root].part2scene.rotation @ _WINDOW
    return [_Stack(names, low, high, way, _span(layout, root, way)[1], last=True)]


def _shifts(stacks: Sequence[_Stack]) -> Iterable[tuple[tuple[str, ...], Array]]:
    """The inner ones first, each clear of the case and of what left before it on the same way."""
    gone: list[tuple[_Stack, float]] = []
    for stack in sorted(stacks, key=lambda each: (each.last, each.near())):
        before = [
            far + _PART_MM
            for other, far in gone
            if float(other.way @ stack.way) > 0.99 and not stack.beside(other)
        ]
        shift = max([stack.wall + _CASE_MM, *before]) - stack.near()
        gone.append((stack, stack.far() + shift))
        yield stack.names, shift * stack.way


def _span(layout: Layout, name: str, way: Array) -> tuple[float, float]:
    placed = layout.parts[name]
    low, high = part_span(placed.part, placed.part2scene, way)
    return float(low), float(high)


def _box(layout: Layout, name: str) -> tuple[Array, Array]:
    return part_box(layout.parts[name].part, layout.parts[name].part2scene)


def _hull(boxes: Iterable[tuple[Array, Array]]) -> tuple[Array, Array]:
    lows, highs = zip(*boxes, strict=True)
    return np.min(lows, axis=0), np.max(highs, axis=0)


def _along(low: Array, high: Array, way: Array) -> tuple[float, float]:
    middle, half = (low + high) @ way / 2.0, (high - low) @ np.abs(way) / 2.0
    return float(middle - half), float(middle + half)
