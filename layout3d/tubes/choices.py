"""Several ways to run one tube, none of them worse in all respects than another."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from layout3d.build import build
from layout3d.checks.crossings import crossings
from layout3d.errors import RequestError
from layout3d.kernels.bodies import body
from layout3d.kernels.measure import measure_pairs
from layout3d.layout import Layout, Tube
from layout3d.scene.complaints import nearest
from layout3d.scene.model import Scene, TubeSpec
from layout3d.scene.paths import AutoPath, CornersPath
from layout3d.scene.splice import splice
from layout3d.tubes.request import Keeping
from layout3d.tubes.room import Room
from layout3d.tubes.route.scenery import scenery
from shapes.pose import IDENTITY, Vec3
from shapes.primitives import TubeRun

#: Runs are asked for that keep this much more than the rule [mm].
_WIDER_MM = (3.0, 6.0)
#: Corners are written to this; a run is measured as it is written.
_DECIMALS = 3
#: Figures nearer to each other than this count as the same [mm].
_SAME_MM = 0.05
_FAR_MM = 50.0

Angles = Literal["45/90", "any"]


@dataclass(frozen=True, slots=True)
class Choice:
    """One way to run the tube, measured as it would be written into the scene.

    angles : which bends it takes
    kept_mm : the least gap to anything but what the tube ends on or may touch, 50 for that much or more
    crosses : tubes it is seen crossing from the window
    """

    corners: tuple[Vec3, ...]
    path_mm: float
    cut_mm: float
    bends: int
    angles: Angles
    kept_mm: float
    crosses: tuple[str, ...]


def choices_of(scene: Scene, name: str) -> tuple[Choice, ...]:
    """The runs of a rigid ``path: auto`` that no other run found betters in every respect.

    The other tubes stay where they are laid. Shortest first. RequestError for a tube that is not in the
    scene, is soft, has its path given, or has no run.
    """
    spec = _asked(scene, name)
    laid = build(scene)
    routed = {tube.name: tube.corners for tube in laid.tubes if _is_rigid_auto(scene, tube.name)}
    fixed = {
        other: replace(scene.tubes[other], path=CornersPath(corners))
        for other, corners in routed.items()
        if other != name and corners is not None
    }
    found = [_rounded(routed[name])]
    for variant in _variants(scene, spec):
        tube = _tube(build(replace(scene, tubes={**scene.tubes, **fixed, name: variant})), name)
        found.append(_rounded(tube.corners))
    fits: list[Choice] = []
    for run in dict.fromkeys(run for run in found if run is not None):
        given = replace(spec, path=CornersPath(run))
        choice = _measured(build(replace(scene, tubes={**scene.tubes, **fixed, name: given})), name)
        if choice is not None:
            fits.append(choice)
    if not fits:
        raise RequestError(f"{name} has no run to choose: {_why(_tube(laid, name))}")
    best = [one for one in fits if not any(_betters(other, one) for other in fits)]
    return tuple(sorted(best, key=lambda one: (one.path_mm, one.bends, -one.kept_mm, one.corners)))


def kept(text: str, scene: Scene, name: str, choice: Choice) -> str:
    """The scene's text with this choice's corners as the tube's path; every other byte stays.

    RequestError where the path is not written in the tube's own entry.
    """
    points = ", ".join(
        f"[{', '.join(f'{value:.{_DECIMALS}f}' for value in corner)}]" for corner in choice.corners
    )
    value = f"[{points}]" if choice.corners else "straight"
    try:
        return splice(text, scene.places, {("tubes", name, "path"): value})
    except KeyError:
        raise RequestError(
            f"tubes.{name} has no `path:` of its own to replace; write `path: auto` there first"
        ) from None
    except ValueError as error:
        raise RequestError(f"the corners cannot be written to tubes.{name}.path: {error}") from None


def chosen(choices: tuple[Choice, ...], number: int) -> Choice:
    """Choice ``number``, counted from 1. RequestError for one there is not."""
    if not 1 <= number <= len(choices):
        listed = "1" if len(choices) == 1 else f"1 to {len(choices)}"
        raise RequestError(f"--keep {number}: choose {listed}")
    return choices[number - 1]


def _asked(scene: Scene, name: str) -> TubeSpec:
    spec = scene.tubes.get(name)
    if spec is None:
        near = nearest(name, scene.tubes)
        meant = f"; did you mean {near}?" if near else ""
        raise RequestError(f"no tube {name!r}{meant} (tubes: {', '.join(scene.tubes) or 'none'})")
    if scene.tubings[spec.tubing].kind == "soft":
        raise RequestError(f"{name} is soft: it takes its own curve; choices are for rigid tubes")
    if not isinstance(spec.path, AutoPath):
        raise RequestError(f"the path of {name} is given; write `path: auto` to be shown choices")
    return spec


def _is_rigid_auto(scene: Scene, name: str) -> bool:
    spec = scene.tubes[name]
    return isinstance(spec.path, AutoPath) and scene.tubings[spec.tubing].kind == "rigid"


def _variants(scene: Scene, spec: TubeSpec) -> Iterator[TubeSpec]:
    """The same tube asked for otherwise: fewer bends, free angles, wider gaps."""
    gap = scene.rules.tube_gap if spec.gap is None else spec.gap
    for wider in (None, *(gap + more for more in _WIDER_MM)):
        asked = replace(spec, gap=spec.gap if wider is None else wider)
        for most in range(1, spec.most_bends + 1):
            yield replace(asked, most_bends=most)
        yield replace(asked, angles="any", directions="any")


def _rounded(corners: tuple[Vec3, ...] | None) -> tuple[Vec3, ...] | None:
    if corners is None:
        return None
    return tuple(
        (round(x, _DECIMALS) + 0.0, round(y, _DECIMALS) + 0.0, round(z, _DECIMALS) + 0.0)
        for x, y, z in corners
    )


def _measured(layout: Layout, name: str) -> Choice | None:
    """The run as the checker sees it; None where it breaks a rule."""
    tube = _tube(layout, name)
    if tube.findings or tube.run is None or tube.corners is None or tube.bends is None:
        return None
    gap, clear = _kept_mm(layout, tube, tube.run)
    if not clear or tube.path_mm is None or tube.cut_mm is None:
        return None
    path = layout.scene.tubes[name].path
    return Choice(
        corners=path.corners if isinstance(path, CornersPath) else (),
        path_mm=tube.path_mm,
        cut_mm=tube.cut_mm,
        bends=len(tube.bends),
        angles="45/90" if all(_is_usual(bend.bend_deg) for bend in tube.bends) else "any",
        kept_mm=gap,
        crosses=tuple(
            other
            for finding in crossings(layout)
            if name in finding.parts
            for other in finding.parts
            if other != name
        ),
    )


def _is_usual(angle: float) -> bool:
    return min(abs(angle - 45.0), abs(angle - 90.0)) < 0.05


def _kept_mm(layout: Layout, tube: Tube, run: TubeRun) -> tuple[float, bool]:
    """The least gap to what asks for one, and whether every gap is kept."""
    spec = layout.scene.tubes[tube.name]
    around = scenery(layout, Keeping(name=tube.name, near=tube.near, gap=spec.gap, touches=spec.touches))
    solids = [one for one in around.hindrances if one.required_mm > 0.0 and not any(one.near)]
    moving = body(run, IDENTITY)
    pairs = [(moving, body(one.primitive, one.solid2scene)) for one in solids]
    near = [
        pair
        for pair in pairs
        if np.all(pair[1].low - moving.high < _FAR_MM) and np.all(moving.low - pair[1].high < _FAR_MM)
    ]
    gaps = measure_pairs(near, np.full(len(near), _FAR_MM), stop_when_decided=True)
    return min([_FAR_MM, *(one.gap_mm for one in gaps)]), Room(around).keeps_clear(run)


def _betters(one: Choice, other: Choice) -> bool:
    """Whether ``one`` is as good in all respects and better in some."""
    steps = (
        one.path_mm - other.path_mm,
        float(one.bends - other.bends),
        float((one.angles == "any") - (other.angles == "any")),
        other.kept_mm - one.kept_mm,
        float(len(one.crosses) - len(other.crosses)),
    )
    if any(step > _SAME_MM for step in steps):
        return False
    return any(step < -_SAME_MM for step in steps) or one.corners < other.corners


def _tube(layout: Layout, name: str) -> Tube:
    return next(tube for tube in layout.tubes if tube.name == name)


def _why(tube: Tube) -> str:
    return "; ".join(finding.message for finding in tube.findings) or "none keeps every gap when written down"
