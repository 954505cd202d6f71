"""One part fixed to a mount of another: which holes meet, and the pose that follows.

The guest's mount frame is turned over onto the host's: x axes together, y and z opposite.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from layout3d.placing.footprint import overhangs, slides_held, slides_on
from layout3d.scene.model import FixedTo
from shapes.part import Hole, Mount, Part
from shapes.pose import IDENTITY, TURNED_OVER, Array, Pose, about_z, compose

#: How far two screw holes may be out of line: twice the play of a 4 mm screw in a 4.5 mm
#: hole, one hole on each side (common practice, no source).
HOLE_PLAY_MM = 0.5
#: A clamp and the tube it holds differ by no more, or it is not held.
_ROUND_PLAY_MM = 1e-6


class MountError(ValueError):
    """A mount that cannot fit; the message names both patterns. ``choices`` may be empty."""

    def __init__(self, message: str, key: str = "mount", choices: Iterable[str] = ()) -> None:
        super().__init__(message)
        self.key = key
        self.choices = tuple(choices)


@dataclass(frozen=True, slots=True)
class Mounted:
    """A guest on its host: the pose, and which mount of the guest was used."""

    guest2host: Pose
    by: str
    row: str


def mounted(guest: Part, fixed: FixedTo, host: Part) -> Mounted:
    """The guest's pose in the host's frame.

    Raises MountError where no mount of the guest is of the host mount's kind, the hole
    patterns differ, or the slide leaves the slots.
    """
    mount = host.mounts[fixed.place]
    _check_on_surface(mount, fixed)
    _check_in_slot(mount, fixed)
    rows = _chosen_rows(mount, fixed)
    names = _candidates(guest, fixed, mount)
    _check_round(guest, names[0], mount, fixed)
    failures: list[str] = []
    for name in names:
        for row, pattern in rows.items():
            for guest_pattern in guest.mounts[name].rows.values():
                failure = _misfit(guest_pattern, pattern, fixed)
                if failure is None:
                    guest2host = _guest2host(guest.mounts[name], fixed, mount)
                    _check_foot(guest, guest.mounts[name], guest2host, mount, fixed)
                    _check_held(guest, name, guest2host, mount, fixed)
                    return Mounted(guest2host, name, row)
                failures.append(failure)
    slid = [failure for failure in failures if failure.startswith("slide")]
    if slid:
        raise MountError(slid[0], "slide")
    raise MountError(failures[0] + _other_row(guest, names, mount, fixed), "row" if fixed.row else "mount")


def _check_in_slot(mount: Mount, fixed: FixedTo) -> None:
    """MountError where what goes into a slot is turned in it or held out of it."""
    if not mount.engagement:
        return
    for key, value, unit in (("turn", fixed.turn % 360.0, "degrees"), ("lift", fixed.lift, "mm")):
        if value:
            raise MountError(
                f"{key} {value:g} {unit}: what goes into a slot stands straight and goes home", key
            )


def _check_round(guest: Part, name: str, mount: Mount, fixed: FixedTo) -> None:
    """MountError where a clamp is made for another tube than the one it is to hold, or off its axis."""
    if mount.round_mm is None:
        return
    for key, value in (("shift", fixed.shift), ("lift", fixed.lift)):
        if value:
            raise MountError(f"{key} {value:g} mm: a clamp and its tube share one axis; use `slide`", key)
    own = guest.mounts[name].round_mm
    if own is not None and abs(own - mount.round_mm) > _ROUND_PLAY_MM:
        raise MountError(f"this part's {name} is {own:g} mm round, the mount {mount.round_mm:g} mm")


def slides(guest: Part, fixed: FixedTo, host: Part) -> tuple[tuple[float, float], ...]:
    """Slides [mm] the slots or the surface allow this guest, without the holes' play; none where
    it does not fit at any, the one it has where neither slots nor surface bound it.
    """
    mount = host.mounts[fixed.place]
    if mount.surface is not None:
        by = guest.mounts[_candidates(guest, fixed, mount)[0]]
        low, high = slides_on(guest, by, _guest2host(by, fixed, mount), mount, fixed.slide)
        return ((low, high),) if low <= high else ()
    by = guest.mounts[_candidates(guest, fixed, mount)[0]]
    held = slides_held(by, _guest2host(by, fixed, mount), mount, fixed.slide)
    if held is not None and not any((*by.rows.values(), *mount.rows.values())):
        return (held,) if held[0] <= held[1] else ()
    spans: list[tuple[float, float]] = []
    for name in _candidates(guest, fixed, mount):
        for pattern in _chosen_rows(mount, fixed).values():
            for own in guest.mounts[name].rows.values():
                spans += (
                    _shown(_free(own, pattern, fixed)) if own and pattern else [(fixed.slide, fixed.slide)]
                )
        if spans:
            break
    return tuple(_merged(spans))


def _other_row(guest: Part, names: list[str], mount: Mount, fixed: FixedTo) -> str:
    """What would fit: a place of the guest for one fan, another row of the mount; else its rows."""
    single = [
        name
        for name, own in guest.mounts.items()
        if own.row_of and own.kind == mount.kind and fixed.by is None
        if any(_misfit(a, b, fixed) is None for a in own.rows.values() for b in mount.rows.values())
    ]
    if single:
        return f"; its place for one fan fits: say `by: {single[0]}` ({', '.join(single)})"
    named = {row: pattern for row, pattern in mount.rows.items() if row and row != fixed.row}
    fitting = [
        row
        for row, pattern in named.items()
        for name in names
        for own in guest.mounts[name].rows.values()
        if _misfit(own, pattern, fixed) is None
    ]
    if fitting:
        return f"; its row {fitting[0]} would fit"
    return "".join(f"; its row {row} has {described(pattern)}" for row, pattern in named.items())


def _check_on_surface(mount: Mount, fixed: FixedTo) -> None:
    if mount.surface is None:
        return
    (x0, y0), (x1, y1) = mount.surface
    for key, value, low, high in (("slide", fixed.slide, x0, x1), ("shift", fixed.shift, y0, y1)):
        if not low - 1e-9 <= value <= high + 1e-9:
            raise MountError(
                f"{key} {value:g} mm is beyond the surface it stands on; "
                f"{low:.4g} to {high:.4g} mm is possible",
                key,
            )


def _check_foot(guest: Part, by: Mount, guest2host: Pose, mount: Mount, fixed: FixedTo) -> None:
    for overhang in overhangs(guest, by, guest2host, mount, (fixed.slide, fixed.shift)):
        raise MountError(str(overhang), overhang.key)


def _check_held(guest: Part, name: str, guest2host: Pose, mount: Mount, fixed: FixedTo) -> None:
    """MountError where what holds the guest lies off the face it is held by."""
    held = slides_held(guest.mounts[name], guest2host, mount, fixed.slide)
    if held is None or held[0] - 1e-9 <= fixed.slide <= held[1] + 1e-9:
        return
    message = f"slide {fixed.slide:g} mm: this part's {name} lies off what is to hold it"
    if held[0] <= held[1]:
        message += f"; {held[0]:.4g} to {held[1]:.4g} mm is possible"
    raise MountError(message, "slide")


def _guest2host(guest_mount: Mount, fixed: FixedTo, mount: Mount) -> Pose:
    seat = about_z(fixed.turn).shifted((fixed.slide, fixed.shift, fixed.lift))
    return compose(
        guest_mount.mount2part.inverse, TURNED_OVER, seat, _side2mount(fixed, mount), mount.mount2part
    )


def _side2mount(fixed: FixedTo, mount: Mount) -> Pose:
    if fixed.side == "inside":
        return IDENTITY
    if mount.sheet <= 0.0:
        raise MountError("this mount is not on a sheet, it has no outside", "side", ("inside",))
    return Pose(TURNED_OVER.rotation, _along_z(-mount.sheet))


def _along_z(distance: float) -> Array:
    return about_z(0.0).shifted((0.0, 0.0, distance)).origin


def _chosen_rows(mount: Mount, fixed: FixedTo) -> Mapping[str, tuple[Hole, ...]]:
    if fixed.row is None:
        return mount.rows
    if fixed.row not in mount.rows:
        named = [row for row in mount.rows if row]
        have = ", ".join(named) if named else "no rows"
        raise MountError(f"unknown row {fixed.row!r}; it has {have}", "row", named)
    return {fixed.row: mount.rows[fixed.row]}


def _candidates(guest: Part, fixed: FixedTo, mount: Mount) -> list[str]:
    """Mounts of the guest that may meet this one, in the shape's order.

    Single places in a row (a radiator's for one fan) are for what stands on it; the part itself
    is fixed by one only where ``by`` says so.
    """
    if fixed.by is not None and fixed.by not in guest.mounts:
        have = ", ".join(guest.mounts) or "none"
        raise MountError(f"unknown mount {fixed.by!r} on this part; it has {have}", "by", guest.mounts)
    whole = [name for name, own in guest.mounts.items() if not own.row_of]
    names = [fixed.by] if fixed.by is not None else whole
    fitting = [name for name in names if guest.mounts[name].kind == mount.kind]
    if not fitting:
        kinds = sorted({guest.mounts[name].kind for name in names}) or ["none"]
        raise MountError(
            f"this mount takes a part with a {mount.kind!r} mount, this one has {', '.join(kinds)} "
            "(`layout3d shapes` tells which options give others)",
            "by" if fixed.by is not None else "mount",
        )
    if fixed.flip:
        flipped = [guest.mounts[name].opposite for name in fitting if guest.mounts[name].opposite]
        if not flipped:
            raise MountError("this part has no mount on its other face, it cannot be flipped", "flip")
        return flipped
    return fitting


def _misfit(guest: tuple[Hole, ...], host: tuple[Hole, ...], fixed: FixedTo) -> str | None:
    """Why the guest's holes do not meet the host's, or None where they do."""
    if not host or not guest:
        return None
    if fixed.shift:
        return f"shift {fixed.shift:g} mm: this mount has holes, only `slide` moves a part along them"
    free = _free(guest, host, fixed)
    if any(low - 1e-9 <= fixed.slide <= high + 1e-9 for low, high in free):
        return None
    if not free:
        return f"hole patterns differ: this part has {described(guest)}, the mount has {described(host)}"
    spans = " or ".join(f"{low:g} to {high:g} mm" for low, high in _shown(free))
    return (
        f"slide {fixed.slide:g} mm is beyond the slots, {spans} is possible: "
        f"this part has {described(guest)}, the mount has {described(host)}"
    )


def _free(guest: tuple[Hole, ...], host: tuple[Hole, ...], fixed: FixedTo) -> list[tuple[float, float]]:
    """Slides at which every hole of the guest meets one of the host, their play included."""
    free = [(-math.inf, math.inf)]
    for x, y in (_seen_from_host(hole, fixed) for hole in guest):
        free = _both(free, _travel(x, y, host, fixed))
    return free


def _seen_from_host(hole: Hole, fixed: FixedTo) -> tuple[float, float]:
    x, y = hole.at
    seen = about_z(fixed.turn).turn((x, -y, 0.0))  # type: ignore[arg-type]
    return float(seen[0]), float(seen[1])


def _travel(x: float, y: float, host: tuple[Hole, ...], fixed: FixedTo) -> list[tuple[float, float]]:
    """Slides [mm] at which one guest hole meets some hole of the host, as sorted intervals."""
    sign = -1.0 if fixed.side == "outside" else 1.0
    spans = []
    for hole in host:
        if abs(sign * hole.at[1] - y) <= HOLE_PLAY_MM + 1e-9:
            reach = hole.slot / 2.0 + HOLE_PLAY_MM
            spans.append((hole.at[0] - reach - x, hole.at[0] + reach - x))
    return _merged(spans)


def _merged(spans: Iterable[tuple[float, float]]) -> list[tuple[float, float]]:
    merged: list[tuple[float, float]] = []
    for low, high in sorted(spans):
        if merged and low <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(high, merged[-1][1]))
        else:
            merged.append((low, high))
    return merged


def _both(first: list[tuple[float, float]], second: list[tuple[float, float]]) -> list[tuple[float, float]]:
    overlaps = ((max(a, c), min(b, d)) for a, b in first for c, d in second)
    return [(low, high) for low, high in overlaps if low <= high + 1e-9]


def _shown(spans: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Spans without the holes' play, so that what is offered also leaves the screws centred."""
    shown = []
    for low, high in spans:
        middle = (low + high) / 2.0
        low, high = min(low + HOLE_PLAY_MM, middle), max(high - HOLE_PLAY_MM, middle)
        shown.append((round(low, 3) + 0.0, round(high, 3) + 0.0))
    return shown


def described(pattern: tuple[Hole, ...]) -> str:
    """A hole pattern in words: count, overall spacing and slot travel."""
    xs = [hole.at[0] for hole in pattern]
    ys = [hole.at[1] for hole in pattern]
    noun = "hole" if len(pattern) == 1 else "holes"
    slot = max(hole.slot for hole in pattern)
    words = f"{len(pattern)} {noun} {max(xs) - min(xs):g} x {max(ys) - min(ys):g} mm apart"
    return f"{words} in slots with {slot:g} mm of travel" if slot else words
