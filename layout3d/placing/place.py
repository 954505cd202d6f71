"""Parts to their poses, fittings onto their ports: a scene becomes a layout without tubes."""

from __future__ import annotations

from layout3d.errors import Problem, SceneErrors
from layout3d.layout import Joint, Layout, PlacedPart, Screwed
from layout3d.placing.fittings import TubeEnd, screwed_pose, tube_end
from layout3d.placing.joints import part_joints
from layout3d.placing.measured import measured_pose, raw_pose
from layout3d.placing.mounting import MountError, mounted
from layout3d.scene.complaints import key_text
from layout3d.scene.model import PartSpec, Scene
from shapes.pose import Pose, compose
from shapes.screwed import is_port_seat, screwed_by

TubeEnds = tuple[TubeEnd, TubeEnd]


def place(scene: Scene) -> tuple[Layout, dict[str, TubeEnds]]:
    """All parts and fittings in place, and both ends of every tube.

    Raises SceneErrors with every mount that cannot fit.
    """
    parts = _placed_parts(scene)
    joints = list(part_joints(scene, parts))
    ends: dict[str, TubeEnds] = {}
    for tube in scene.tubes.values():
        start = tube_end(f"{tube.name}.from_fitting", tube.name, tube.start, tube.fittings[0], parts)
        end = tube_end(f"{tube.name}.to_fitting", tube.name, tube.end, tube.fittings[1], parts)
        ends[tube.name] = (start, end)
    both = [end for pair in ends.values() for end in pair]
    placed = parts | {fitting.name: fitting for end in both for fitting in end.fittings}
    joints += [joint for end in both for joint in end.joints]
    return Layout(scene, placed, _distinct(joints)), ends


def _placed_parts(scene: Scene) -> dict[str, PlacedPart]:
    problems: list[Problem] = []
    done: dict[str, PlacedPart] = {}
    for spec in in_placing_order(scene):
        try:
            pose = _pose(spec, done)
        except MountError as error:
            problems.append(_problem(spec, error, scene))
            pose = Pose.at((0.0, 0.0, 0.0))
        except ValueError as error:
            line = scene.places.line("parts", spec.name, "off")
            problems.append(Problem(scene.file, line, f"parts.{spec.name}.off", str(error)))
            pose = raw_pose(spec)
        screwed = _screwed(spec, done)
        done[spec.name] = PlacedPart(spec.name, spec.shape_name, spec.part, pose, spec.gap, screwed=screwed)
    if problems:
        raise SceneErrors(sorted(problems, key=lambda problem: problem.line or 0))
    return {name: done[name] for name in scene.parts}


def _problem(spec: PartSpec, error: MountError, scene: Scene) -> Problem:
    """A mount that cannot fit, at the key that says how the part is fixed."""
    key: tuple[str | int, ...] = ("parts", spec.name, "fixed_to", error.key)
    message = str(error)
    if (stack := scene.stack_of(spec.name)) is not None and spec.fixed_to is not None:
        whole = error.key in ("slide", "row", "turn")
        key = ("stacks", stack.name, error.key) if whole else stack.key_of(spec.name)
        message = f"{spec.name} on {spec.fixed_to.mount}: {message}"
    return Problem(scene.file, scene.places.line(*key), key_text(key), message, error.choices)


def _pose(spec: PartSpec, done: dict[str, PlacedPart]) -> Pose:
    if spec.fixed_to is not None:
        host = done[spec.fixed_to.host]
        if (screwed := _screwed(spec, done)) is not None:
            return screwed_pose(spec.part, screwed.by, spec.fixed_to.turn, host.port2scene(screwed.port))
        seat = mounted(spec.part, spec.fixed_to, host.part)
        return compose(seat.guest2host, host.part2scene)
    return measured_pose(spec.part, raw_pose(spec), spec.off, done)


def _screwed(spec: PartSpec, done: dict[str, PlacedPart]) -> Screwed | None:
    """What a part is screwed to, None for one that is fixed to a mount or placed otherwise."""
    if spec.fixed_to is None:
        return None
    host, port = spec.fixed_to.host, spec.fixed_to.place
    if not is_port_seat(spec.part, done[host].part, port):
        return None
    by = spec.fixed_to.by or screwed_by(spec.part, done[host].port(port))
    return None if by is None else Screwed(host, port, by)


def in_placing_order(scene: Scene) -> list[PartSpec]:
    """Parts so that each comes after those it is fixed to or measured off.

    The reader has refused cycles, so this ends.
    """
    ordered: dict[str, PartSpec] = {}

    def visit(spec: PartSpec) -> None:
        if spec.name in ordered:
            return
        for name in hosts_of(spec):
            visit(scene.parts[name])
        ordered[spec.name] = spec

    for spec in scene.parts.values():
        visit(spec)
    return list(ordered.values())


def hosts_of(spec: PartSpec) -> tuple[str, ...]:
    """Names of the parts this one is fixed to or measured off."""
    seats = () if spec.fixed_to is None else (spec.fixed_to.host,)
    return (*seats, *(line.host for line in spec.off))


def _distinct(joints: list[Joint]) -> tuple[Joint, ...]:
    """One joint a pair; one that engages counts before one that only touches."""
    found: dict[frozenset[str], Joint] = {}
    for joint in sorted(joints, key=lambda joint: -joint.engagement):
        found.setdefault(frozenset((joint.first, joint.second)), joint)
    return tuple(found.values())
