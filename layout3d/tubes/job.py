"""One tube to be made: all that is known of it before its path."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from layout3d.findings import Finding
from layout3d.layout import Tube
from layout3d.scene.model import RigidTubing, Scene, SoftTubing, TubeSpec
from layout3d.tubes.vectors import times
from shapes.pose import Pose, Vec3, as_vec3


@dataclass(frozen=True, slots=True, kw_only=True)
class TubeJob:
    """A tube's entry in the scene, its tubing, and where its ends are.

    mouths : z axes point out of the fittings
    insertions : how far the tube goes into each fitting [mm]
    near : names of the parts at each end (the port's part, the fitting)
    """

    spec: TubeSpec
    tubing: RigidTubing | SoftTubing
    mouths: tuple[Pose, Pose]
    insertions: tuple[float, float]
    near: tuple[tuple[str, ...], tuple[str, ...]]
    scene: Scene

    @property
    def ends(self) -> tuple[Vec3, Vec3]:
        """The two mouths' places [mm]."""
        return as_vec3(self.mouths[0].origin), as_vec3(self.mouths[1].origin)

    @property
    def axes(self) -> tuple[Vec3, Vec3]:
        """The way the tube leaves its first mouth and the way it arrives at its last (unit)."""
        return as_vec3(self.mouths[0].z_axis), times(as_vec3(self.mouths[1].z_axis), -1.0)

    def blank(self) -> Tube:
        """The tube without a path."""
        spec = self.spec
        return Tube(
            name=spec.name,
            tubing=spec.tubing,
            kind=self.tubing.kind,
            start=str(spec.start),
            end=str(spec.end),
            mouths=self.mouths,
            insertions=self.insertions,
            near=self.near,
        )

    def port(self, end: Literal[0, 1]) -> str:
        """The port at an end, "left.out"."""
        return str((self.spec.start, self.spec.end)[end])

    def finding(
        self,
        rule: str,
        message: str,
        *,
        end: Literal[0, 1] | None = None,
        parts: tuple[str, ...] = (),
        measured_mm: float | None = None,
        required_mm: float | None = None,
        at_mm: Vec3 | None = None,
        direction: Vec3 | None = None,
        remedy: str | None = None,
    ) -> Finding:
        """An error about this tube's path, at the line of its ``path``; ``end`` names that end's part too."""
        if end is not None:
            parts = ((self.spec.start, self.spec.end)[end].part,)
        name = self.spec.name
        return Finding(
            rule=rule,
            severity="error",
            parts=(*parts, name),
            message=f"{name}: {message}",
            measured_mm=measured_mm,
            required_mm=required_mm,
            at_mm=None if at_mm is None else as_vec3(at_mm),
            direction=None if direction is None else as_vec3(direction),
            remedy=remedy,
            where=self.scene.where("tubes", name, "path"),
        )
