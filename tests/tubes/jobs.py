"""One tube between two bare anchors, as the tests here make it."""

from __future__ import annotations

from types import MappingProxyType

from layout3d.layout import Tube
from layout3d.scene.model import Places, RigidTubing, Rules, Scene, SoftTubing, TubeSpec
from layout3d.scene.paths import Path
from layout3d.scene.values import PortRef
from layout3d.tubes.make import make_tube
from layout3d.tubes.request import KeepsClear, NoRoute, RouteRequest, RouteSearch
from shapes.pose import DIRECTIONS, Pose, Vec3

RIGID = RigidTubing(kind="rigid", outside=14, inside=10, bend_radius=36, end_straight=20, between_bends=14)
SOFT = SoftTubing(kind="soft", outside=19.05, inside=12.7, bend_radius=60)
End = tuple[Vec3, str | Vec3]


def scene_of(tube_gap: float = 3.0) -> Scene:
    nothing = MappingProxyType({})
    places = Places({("tubes", "over", "path"): 41}, nothing)
    rules = Rules(tube_gap=tube_gap, tube_sag=10_000.0)
    return Scene("two.yaml", "", rules, nothing, nothing, nothing, (), places)


def no_search(request: RouteRequest) -> NoRoute:
    raise AssertionError(f"nobody asked for a search of {request.name}")


def mouth(end: End) -> Pose:
    place, facing = end
    return Pose.facing(place, DIRECTIONS[facing] if isinstance(facing, str) else facing)


def tube_of(
    path: Path,
    start: End,
    end: End,
    tubing: RigidTubing | SoftTubing = RIGID,
    insertions: tuple[float, float] = (0.0, 0.0),
    scene: Scene | None = None,
    search: RouteSearch = no_search,
    keeps_clear: KeepsClear = lambda run: True,
) -> Tube:
    """The tube "over" from left.out to right.in."""
    spec = TubeSpec("over", "some", PortRef("left", "out"), PortRef("right", "in"), path=path)
    near = (("left",), ("right",))
    mouths = (mouth(start), mouth(end))
    return make_tube(spec, tubing, mouths, insertions, near, scene or scene_of(), search, keeps_clear)


def rules_of(tube: Tube) -> list[str]:
    return sorted(finding.rule for finding in tube.findings)
