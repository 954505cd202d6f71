"""How solids, rooms and mouths follow the unknown lengths: learnt from builds, and verified on others.

Positions and sizes are sums and differences of lengths, so they follow in proportion. That is not
taken on trust: the scene is built at both ends of each length and at joint places, and what does not
follow in proportion there to 1e-9 mm is refused.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from layout3d.errors import Problem, SceneErrors
from layout3d.kernels.bodies import body
from layout3d.kernels.pieces import Bools, Pieces
from layout3d.kernels.sweep import hulls
from layout3d.layout import Layout
from layout3d.placing.place import TubeEnds
from layout3d.scene.complaints import key_text
from layout3d.tolerance.plates import alike, plate_figures
from layout3d.tolerance.unknowns import Unknowns
from shapes.part import Solid, Zone
from shapes.pose import Array, Pose, compose
from shapes.primitives import Plate, Primitive

#: How far a build may lie off what follows from the others [mm].
_PROPORTION_MM = 1e-9
#: What must not change at all (directions, angles) may differ by rounding.
_FIXED = 1e-9
#: Name of what follows: ("solid", owner, n), ("zone", owner, n), ("mouth", tube, end), ("joint", a, b).
What = tuple[str, str, int | str]


@dataclass(frozen=True, slots=True, eq=False)
class Slopes:
    """How one body follows each of N lengths [mm per mm].

    shift : (N, 3) of where it stands; zeros where its cells tell that
    corners, rise, radius : (N, C, K, 3), (N, C, 3), (N, C) of its C cells; None for one that keeps its form
    plate : (N, F) of a plate's figures, see ``layout3d.tolerance.plates``
    """

    shift: Array
    corners: Array | None = None
    rise: Array | None = None
    radius: Array | None = None
    plate: Array | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Following:
    """What a scene's unknown lengths do.

    bodies : slopes of every solid and zone that follows any; the others stand still
    mouths : (N, 3) slopes of (tube, end)
    engaged : (N,) slopes of the engagement of a joint (first, second)
    """

    bodies: dict[What, Slopes]
    mouths: dict[tuple[str, int], Array]
    engaged: dict[tuple[str, str], Array]


def following(unknowns: Unknowns) -> Following:
    """Learn it from builds at the ends of each length, verify it on joint ones.

    SceneErrors for a length the scene cannot be built with, or that something follows out of proportion.
    """
    offsets = unknowns.samples()
    nominal = _stand(*unknowns.built(np.zeros(len(unknowns))))
    built = [_stand(*unknowns.built(offset)) for offset in offsets]
    learner = _Learner(unknowns, offsets)
    if any(other := [stand.names != nominal.names for stand in built]):
        learner.refuse(("solid", "", 0), other)
    bodies: dict[What, Slopes] = {}
    for what, (primitive, pose) in nominal.bodies.items():
        states = [stand.bodies.get(what) for stand in built]
        if (slopes := learner.body(what, primitive, pose, states)) is not None:
            bodies[what] = slopes
    mouths: dict[tuple[str, int], Array] = {}
    for end, mouth in nominal.mouths.items():
        frames = [stand.mouths[end] for stand in built]
        if any(_turned(mouth, frame) for frame in frames):
            learner.refuse(("mouth", *end), [_turned(mouth, frame) for frame in frames])
        moved = np.array([frame.origin for frame in frames])
        if (found := learner.slopes(("mouth", *end), mouth.origin, moved)) is not None:
            mouths[end] = found
    engaged: dict[tuple[str, str], Array] = {}
    for pair, depth in nominal.engaged.items():
        depths = np.array([[stand.engaged.get(pair, np.nan)] for stand in built])
        if (found := learner.slopes(("joint", *pair), np.array([depth]), depths)) is not None:
            engaged[pair] = found[:, 0]
    return Following(bodies, mouths, engaged)


@dataclass(frozen=True, slots=True, eq=False)
class _Stand:
    """One build, by name. ``names``: all of it in order; nothing may come or go within the tolerances."""

    names: tuple[str, ...]
    bodies: dict[What, tuple[Primitive, Pose]]
    mouths: dict[tuple[str, int], Pose]
    engaged: dict[tuple[str, str], float]


def _stand(layout: Layout, ends: dict[str, TubeEnds]) -> _Stand:
    bodies: dict[What, tuple[Primitive, Pose]] = {}
    for part in layout.parts.values():
        for n, solid in enumerate(part.part.solids):
            bodies["solid", part.name, n] = solid.primitive, compose(solid.solid2part, part.part2scene)
        for n, zone in enumerate(part.part.zones):
            bodies["zone", part.name, n] = zone.primitive, compose(zone.zone2part, part.part2scene)
    mouths = {(tube, n): end.mouth for tube, pair in ends.items() for n, end in enumerate(pair)}
    engaged = {(joint.first, joint.second): joint.engagement for joint in layout.joints}
    parts = layout.parts.values()
    names = [
        name
        for part in parts
        for each in (part.part.solids, part.part.zones)
        for name in _names(part.name, each)
    ]
    return _Stand((*names, *map(str, engaged)), bodies, mouths, engaged)


def _names(owner: str, things: Sequence[Solid] | Sequence[Zone]) -> Iterator[str]:
    return (f"{owner} ({thing.name})" for thing in things)


def _turned(before: Pose, after: Pose) -> bool:
    return bool(np.abs(before.rotation - after.rotation).max() > _FIXED)


class _Learner:
    def __init__(self, unknowns: Unknowns, offsets: Array) -> None:
        self._unknowns, self._offsets = unknowns, offsets
        alone = np.count_nonzero(offsets, axis=1) == 1
        reach = np.where(alone[:, None], np.abs(offsets), 0.0)
        #: of each length the build that moves it furthest, alone
        self._told_by = reach.argmax(axis=0)

    def slopes(self, what: What, before: Array, after: Array) -> Array | None:
        """Slopes (N, D) of figures (D,) that are (M, D) in the builds; None where they stay as they are."""
        found, off = self._fitted(before, after)
        if off.any():
            self.refuse(what, off.tolist())
        return found if found.any() else None

    def _fitted(self, before: Array, after: Array) -> tuple[Array, Bools]:
        """Slopes (N, D), zeros where all stays as it is, and which builds (M,) lie off them."""
        change = after - before
        if np.abs(change).max(initial=0.0) <= _PROPORTION_MM:
            return np.zeros((len(self._unknowns), before.size)), np.zeros(len(after), dtype=bool)
        steps = self._offsets[self._told_by, np.arange(len(self._unknowns))]
        found: Array = change[self._told_by] / steps[:, None]
        found[np.abs(found * steps[:, None]) < 1e-12] = 0.0
        off = np.abs(self._offsets @ found - change)
        return found, ~(off.max(axis=1) <= _PROPORTION_MM)

    def body(
        self, what: What, primitive: Primitive, pose: Pose, states: list[tuple[Primitive, Pose] | None]
    ) -> Slopes | None:
        """Slopes of a solid; None where it stands still."""
        lost = [state is None or _turned(pose, state[1]) for state in states]
        if any(lost):
            self.refuse(what, lost)
        sure = [state for state in states if state is not None]
        if all(state[0] is primitive or state[0] == primitive for state in sure):
            shift = self.slopes(what, pose.origin, np.array([state[1].origin for state in sure]))
            return None if shift is None else Slopes(shift)
        if isinstance(primitive, Plate):
            if any(other := [not alike(primitive, state[0]) for state in sure]):
                self.refuse(what, other)
            figures = [plate_figures(*state) for state in sure]  # type: ignore[arg-type]
            plate = self.slopes(what, plate_figures(primitive, pose), np.array(figures))
            return None if plate is None else Slopes(plate[:, :3], plate=plate)
        cells = hulls(body(primitive, pose).pieces)
        others = [hulls(body(*state).pieces) for state in sure]
        off = np.array([_other_form(cells, other) for other in others])
        found = np.zeros(0)
        if not off.any():
            found, off = self._fitted(_figures(cells), np.array([_figures(other) for other in others]))
        if off.any():
            self.refuse(what, off.tolist())
        count, most = cells.corners.shape[:2]
        corners, rise, radius = np.split(found, np.cumsum([count * most * 3, count * 3]), axis=1)
        nowhere = np.zeros((len(self._unknowns), 3))
        return Slopes(nowhere, corners.reshape(-1, count, most, 3), rise.reshape(-1, count, 3), radius)

    def refuse(self, what: What, where: list[bool]) -> None:
        """SceneErrors at the length that does not let ``what`` follow in proportion."""
        unknowns = self._unknowns
        row = self._offsets[where.index(True)]
        n = int(np.abs(row / np.maximum(unknowns.high, -unknowns.low)).argmax())
        key = unknowns.keys[n]
        raise SceneErrors(
            [
                Problem(
                    unknowns.scene.file,
                    unknowns.scene.places.line(*key),
                    key_text(key),
                    f"{_called(what)} does not follow this length in proportion over its whole tolerance, so "
                    "that nothing can be proved of the builds between: state a smaller tolerance, or check "
                    f"the scene once with {unknowns.nominal[n] + unknowns.low[n]:g} and once with "
                    f"{unknowns.nominal[n] + unknowns.high[n]:g}",
                )
            ]
        )


def _figures(cells: Pieces) -> Array:
    return np.concatenate([cells.corners.ravel(), cells.rise.ravel(), cells.radius])


def _other_form(before: Pieces, after: Pieces) -> bool:
    """Whether two bodies' cells differ in more than corners, rise and radius."""
    for name in _FORM:
        one, other = getattr(before, name), getattr(after, name)
        if one.shape != other.shape or np.abs(one - other).max(initial=0.0) > _FIXED:
            return True
    return before.corners.shape != after.corners.shape


#: What the reach of a cell depends on that must not follow a length; centres and bays do not enter.
_FORM = ("outward", "along", "sweep", "low", "high", "kind")


def _called(what: What) -> str:
    kind, first, second = what
    if not first:
        return "what the scene is made of"
    if kind == "mouth":
        return f"the {('start', 'end')[int(second)]} of tube {first}"
    if kind == "joint":
        return f"how far {second} goes into {first}"
    return f"part {first}" if kind == "solid" else f"the room {first} keeps free"
