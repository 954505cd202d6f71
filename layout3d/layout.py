"""The scene once everything has its place: what the checker, writers and reports read."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from layout3d.findings import Finding
from layout3d.scene.model import Scene
from shapes.part import Part, Port
from shapes.pose import Pose, Vec3, compose
from shapes.primitives import TubeRun


@dataclass(frozen=True, slots=True)
class Screwed:
    """What a part is screwed to: the port ``port`` of ``host``, by its own port ``by``."""

    host: str
    port: str
    by: str


@dataclass(frozen=True, slots=True)
class PlacedPart:
    """A part in the scene. ``tube``: the tube a derived fitting belongs to, else None."""

    name: str
    shape: str
    part: Part
    part2scene: Pose
    gap: float | None = None
    tube: str | None = None
    screwed: Screwed | None = None

    def port2scene(self, port: str) -> Pose:
        """Origin on the port's face, z out of the part."""
        return compose(self.part.ports[port].port2part, self.part2scene)

    def port(self, port: str) -> Port:
        """The port of this name; KeyError where there is none."""
        return self.part.ports[port]


@dataclass(frozen=True, slots=True)
class Joint:
    """Two parts joined on purpose: they may touch anywhere, never overlap.

    engagement : how far ``second`` goes into ``first`` [mm]; drawn apart by that much along
        ``axis`` (unit, scene frame, the way ``second`` comes off) nothing may overlap
    face : where the face they meet in lies along ``axis`` [mm]
    seat : where the axis goes through that face, in the scene [mm]. What of ``second`` does not reach
        through the face round it does not go in and may not overlap as it stands either
    """

    first: str
    second: str
    axis: Vec3 | None = None
    engagement: float = 0.0
    face: float = 0.0
    seat: Vec3 | None = None


@dataclass(frozen=True, slots=True)
class Bend:
    """One row of a bend table; see contract: straight before it, turn of plane, angle, radius."""

    straight_mm: float
    turn_deg: float
    bend_deg: float
    radius_mm: float
    mark_mm: float


@dataclass(frozen=True, slots=True)
class Search:
    """How an ``auto`` path was found, and what is proved about it."""

    searched: str
    cost_mm: float | None
    bound_mm: float | None
    proved: bool


@dataclass(frozen=True, slots=True)
class PortLoad:
    """What a hose does to the fitting at one of its mouths, in the scene's axes.

    force : [N]; moment : about the mouth [N mm]
    """

    force: Vec3
    moment: Vec3


@dataclass(frozen=True, slots=True, kw_only=True)
class Tube:
    """A tube between two ports. ``run`` is None where no path could be made of it.

    mouths : where the tube leaves its fittings (the port's face for no fitting); z axes point
        out of the fitting, so the tube leaves along the first and arrives against the second
    near : names of the parts (port's part, fitting) at each end that the first and last
        straight may be nearer to than the rule
    loads : of a hose, what it does to its two fittings
    sag_mm : of a hose, how far its weight moves it from where it would lie without
    findings : what was wrong with the path itself (bends, straights, directions, no path)
    """

    name: str
    tubing: str
    kind: Literal["rigid", "soft"]
    start: str
    end: str
    mouths: tuple[Pose, Pose]
    insertions: tuple[float, float]
    near: tuple[tuple[str, ...], tuple[str, ...]]
    run: TubeRun | None = None
    path_mm: float | None = None
    least_bend_radius_mm: float | None = None
    corners: tuple[Vec3, ...] | None = None
    bends: tuple[Bend, ...] | None = None
    last_straight_mm: float | None = None
    search: Search | None = None
    loads: tuple[PortLoad, PortLoad] | None = None
    sag_mm: float | None = None
    findings: tuple[Finding, ...] = ()

    @property
    def cut_mm(self) -> float | None:
        """Length to cut: the path and what goes into both fittings."""
        return None if self.path_mm is None else self.path_mm + sum(self.insertions)


@dataclass(frozen=True, slots=True)
class Layout:
    """Everything placed: parts in scene order, then fittings; joints; tubes."""

    scene: Scene
    parts: Mapping[str, PlacedPart]
    joints: tuple[Joint, ...]
    tubes: tuple[Tube, ...] = ()
