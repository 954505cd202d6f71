"""Fittings turned or of another angle, corners of a tube moved, and tubes that find their own way."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from types import MappingProxyType

from layout3d.findings import Finding
from layout3d.remedies.change import Change, Effort, with_tube, written
from layout3d.scene.complaints import Key
from layout3d.scene.model import FittingSpec, Scene, TubeSpec
from layout3d.scene.paths import AUTO, AutoPath, CornersPath
from layout3d.tubes.remedies import Move
from layout3d.tubes.vectors import dot, times
from layout3d.words import number, rounded_up
from shapes.angled import Angled
from shapes.pose import DIRECTIONS, Vec3

#: Turns of a swivelling fitting that are tried, the least first [degrees].
_TURNS = (45.0, -45.0, 90.0, -90.0, 135.0, -135.0, 180.0)
#: A direction that leads out of a finding no faster than this is not one to go.
_LEAST_LEAD = 0.5


def fitting_changes(scene: Scene, tube: str, ends: Sequence[int]) -> Iterator[Change]:
    """The angled fittings at these ends (0 from, 1 to) of a tube, turned, and of the other angle."""
    for end in ends:
        for link, fitting in enumerate(scene.tubes[tube].fittings[end]):
            if isinstance(fitting.shape, Angled):
                yield from _turned(scene, tube, end, link, fitting, fitting.shape)


def fitting_name(tube: str, end: int, link: int) -> str:
    """As it stands in findings: ``loop.from_fitting``, the next in its chain ``loop.from_fitting_2``."""
    return f"{tube}.{('from', 'to')[end]}_fitting{'' if link == 0 else f'_{link + 1}'}"


def _turned(
    scene: Scene, tube: str, end: int, link: int, fitting: FittingSpec, shape: Angled
) -> Iterator[Change]:
    name = fitting_name(tube, end, link)
    if shape.swivel:
        for by in _TURNS:
            turn = (fitting.turn + by) % 360.0
            made = _with_fitting(scene, tube, end, link, replace(fitting, turn=turn))
            words = f"turn {name} by {number(by)} degrees (`turn: {number(turn)}`)"
            yield Change(Effort.TURN_OF_FITTING, abs(by), name, words, made)
    try:
        other = type(shape).model_validate(
            {**shape.model_dump(exclude_unset=True), "angle": 135 - shape.angle}
        )
        part = other.build()
    except ValueError:
        return
    made = _with_fitting(scene, tube, end, link, replace(fitting, shape=other, part=part))
    words = f"take one of {other.angle} degrees for {name} in place of {shape.angle}"
    yield Change(Effort.OTHER_SIZE, 45.0, name, words, made)


def _with_fitting(scene: Scene, tube: str, end: int, link: int, fitting: FittingSpec) -> Scene:
    spec = scene.tubes[tube]
    chains = [list(chain) for chain in spec.fittings]
    chains[end][link] = fitting
    return with_tube(scene, replace(spec, fittings=(tuple(chains[0]), tuple(chains[1]))))


def path_changes(scene: Scene, name: str, finding: Finding) -> Iterator[Change]:
    """Neighbouring corners moved out of what the tube meets, and ``path: auto``."""
    spec = scene.tubes[name]
    if isinstance(spec.path, CornersPath) and finding.direction is not None:
        yield from _corners_moved(scene, spec, spec.path, finding)
    if not isinstance(spec.path, AutoPath):
        key: Key = ("tubes", name, "path")
        made = with_tube(scene, replace(spec, path=AUTO))
        write = MappingProxyType(written(scene, key, "auto"))
        yield Change(Effort.PATH, 0.0, name, f"let {name} find its own way", made, write)


def _corners_moved(scene: Scene, spec: TubeSpec, path: CornersPath, finding: Finding) -> Iterator[Change]:
    assert finding.direction is not None
    out = finding.direction if finding.parts[-1] == spec.name else times(finding.direction, -1.0)
    missing = (finding.required_mm or 0.0) - (finding.measured_mm or 0.0)
    count = len(path.corners)
    for way in _ways_out(out):
        by = rounded_up(missing / dot(way, out))
        if not math.isfinite(by):
            continue
        for first in range(count):
            for last in range(first, count):
                # Numbered from 1; the mouths before and behind stay.
                move = Move(first + 1, last + 1, times(way, by))
                points = move.applied(((0.0, 0.0, 0.0), *path.corners))[1:]
                corners = _rounded(points)
                made = with_tube(scene, replace(spec, path=CornersPath(corners)))
                write = MappingProxyType(written(scene, ("tubes", spec.name, "path"), _listed(corners)))
                words = f"in {spec.name}, {move.in_corners()}"
                yield Change(Effort.SLIDE, by, spec.name, words, made, write)


def _ways_out(out: Vec3) -> Iterator[Vec3]:
    """The case's directions that lead out, and the one straight out."""
    straight = True
    for way in DIRECTIONS.values():
        lead = dot(way, out)
        if lead > _LEAST_LEAD:
            straight &= lead < 1.0 - 1e-9
            yield way
    if straight:
        yield out


def _rounded(points: Sequence[Vec3]) -> tuple[Vec3, ...]:
    return tuple((round(x, 4), round(y, 4), round(z, 4)) for x, y, z in points)


def _listed(corners: Sequence[Vec3]) -> str:
    rows = (", ".join(number(length, 4) for length in corner) for corner in corners)
    return f"[{', '.join(f'[{row}]' for row in rows)}]"
