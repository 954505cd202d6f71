"""Stacks as builders speak of them: the order of the layers says how each part is fixed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from layout3d.scene.complaints import Key, unknown
from layout3d.scene.entries import SceneFile
from layout3d.scene.links import Links
from layout3d.scene.model import FixedTo, Stack
from layout3d.scene.stackforms import PANEL, StackEntry, TurnedLayer
from shapes.bounds import part_span
from shapes.part import Part
from shapes.patterns import row_centres
from shapes.pose import IDENTITY

Air = str | None


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
            host = links.parts[entry.on.partition(".")[0]]
            fans = [each for each, found in host.mounts.items() if found.kind == "fan"]
            message = f"a stack hangs on a fan mount, {entry.on} takes a {mount.kind!r}"
            links.complaints.add(
                ("stacks", name, "on"), f"{message}; it has {', '.join(fans) or 'none'}", fans
            )
            sound = False
        for layer in layers or ():
            sound &= _is_free(layer, entries, taken, links)
        if sound and layers is not None:
            seats = _Chains(name, entry, layers, links).seats()
            if seats is not None:
                done.seats.update(seats)
            panel = entry.order.index(PANEL) if PANEL in entry.order else None
            done.stacks[name] = Stack(name, entry.on, entry.air, panel, tuple(each.names for each in layers))
    _check_placed(entries, counted, taken, links)
    return done


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


def _check_placed(
    entries: SceneFile, counted: Mapping[str, tuple[str, ...]], taken: Mapping[str, Key], links: Links
) -> None:
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

    def __init__(self, name: str, entry: StackEntry, layers: Sequence[_Layer], links: Links) -> None:
        self.name, self.entry, self.layers, self.links = name, entry, layers, links
        self.sound = True

    def seats(self) -> dict[str, FixedTo] | None:
        """How each part is fixed; None where the layers do not go together."""
        order = self.entry.order
        outside = order.index(PANEL) if PANEL in order else 0
        seats: dict[str, FixedTo] = {}
        for layers, side in ((self.layers[:outside][::-1], "outside"), (self.layers[outside:], "inside")):
            below: _Layer | None = None
            for layer in layers:
                faces = [self._faces(part, layer, side) for part in layer.names]
                if not self.sound:
                    return None
                nears = [near for near, _ in faces]
                if below is None:
                    seats |= self._on_sheet(layer, nears, side)
                else:
                    seats |= self._on_layer(below, layer, nears, side)
                below = layer
        return seats if self.sound else None

    def _refuse(self, key: Key, message: str) -> dict[str, FixedTo]:
        self.links.complaints.add(key, message)
        self.sound = False
        return {}

    def _part(self, name: str) -> Part:
        return self.links.parts[name]

    def _faces(self, name: str, layer: _Layer, side: str) -> tuple[str, str]:
        """The part's mounts toward the sheet and away from it."""
        part = self._part(name)
        whole = {m: mount for m, mount in part.mounts.items() if mount.kind == "fan" and not mount.row_of}
        outer = next((m for m, mount in whole.items() if mount.opposite in whole), None)
        if outer is None:
            self._refuse(
                layer.key,
                f"{name} has no two fan faces: radiators, fans, shrouds, grilles, filters, gaskets stack",
            )
            return "", ""
        if {"inlet", "outlet"} <= whole.keys():
            if self.entry.air is None:
                self._refuse(layer.key, f"which way does {name} blow? say `air: intake` or `air: exhaust`")
            outer = "outlet" if self.entry.air == "exhaust" else "inlet"
        inner = whole[outer].opposite
        if layer.flip:
            outer, inner = inner, outer
        return (outer, inner) if side == "inside" else (inner, outer)

    def _places(self, name: str, face: str) -> list[str]:
        """The part's mounts for one fan each on this face."""
        return [m for m, mount in self._part(name).mounts.items() if mount.row_of == face]

    def _on_sheet(self, layer: _Layer, nears: list[str], side: str) -> dict[str, FixedTo]:
        entry = self.entry
        offsets = self._offsets(layer) if layer.row else [0.0]
        back = abs(entry.turn % 360.0 - 180.0) < 1e-9
        if any(offsets) and not back and entry.turn % 360.0:
            return self._refuse(
                ("stacks", self.name, "turn"),
                f"turn {entry.turn:g}: several parts side by side run along the mount's slots; 0 or 180",
            )
        return {
            part: FixedTo(
                mount=entry.on,
                by=near,
                row=entry.row,
                slide=entry.slide + (-offset if back else offset),
                side="inside" if side == "inside" else "outside",
                turn=entry.turn,
            )
            for part, near, offset in zip(layer.names, nears, offsets, strict=True)
        }

    def _offsets(self, layer: _Layer) -> list[float]:
        """Middles of the parts of a row [mm]: as the stack's radiator spaces them, else flush."""
        for other in self.layers:
            if other.row:
                continue
            part = self._part(other.names[0])
            faces = dict.fromkeys(mount.row_of for mount in part.mounts.values() if mount.row_of)
            for face in faces:
                xs = [float(part.mounts[m].mount2part.origin[0]) for m in self._places(other.names[0], face)]
                if len(xs) >= len(layer.names):
                    return xs[: len(layer.names)]
        spans = (part_span(self._part(name), IDENTITY, IDENTITY.x_axis) for name in layer.names)
        return list(row_centres(len(layer.names), max(high - low for low, high in spans)))

    def _on_layer(self, below: _Layer, layer: _Layer, nears: list[str], side: str) -> dict[str, FixedTo]:
        fars = [self._faces(name, below, side)[1] for name in below.names]
        first, host = layer.names[0], below.names[0]
        if not below.row and not layer.row:
            places = len(self._places(host, fars[0]))
            if places > 1 and not self._places(first, nears[0]):
                return self._refuse(
                    layer.key,
                    f"{host} has places for {places} fans and {first} is one: write `count: {places}` in its "
                    f"entry, or [{first}] to fill the first place only",
                )
            return {first: FixedTo(mount=f"{host}.{fars[0]}", by=nears[0])}
        if not below.row:
            hosts = [f"{host}.{place}" for place in self._places(host, fars[0]) or fars]
            return self._each(layer, nears, hosts, host)
        if layer.row:
            hosts = [f"{name}.{far}" for name, far in zip(below.names, fars, strict=True)]
            return self._each(layer, nears, hosts, f"the layer of {host}")
        places_of = self._places(first, nears[0]) or nears
        if len(places_of) < len(below.names):
            return self._refuse(
                layer.key,
                f"{first} has {len(places_of)} places for fans, the layer of {host} has "
                f"{len(below.names)} parts",
            )
        return {first: FixedTo(mount=f"{host}.{fars[0]}", by=places_of[0])}

    def _each(self, layer: _Layer, nears: list[str], hosts: list[str], what: str) -> dict[str, FixedTo]:
        if len(layer.names) > len(hosts):
            return self._refuse(
                layer.key, f"{len(layer.names)} parts side by side, {what} has room for {len(hosts)}"
            )
        pairs = zip(layer.names, nears, hosts, strict=False)
        return {part: FixedTo(mount=host, by=near) for part, near, host in pairs}
