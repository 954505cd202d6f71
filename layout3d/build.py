"""From a scene to a layout: parts, then fittings, then tubes."""

from __future__ import annotations

from dataclasses import replace
from functools import cache, partial
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

    Tubes with given paths are laid first, so that those to be found keep clear of them. Rigid tubes
    to be found are laid together, then hoses one after the other. Raises SceneErrors for mounts that
    cannot fit.
    """
    layout, ends = place(scene)
    sought = [name for name, spec in scene.tubes.items() if isinstance(spec.path, AutoPath)]
    rigid = [name for name in sought if scene.tubings[scene.tubes[name].tubing].kind == "rigid"]
    hoses = [name for name in sought if name not in rigid]
    laid: dict[str, Tube] = {}

    def add(name: str, beside: tuple[Tube, ...] = ()) -> Tube:
        return _laid(name, replace(layout, tubes=(*laid.values(), *beside)), ends[name])

    for name in scene.tubes:
        if name not in sought:
            laid[name] = add(name)
    if len(rigid) > 1:
        # Only scenes with several such tubes pay for weighing them against each other.
        from layout3d.tubes.jointly import found_jointly

        laid |= found_jointly(rigid, add, partial(_apart, layout))
    else:
        laid |= {name: add(name) for name in rigid}
    for name in sorted(hoses):
        laid[name] = add(name)
    return replace(layout, tubes=tuple(laid[name] for name in scene.tubes))


def _apart(layout: Layout, one: Tube, other: Tube) -> bool:
    """Whether two laid tubes keep the gap between them."""
    from layout3d.tubes.request import Keeping
    from layout3d.tubes.room import Room
    from layout3d.tubes.route.scenery import scenery

    if one.run is None or other.run is None:
        return True
    spec = layout.scene.tubes[one.name]
    asked = Keeping(name=one.name, near=one.near, gap=spec.gap, touches=spec.touches)
    return Room(scenery(replace(layout, parts={}, tubes=(other,)), asked)).keeps_clear(one.run)


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
