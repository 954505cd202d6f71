"""Stacks as builders speak of them: the order of the layers says how each part is fixed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

from layout3d.scene.complaints import Key, unknown
from layout3d.scene.entries import SceneFile
from layout3d.scene.links import Links
from layout3d.scene.model import FixedTo, Stack
from layout3d.scene.stackforms import PANEL, StackEntry, TurnedLayer
from layout3d.scene.values import split_reference
from shapes.bounds import part_span
from shapes.part import Part
from shapes.patterns import row_centres
from shapes.pose import IDENTITY

Side: TypeAlias = Literal["inside", "outside"]


class StackError(ValueError):
    """Layers that do not go together. ``at``: the number of the layer, or the stack's key."""

    def __init__(self, message: str, at: int | str) -> None:
        super().__init__(message)
        self.at = at


@dataclass(frozen=True, slots=True)
class _Layer:
    """One part, or several side by side. ``row``: written as a list or with ``count``."""

    names: tuple[str, ...]
    row: bool
    flip: bool
    key: Key


@dataclass(frozen=True, slots=True)
class Stacked:
    """The stacks of a scene and how each of their parts is fixed."""

    stacks: dict[str, Stack]
    seats: dict[str, FixedTo]


def stacked(entries: SceneFile, counted: Mapping[str, tuple[str, ...]], links: Links) -> Stacked:
    """Every stack taken apart; complaints where an order cannot be followed.

    counted : name of an entry with ``count`` -> the parts it stands for
    """
    done = Stacked({}, {})
    taken: dict[str, Key] = {}
    for name, entry in entries.stacks.items():
        mount = links.mount(entry.on, ("stacks", name, "on"))
        layers = _layers(name, entry, counted, links)
        sound = mount is not None and layers is not None
        if mount is not None and mount.kind != "fan":
            host = links.parts[split_reference(entry.on)[0]]
            fans = [each for each, found in host.mounts.items() if found.kind == "fan"]
            message = f"a stack hangs on a fan mount, {entry.on} takes a {mount.kind!r}"
            links.complaints.add(
                ("stacks", name, "on"), f"{message}; it has {', '.join(fans) or 'none'}", fans
            )
            sound = False
        for layer in layers or ():
            sound &= _is_free(layer, entries, taken, links)
        if sound and layers is not None:
            stack = done.stacks[name] = _stack(name, entry, layers)
            try:
                done.seats.update(stack_seats(stack, links.parts))
            except StackError as error:
                at = layers[error.at].key if isinstance(error.at, int) else ("stacks", name, error.at)
                links.complaints.add(at, str(error))
    _check_placed(counted, taken, links)
    return done


def stack_seats(stack: Stack, parts: Mapping[str, Part]) -> dict[str, FixedTo]:
    """How each part of a stack is fixed: the outermost and innermost next to the sheet to the mount,
    all others to the layer before.

    StackError where the layers do not go together.
    """
    return _Chains(stack, parts).seats()


def blows(part: Part) -> bool:
    """Whether a part is a fan: it has the airflow arrow's two ends, ``inlet`` and ``outlet``."""
    return all(name in part.mounts and part.mounts[name].kind == "fan" for name in ("inlet", "outlet"))


def _stack(name: str, entry: StackEntry, layers: Sequence[_Layer]) -> Stack:
    return Stack(
        name,
        entry.on,
        entry.air,
        entry.order.index(PANEL) if PANEL in entry.order else None,
        tuple(layer.names for layer in layers),
        tuple(layer.row for layer in layers),
        tuple(layer.flip for layer in layers),
        entry.row,
        entry.slide,
        entry.turn,
    )


def _layers(
    name: str, entry: StackEntry, counted: Mapping[str, tuple[str, ...]], links: Links
) -> list[_Layer] | None:
    """The layers without the panel, None where a name leads nowhere."""
    layers: list[_Layer] = []
    sound, known = True, _known(counted, links)
    for at, item in enumerate(entry.order):
        key: Key = ("stacks", name, "order", at)
        if item == PANEL:
            if at != entry.order.index(PANEL):
                links.complaints.add(key, f"{PANEL!r} stands here twice: the mount has one sheet")
            continue
        flip = isinstance(item, TurnedLayer) and item.flip
        words = item if isinstance(item, tuple) else (item.part if isinstance(item, TurnedLayer) else item,)
        for word in words:
            if word not in counted and word not in links.names.parts:
                links.complaints.add(key, unknown("part", word, (PANEL, *known)), (PANEL, *known))
                sound = False
        names = tuple(part for word in words for part in counted.get(word, (word,)))
        layers.append(_Layer(names, isinstance(item, tuple) or words[0] in counted, flip, key))
    if not layers:
        links.complaints.add(("stacks", name, "order"), f"only {PANEL!r} stands here: name its parts too")
    return (
        layers if layers and sound and all(n in links.parts for each in layers for n in each.names) else None
    )


def _known(counted: Mapping[str, tuple[str, ...]], links: Links) -> tuple[str, ...]:
    clones = {clone for clones in counted.values() for clone in clones}
    return (*counted, *(name for name in links.names.parts if name not in clones))


def _is_free(layer: _Layer, entries: SceneFile, taken: dict[str, Key], links: Links) -> bool:
    """Complain of parts that something else places too."""
    sound = True
    for name in layer.names:
        if name in taken:
            line = links.complaints.line(*taken[name])
            links.complaints.add(
                layer.key, f"{name} stands in a stack already, line {line}: a part has one place"
            )
            sound = False
        taken.setdefault(name, layer.key)
        for word in ("fixed_to", "at", "rotate", "off"):
            if word in entries.parts[name].model_fields_set:
                links.complaints.add(
                    ("parts", name, word), f"`{word}` and a stack both place {name}: keep one of them"
                )
                sound = False
    return sound


def _check_placed(counted: Mapping[str, tuple[str, ...]], taken: Mapping[str, Key], links: Links) -> None:
    """Complain of entries with ``count`` that would all stand in one place."""
    for base, names in counted.items():
        if len(names) > 1 and not any(name in taken for name in names):
            links.complaints.add(
                ("parts", base, "count"),
                f"{len(names)} parts in one place: name {base} in the `order` of a stack, "
                "or write an entry for each",
            )


class _Chains:
    """How the parts of one stack hang one on another, from its sheet both ways."""

    def __init__(self, stack: Stack, parts: Mapping[str, Part]) -> None:
        self.stack, self.parts = stack, parts

    def seats(self) -> dict[str, FixedTo]:
        """How each part is fixed; StackError where the layers do not go together."""
        outside, every = self.stack.outside, range(len(self.stack.layers))
        seats: dict[str, FixedTo] = {}
        chains: tuple[tuple[Side, Sequence[int]], ...] = (
            ("outside", every[:outside][::-1]),
            ("inside", every[outside:]),
        )
        for side, chain in chains:
            below: int | None = None
            for layer in chain:
                nears = [self._faces(part, layer, side)[0] for part in self.stack.layers[layer]]
                if below is None:
                    seats |= self._on_sheet(layer, nears, side)
                else:
                    seats |= self._on_layer(below, layer, nears, side)
                below = layer
        return seats

    def _faces(self, name: str, layer: int, side: Side) -> tuple[str, str]:
        """The part's mounts toward the sheet and away from it."""
        part = self.parts[name]
        whole = {m: mount for m, mount in part.mounts.items() if mount.kind == "fan" and not mount.row_of}
        outer = next((m for m, mount in whole.items() if mount.opposite in whole), None)
        if outer is None:
            raise StackError(
                f"{name} has no two fan faces: radiators, fans, shrouds, grilles, filters, gaskets stack",
                layer,
            )
        if blows(part):
            if self.stack.air is None:
                raise StackError(f"which way does {name} blow? say `air: intake` or `air: exhaust`", layer)
            outer = "outlet" if self.stack.air == "exhaust" else "inlet"
        inner = whole[outer].opposite
        if self.stack.flipped[layer]:
            outer, inner = inner, outer
        return (outer, inner) if side == "inside" else (inner, outer)

    def _places(self, name: str, face: str) -> list[str]:
        """The part's mounts for one fan each on this face."""
        return [m for m, mount in self.parts[name].mounts.items() if mount.row_of == face]

    def _on_sheet(self, layer: int, nears: list[str], side: Side) -> dict[str, FixedTo]:
        stack, names = self.stack, self.stack.layers[layer]
        offsets = self._offsets(names) if stack.in_rows[layer] else [0.0]
        back = abs(stack.turn % 360.0 - 180.0) < 1e-9
        if any(offsets) and not back and stack.turn % 360.0:
            raise StackError(
                f"turn {stack.turn:g}: parts side by side run along the mount's slots; 0 or 180 degrees",
                "turn",
            )
        return {
            part: FixedTo(
                mount=stack.mount,
                by=near,
                row=stack.row,
                slide=stack.slide + (-offset if back else offset),
                side=side,
                turn=stack.turn,
            )
            for part, near, offset in zip(names, nears, offsets, strict=True)
        }

    def _offsets(self, names: tuple[str, ...]) -> list[float]:
        """Middles of the parts of a row [mm]: as the stack's radiator spaces them, else flush."""
        for other, in_row in zip(self.stack.layers, self.stack.in_rows, strict=True):
            part = self.parts[other[0]]
            for face in dict.fromkeys(mount.row_of for mount in part.mounts.values() if mount.row_of):
                xs = [float(part.mounts[m].mount2part.origin[0]) for m in self._places(other[0], face)]
                if not in_row and len(xs) >= len(names):
                    return xs[: len(names)]
        spans = (part_span(self.parts[name], IDENTITY, IDENTITY.x_axis) for name in names)
        return list(row_centres(len(names), max(high - low for low, high in spans)))

    def _on_layer(self, below: int, layer: int, nears: list[str], side: Side) -> dict[str, FixedTo]:
        names, hosts = self.stack.layers[layer], self.stack.layers[below]
        fars = [self._faces(name, below, side)[1] for name in hosts]
        first, host, many = names[0], hosts[0], self.stack.in_rows
        if not many[below] and not many[layer]:
            places = len(self._places(host, fars[0]))
            if places > 1 and not self._places(first, nears[0]):
                raise StackError(
                    f"{host} has places for {places} fans and {first} is one: write `count: {places}` in its "
                    f"entry, or [{first}] to fill the first place only",
                    layer,
                )
            return {first: FixedTo(mount=f"{host}.{fars[0]}", by=nears[0])}
        if not many[below]:
            single = self._places(host, fars[0]) or fars
            return self._each(layer, nears, [f"{host}.{place}" for place in single], host)
        if many[layer]:
            tops = [f"{name}.{far}" for name, far in zip(hosts, fars, strict=True)]
            return self._each(layer, nears, tops, f"the layer of {host}")
        places_of = self._places(first, nears[0]) or nears
        if len(places_of) < len(hosts):
            raise StackError(
                f"{first} has {len(places_of)} places for fans, the layer of {host} has {len(hosts)} parts",
                layer,
            )
        return {first: FixedTo(mount=f"{host}.{fars[0]}", by=places_of[0])}

    def _each(self, layer: int, nears: list[str], hosts: list[str], what: str) -> dict[str, FixedTo]:
        names = self.stack.layers[layer]
        if len(names) > len(hosts):
            raise StackError(f"{len(names)} parts side by side, {what} has room for {len(hosts)}", layer)
        pairs = zip(names, nears, hosts, strict=False)
        return {part: FixedTo(mount=host, by=near) for part, near, host in pairs}
