"""From a scene to a layout: parts, then fittings, then tubes."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING

from layout3d.layout import Layout, Tube
from layout3d.placing.fittings import TubeEnd
from layout3d.placing.place import place
from layout3d.scene.model import Scene
from layout3d.scene.paths import AutoPath
from layout3d.tubes.make import make_tube

if TYPE_CHECKING:
    from layout3d.tubes.request import NoRoute, RouteAnswer, RouteRequest
    from layout3d.tubes.room import Room


def build(scene: Scene) -> Layout:
    """Everything of the scene in its place.

    Tubes with given paths are laid first, so that those to be found keep clear of them; these
    follow one another in scene order. Raises SceneErrors for mounts that cannot fit.
    """
    layout, ends = place(scene)
    given = [name for name, spec in scene.tubes.items() if not isinstance(spec.path, AutoPath)]
    found = [name for name in scene.tubes if name not in given]
    laid: dict[str, Tube] = {}
    for name in (*given, *found):
        laid[name] = _laid(name, replace(layout, tubes=tuple(laid.values())), ends[name])
    return replace(layout, tubes=tuple(laid[name] for name in scene.tubes))


def _laid(name: str, layout: Layout, ends: tuple[TubeEnd, TubeEnd]) -> Tube:
    spec = layout.scene.tubes[name]

    def search(request: RouteRequest) -> RouteAnswer | NoRoute:
        # Kept paths, the usual case, should not pay for loading the search.
        from layout3d.tubes.route.find import find_route
        from layout3d.tubes.route.scenery import scenery

        return find_route(request, scenery(layout, request))

    @cache
    def room() -> Room:
        from layout3d.tubes.request import Keeping
        from layout3d.tubes.room import Room
        from layout3d.tubes.route.scenery import scenery

        asked = Keeping(name=name, near=(start.near, end.near), gap=spec.gap, touches=spec.touches)
        return Room(scenery(layout, asked))

    start, end = ends
    return make_tube(
        spec,
        layout.scene.tubings[spec.tubing],
        (start.mouth, end.mouth),
        (start.insertion, end.insertion),
        (start.near, end.near),
        layout.scene,
        search,
        lambda run: room().keeps_clear(run),
    )
