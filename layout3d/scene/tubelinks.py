"""What a tube must agree with: its tubing, its ports, and the form of its path."""

from __future__ import annotations

from layout3d.scene.complaints import Complaints, Key, unknown
from layout3d.scene.entries import SceneFile, TubeEntry
from layout3d.scene.links import Links
from layout3d.scene.model import RigidTubing, SoftTubing
from layout3d.scene.paths import AutoPath, BendsPath, CornersPath, CutPath, LegsPath, StraightPath

_FORM: dict[type, str] = {
    AutoPath: "auto",
    StraightPath: "straight",
    CornersPath: "a list of corners",
    LegsPath: "legs",
    BendsPath: "bends",
    CutPath: "cut",
}


def check_tubings(entries: SceneFile, complaints: Complaints) -> None:
    """Complain of tubing that cannot be made or bent."""
    for name, tubing in entries.tubings.items():
        key: Key = ("tubings", name)
        if not tubing.inside < tubing.outside:
            complaints.add(
                (*key, "inside"),
                f"inside {tubing.inside:g} mm must be below outside {tubing.outside:g} mm of tubing {name!r}",
            )
        _check_radius("bend_radius", tubing.bend_radius, tubing, name, (*key, "bend_radius"), complaints)


def check_bench(entries: SceneFile, complaints: Complaints) -> None:
    """Complain of bench figures for a tubing there is not, or that is not bent."""
    for name, bench in entries.bench.items():
        key: Key = ("bench", name)
        tubing = entries.tubings.get(name)
        if tubing is None:
            complaints.add(key, unknown("tubing", name, entries.tubings), tuple(entries.tubings))
        elif isinstance(tubing, SoftTubing):
            for field in ("setback", "springback", "former_height", "bench_below"):
                if field in bench.model_fields_set:
                    complaints.add(
                        (*key, field),
                        f"`{field}` is for rigid tube: soft tubing {name!r} is not bent on one; it takes "
                        "stock, kerf, trim",
                        ("stock", "kerf", "trim"),
                    )


def _check_radius(
    what: str, radius: float, tubing: RigidTubing | SoftTubing, name: str, key: Key, complaints: Complaints
) -> None:
    if radius < tubing.outside / 2:
        complaints.add(
            key,
            f"{what} {radius:g} mm is below half the outside diameter "
            f"({tubing.outside / 2:g} mm) of tubing {name!r}",
        )


def check_tubes(entries: SceneFile, links: Links) -> None:
    """Complain of tubes and plugs that lead nowhere, and of paths their tubing cannot take."""
    for name, entry in entries.tubes.items():
        key: Key = ("tubes", name)
        links.port(entry.from_, (*key, "from"))
        links.port(entry.to, (*key, "to"))
        links.touched(entry.touches, (*key, "touches"), name)
        if entry.from_ == entry.to:
            links.complaints.add((*key, "to"), f"both ends are at {entry.to}: a tube joins two ports")
        if entry.tubing not in links.names.tubings:
            message = unknown("tubing", entry.tubing, links.names.tubings)
            links.complaints.add((*key, "tubing"), message, links.names.tubings)
        tubing = entries.tubings.get(entry.tubing)
        if tubing is not None:
            _check_path(entry, tubing, key, links.complaints)
    seen: dict[str, int] = {}
    for at, plug in enumerate(entries.plugs):
        links.port(plug, ("plugs", at))
        if seen.setdefault(str(plug), at) != at:
            links.complaints.add(("plugs", at), f"{plug} is plugged twice: delete one of them")


def _check_path(entry: TubeEntry, tubing: RigidTubing | SoftTubing, key: Key, complaints: Complaints) -> None:
    path = entry.run()
    form = _FORM[type(path)]
    place = (*key, "cut" if entry.cut is not None else "path")
    if entry.cut is not None and "path" in entry.model_fields_set:
        complaints.add(place, "`path` and `cut` both say how the tube runs: keep one")
    if isinstance(tubing, RigidTubing) and isinstance(path, CutPath):
        complaints.add(
            place,
            f"`cut` is for soft tube, {entry.tubing!r} is rigid: its length comes from its path "
            "(auto, straight, corners, legs or bends)",
        )
    if isinstance(tubing, SoftTubing) and not isinstance(path, AutoPath | CutPath):
        complaints.add(
            place,
            f"{form} is for rigid tube, {entry.tubing!r} is soft: write `path: auto` or `path: {{cut: 320}}`",
        )
    if isinstance(path, BendsPath):
        for at, bend in enumerate(path.bends):
            if bend.radius is not None:
                where = (*key, "path", "bends", at, "radius")
                _check_radius("radius", bend.radius, tubing, entry.tubing, where, complaints)
