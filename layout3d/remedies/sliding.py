"""The least slide of a part along its slots, or of one placed freely along an axis, that clears it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType

import numpy as np

from layout3d.checks.items import items_of
from layout3d.errors import SceneErrors
from layout3d.findings import Finding
from layout3d.fit.movers import movers_of, placed_by, solid_pairs, ways_to_slide, zone_pairs
from layout3d.fit.slides import Pair, Span, free_slides
from layout3d.fit.variants import group_of, restacked
from layout3d.layout import Layout
from layout3d.placing.measured import face_plane
from layout3d.remedies.change import Change, Effort, with_part, written
from layout3d.scene.complaints import Key
from layout3d.scene.model import PartSpec, Scene
from layout3d.scene.paths import AutoPath
from layout3d.scene.values import split_reference
from layout3d.words import mm, number, rounded_up, toward
from shapes.pose import Array, Vec3, as_vec3, compose

#: Longer moves nobody would call a remedy [mm].
LONGEST_MM = 60.0
#: A way is asked first as far as what is missing, twice, and this [mm].
_NEAR_MM = 2.0
_FREELY: tuple[Span, ...] = ((-LONGEST_MM, LONGEST_MM),)


@dataclass(frozen=True, slots=True, eq=False)
class Way:
    """One way a part may go.

    way : unit vector in the scene; spans : how far it may go along it [mm], from where it stands
    at : what the file states now [mm], so that what it will state has two decimals
    moved : the scene with it moved that far, and what the file would say; None where it cannot be
    """

    way: Array
    at: float
    spans: tuple[Span, ...]
    told: str
    moved: Callable[[float], tuple[Scene, dict[Key, str]] | None]


class Sliding:
    """Slides within one layout; what is asked twice is measured once.

    quick : of several ways to go only those as short as one known already are looked for
    """

    def __init__(self, layout: Layout, quick: bool) -> None:
        self._layout, self._quick = layout, quick
        self._pairs: dict[str, list[Pair]] = {}
        self._clear: dict[tuple[str, bytes, float], list[Span]] = {}

    def changes(
        self, name: str, finding: Finding, bad: frozenset[frozenset[str]], reach: float = LONGEST_MM
    ) -> Iterator[Change]:
        """The nearest clear places of ``name``, and of all placed by it, either way along each of its ways.

        bad : pairs of owners that stand in errors now. Where no place clears all of them, those that
        clear the finding's are told. reach : no way is asked farther [mm]
        """
        parts = frozenset(finding.parts)
        out = np.asarray(finding.direction or (0.0, 0.0, 0.0))
        ways = sorted(
            _ways(self._layout, name, finding.direction), key=lambda way: -abs(float(way.way @ out))
        )
        if not ways:
            return
        pairs = self._pairs_of(name)
        if not any(parts == pair.owners for pair in pairs):
            return
        near = 2.0 * ((finding.required_mm or 0.0) - (finding.measured_mm or 0.0)) + _NEAR_MM
        for way in ways:
            # Most findings are mended near by; to ask of the whole way takes several times as long.
            free: list[Span] = []
            for far in sorted({min(near, reach), reach}):
                free = free or self._free(name, way, far)
            if not free and bad - {parts}:
                fewer = [pair for pair in pairs if pair.owners == parts or pair.owners not in bad]
                free = free_slides(fewer, way.way, _within(way.spans, min(near, reach)))
            for by in _nearest(free, way.at):
                made = way.moved(by)
                if made is not None:
                    heading = toward(as_vec3(way.way * np.sign(by)))
                    words = way.told.format(name=name, far=f"{mm(abs(by))} {heading}")
                    yield Change(Effort.SLIDE, abs(by), name, words, made[0], MappingProxyType(made[1]))
                    reach = min(reach, abs(by)) if self._quick else reach

    def _free(self, name: str, way: Way, reach: float) -> list[Span]:
        """Where along a way, as far as ``reach``, the part clears everything."""
        key = name, way.way.tobytes(), reach
        if key not in self._clear:
            self._clear[key] = free_slides(self._pairs_of(name), way.way, _within(way.spans, reach))
        return self._clear[key]

    def _pairs_of(self, name: str) -> list[Pair]:
        """What ``name`` and all that goes with it must keep clear of, but tubes that go along or give way."""
        if name not in self._pairs:
            scene = self._layout.scene
            group = group_of(scene, name)
            with_it = placed_by(scene, group)
            standing = tuple(
                tube
                for tube in self._layout.tubes
                if not isinstance(scene.tubes[tube.name].path, AutoPath)
                and not {scene.tubes[tube.name].start.part, scene.tubes[tube.name].end.part} & with_it
            )
            layout = replace(self._layout, tubes=standing)
            movers, items = movers_of(layout, with_it), items_of(layout)
            self._pairs[name] = [*solid_pairs(layout, items, movers), *zone_pairs(layout, items, movers)]
        return self._pairs[name]


def _nearest(free: Sequence[Span], at: float) -> Iterator[float]:
    """Of each free stretch the place nearest to where the part stands, to a hundredth in the file [mm]."""
    for low, high in free:
        if low > 0.0:
            by = rounded_up(at + low) - at
        elif high < 0.0:
            by = -rounded_up(-(at + high)) - at
        else:
            continue
        if low - 1e-6 <= by <= high + 1e-6:
            yield by


def _ways(layout: Layout, name: str, direction: Vec3 | None) -> Iterator[Way]:
    spec = layout.scene.parts[name]
    if spec.fixed_to is None:
        # What carries others, and has no place of its own in the file, is what the build stands in.
        stated = any(("parts", name, key) in layout.scene.places.lines for key in ("at", "off"))
        if stated or placed_by(layout.scene, frozenset((name,))) == {name}:
            yield from _freely(layout, spec, direction)
        return
    try:
        found = ways_to_slide(layout, name)
    except SceneErrors:
        return
    if found is not None:
        way, at, spans = found
        longer = _within([(low - at, high - at) for low, high in spans])
        if longer:
            yield Way(way, at, longer, "slide {name} {far} along its slots", _slid(layout.scene, spec))
    yield from _shifted(layout, spec)


def _within(spans: Sequence[Span], reach: float = LONGEST_MM) -> tuple[Span, ...]:
    near = ((max(low, -reach), min(high, reach)) for low, high in spans)
    return tuple((low, high) for low, high in near if high - low > 1e-6)


def _slid(scene: Scene, spec: PartSpec) -> Callable[[float], tuple[Scene, dict[Key, str]] | None]:
    def moved(by: float) -> tuple[Scene, dict[Key, str]] | None:
        stack, fixed = scene.stack_of(spec.name), spec.fixed_to
        if stack is not None:
            slide = round(stack.slide + by, 6)
            made = restacked(scene, replace(stack, slide=slide))
            key: Key = ("stacks", stack.name, "slide")
            return None if isinstance(made, str) else (made, written(scene, key, number(slide)))
        assert fixed is not None
        slide = round(fixed.slide + by, 6)
        there = replace(spec, fixed_to=fixed.model_copy(update={"slide": slide}))
        key = ("parts", spec.name, "fixed_to", "slide")
        return with_part(scene, there), written(scene, key, number(slide))

    return moved


def _shifted(layout: Layout, spec: PartSpec) -> Iterator[Way]:
    """Across its mount, for what stands on a surface without holes."""
    fixed, scene = spec.fixed_to, layout.scene
    assert fixed is not None
    host = layout.parts[fixed.host]
    mount = host.part.mounts.get(fixed.place)
    if mount is None or mount.surface is None or scene.stack_of(spec.name) is not None:
        return
    (_, low), (_, high) = mount.surface
    way = compose(mount.mount2part, host.part2scene).turn(np.array((0.0, 1.0, 0.0)))

    def moved(by: float) -> tuple[Scene, dict[Key, str]]:
        shift = round(fixed.shift + by, 6)
        there = replace(spec, fixed_to=fixed.model_copy(update={"shift": shift}))
        key: Key = ("parts", spec.name, "fixed_to", "shift")
        return with_part(scene, there), written(scene, key, number(shift))

    spans = _within([(low - fixed.shift, high - fixed.shift)])
    straight = np.where(np.abs(way) < 1e-12, 0.0, way)
    yield Way(straight, fixed.shift, spans, "shift {name} {far} across its mount", moved)


def _freely(layout: Layout, spec: PartSpec, direction: Vec3 | None) -> Iterator[Way]:
    """Along the case's axes, and the way out of the finding; by ``gap`` where a line measures that way."""
    hosts = dict(layout.parts)
    normals = [face_plane(line.face, hosts)[1] for line in spec.off]
    for axis in np.eye(3):
        along = [n for n, normal in enumerate(normals) if abs(float(normal @ axis)) > 1.0 - 1e-9]
        if along:
            way = np.where(np.abs(normals[along[0]]) < 1e-12, 0.0, normals[along[0]])
            at = spec.off[along[0]].gap
            yield Way(way, at, _FREELY, "move {name} {far}", _measured_off(layout.scene, spec, along[0]))
        elif spec.at is not None and not any(abs(float(normal @ axis)) > 1e-9 for normal in normals):
            at = float(np.asarray(spec.at) @ axis)
            yield Way(axis, at, _FREELY, "move {name} {far}", _placed(layout.scene, spec, axis))
    if direction is not None and spec.at is not None and not normals:
        way = np.where(np.abs(direction) < 1e-9, 0.0, np.asarray(direction))
        if np.abs(way).max() < 1.0 - 1e-9:
            yield Way(way, 0.0, _FREELY, "move {name} {far}", _placed(layout.scene, spec, way))


def _placed(scene: Scene, spec: PartSpec, way: Array) -> Callable[[float], tuple[Scene, dict[Key, str]]]:
    def moved(by: float) -> tuple[Scene, dict[Key, str]]:
        # Along an axis the file's value has two decimals; aslant they are told to four, as they are tried.
        at = as_vec3(np.round(np.asarray(spec.at) + way * by, 4) + 0.0)
        text = f"[{', '.join(number(value, 4) for value in at)}]"
        return with_part(scene, replace(spec, at=at)), written(scene, ("parts", spec.name, "at"), text)

    return moved


def _measured_off(scene: Scene, spec: PartSpec, line: int) -> Callable[[float], tuple[Scene, dict[Key, str]]]:
    def moved(by: float) -> tuple[Scene, dict[Key, str]]:
        gap = round(spec.off[line].gap + by, 6)
        lines = [
            each.model_copy(update={"gap": gap}) if n == line else each for n, each in enumerate(spec.off)
        ]
        key: Key = ("parts", spec.name, "off", line, "gap")
        return with_part(scene, replace(spec, off=tuple(lines))), written(scene, key, number(gap))

    return moved


def hosts_up(scene: Scene, name: str) -> Iterator[str]:
    """A part, then what it is fixed to, and so on."""
    while True:
        yield name
        fixed = scene.parts[name].fixed_to
        if fixed is None:
            return
        name = split_reference(fixed.mount)[0]
