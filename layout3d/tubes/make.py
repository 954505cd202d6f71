"""A tube from its entry in the scene: the one door into this package."""

from __future__ import annotations

from typing import TYPE_CHECKING

from layout3d.errors import Problem, SceneErrors
from layout3d.layout import Tube
from layout3d.scene.model import RigidTubing, Scene, SoftTubing, TubeSpec
from layout3d.scene.paths import AutoPath, BendsPath, CutPath
from layout3d.tubes.given_table import by_table
from layout3d.tubes.job import TubeJob
from layout3d.tubes.rigid import by_points, by_search
from shapes.pose import Pose

if TYPE_CHECKING:
    from layout3d.tubes.request import KeepsClear, RouteSearch


def make_tube(
    spec: TubeSpec,
    tubing: RigidTubing | SoftTubing,
    mouths: tuple[Pose, Pose],
    insertions: tuple[float, float],
    near: tuple[tuple[str, ...], tuple[str, ...]],
    scene: Scene,
    search: RouteSearch,
    keeps_clear: KeepsClear,
) -> Tube:
    """The tube, with what is wrong with its own path as findings; what it hits is for the checker.

    mouths : where the tube leaves its fittings, z axes out of them
    insertions : how far it goes into each [mm]
    near : names of the parts at each end (the port's part, the fitting)
    search : finds the corners of a rigid ``path: auto``
    keeps_clear : tells of a soft tube's run whether it keeps its gaps
    Raises SceneErrors for a form of path this kind of tubing cannot have.
    """
    job = TubeJob(spec=spec, tubing=tubing, mouths=mouths, insertions=insertions, near=near, scene=scene)
    path = spec.path
    if isinstance(tubing, SoftTubing):
        if isinstance(path, AutoPath | CutPath):
            # Most builds have rigid tube only and start without the curves' search.
            from layout3d.tubes.soft import by_curve

            return by_curve(job, tubing, path, keeps_clear)
        raise _wrong_form(job, "soft tubing takes its own curve", ("auto", "{cut: <length>}"))
    if isinstance(path, AutoPath):
        return by_search(job, tubing, search)
    if isinstance(path, BendsPath):
        return by_table(job, tubing, path)
    if isinstance(path, CutPath):
        forms = ("auto", "straight", "a list of corners", "{legs: [...]}", "{bends: [...], last: ...}")
        raise _wrong_form(job, "`cut` is for soft tubing", forms)
    return by_points(job, tubing, path)


def _wrong_form(job: TubeJob, why: str, choices: tuple[str, ...]) -> SceneErrors:
    name = job.spec.name
    line = job.scene.places.line("tubes", name, "path")
    message = f"{why}; tubing '{job.spec.tubing}' is {job.tubing.kind}"
    return SceneErrors([Problem(job.scene.file, line, f"tubes.{name}.path", message, choices)])
