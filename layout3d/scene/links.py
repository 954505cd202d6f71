"""What entries say about each other: names that must lead somewhere, and keys that must agree."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from layout3d.scene.complaints import Complaints, Key, unknown
from layout3d.scene.entries import PartEntry, SceneFile
from layout3d.scene.model import FixedTo
from layout3d.scene.values import PortRef, split_reference
from shapes.part import Mount, Part
from shapes.pose import DIRECTIONS
from shapes.screwed import is_port_seat

#: Derived fittings of a tube's end, the first and those screwed on it.
_FITTING = r"(from|to)_fitting(_([2-9]|[1-9]\d+))?"
#: Longer than any build's; it keeps what follows the chain from running too deep.
_LONGEST_CHAIN = 60


@dataclass(frozen=True, slots=True)
class Names:
    """All names written in the file, those of faulty entries too."""

    parts: tuple[str, ...]
    tubes: tuple[str, ...]
    tubings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Links:
    """Follows names to parts, ports and mounts, and complains where they end."""

    parts: Mapping[str, Part]
    names: Names
    complaints: Complaints

    def part(self, name: str, key: Key) -> Part | None:
        """The part of this name; None where there is none, or a faulty one that has its complaint."""
        if name not in self.names.parts:
            self.complaints.add(key, unknown("part", name, self.names.parts), self.names.parts)
        return self.parts.get(name)

    def port(self, ref: PortRef, key: Key) -> None:
        """Complain of a port that is not there."""
        part = self.part(ref.part, key)
        if part is not None and ref.port not in part.ports:
            self.complaints.add(key, unknown("port", ref.port, part.ports, ref.part), part.ports)

    def mount(self, reference: str, key: Key) -> Mount | None:
        """The mount a reference names."""
        name, mount = split_reference(reference)
        part = self.part(name, key)
        if part is None:
            return None
        if mount not in part.mounts:
            self.complaints.add(key, unknown("mount", mount, part.mounts, name), part.mounts)
        return part.mounts.get(mount)

    def touched(self, names: tuple[str, ...], key: Key, own: str) -> None:
        """Complain of names in ``touches`` that are no part, tube or fitting."""
        known = (*self.names.parts, *self.names.tubes)
        for at, name in enumerate(names):
            tube, _, end = name.partition(".")
            if name == own:
                self.complaints.add((*key, at), f"{own!r} names itself here: name the part it touches")
            elif name not in known and not (tube in self.names.tubes and re.fullmatch(_FITTING, end)):
                self.complaints.add((*key, at), unknown("part", name, known), known)


def check_parts(entries: SceneFile, links: Links, seats: Mapping[str, FixedTo]) -> None:
    """Complain of what places parts and cannot be: unknown hosts, two ways to place one, circles.

    seats : how stacks fix their parts
    """
    for name, entry in entries.parts.items():
        key: Key = ("parts", name)
        links.touched(entry.touches, (*key, "touches"), name)
        if (seat := entry.seat()) is not None:
            _check_fixed(name, entry, seat, links)
        for at, line in enumerate(entry.off):
            _check_face(line.face, (*key, "off", at, "face"), links)
    hosts = {name: _hosts(entry, seats.get(name)) for name, entry in entries.parts.items()}
    _check_circles(hosts, links.complaints)


def _check_fixed(name: str, entry: PartEntry, fixed: FixedTo, links: Links) -> None:
    key: Key = ("parts", name)
    for other, instead in (("at", "`slide`"), ("rotate", "`turn` or `flip`"), ("off", "`slide` or `lift`")):
        if other in entry.model_fields_set:
            links.complaints.add(
                (*key, other),
                f"`fixed_to` and `{other}` both place the part: keep one ({instead} moves it there)",
            )
    place = (*key, "fixed_to", "mount")
    if not links.complaints.stands(*place):
        place = place[:-1]
    host, own = links.parts.get(fixed.host), links.parts.get(name)
    if host is not None and own is not None and is_port_seat(own, host, fixed.place):
        _check_screwed(name, own, fixed, place, links)
        return
    mount = links.mount(fixed.mount, place)
    if mount is not None and fixed.row is not None and fixed.row not in mount.rows:
        rows = tuple(row for row in mount.rows if row)
        links.complaints.add((*key, "fixed_to", "row"), unknown("row", fixed.row, rows, fixed.mount), rows)
    if fixed.by is not None and own is not None and fixed.by not in own.mounts:
        links.complaints.add(
            (*key, "fixed_to", "by"), unknown("mount", fixed.by, own.mounts, name), own.mounts
        )


def _check_screwed(name: str, own: Part, fixed: FixedTo, place: Key, links: Links) -> None:
    """Complain of a part that cannot be screwed into the port it names."""
    key: Key = ("parts", name, "fixed_to")
    threaded = tuple(port for port in own.ports if own.ports[port].thread is not None)
    if not threaded:
        links.complaints.add(
            place, f"{fixed.mount} is a port: what is screwed into it needs a thread, {name!r} has none"
        )
    elif fixed.by is not None and fixed.by not in threaded:
        links.complaints.add((*key, "by"), unknown("threaded port", fixed.by, threaded, name), threaded)
    for word in ("row", "slide", "shift", "side", "flip", "lift"):
        if word in fixed.model_fields_set:
            links.complaints.add(
                (*key, word),
                f"{fixed.mount} is a port: `{word}` is for mounts; `turn` rolls a part on its thread",
            )


def _check_face(face: str, key: Key, links: Links) -> None:
    name, side = split_reference(face)
    part = links.part(name, key)
    if part is not None and side not in DIRECTIONS and side not in part.mounts:
        choices = (*part.mounts, *DIRECTIONS)
        links.complaints.add(key, unknown("face", side, choices, name), choices)


def _check_circles(hosts: Mapping[str, list[str]], complaints: Complaints) -> None:
    """Complain of parts that are placed by each other in a circle, or along an endless chain."""
    done: set[str] = set()

    def visit(name: str, way: list[str]) -> None:
        if name in way:
            circle = way[way.index(name) :]
            complaints.add(
                ("parts", circle[0]),
                f"{' -> '.join((*circle, name))}: each is fixed to or measured off the next, "
                "so none has a place; give one of them `at`",
            )
        elif len(way) > _LONGEST_CHAIN:
            many = f"more than {_LONGEST_CHAIN} parts hang one on another from here"
            complaints.add(("parts", way[0]), f"{many}: give one of them `at`")
        elif name in hosts and name not in done:
            for host in hosts[name]:
                visit(host, [*way, name])
            done.add(name)

    for name in hosts:
        visit(name, [])


def _hosts(entry: PartEntry, stacked: FixedTo | None) -> list[str]:
    hosts = [line.host for line in entry.off]
    hosts += [seat.host for seat in (entry.seat(), stacked) if seat is not None]
    return list(dict.fromkeys(hosts))
