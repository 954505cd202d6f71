"""Small layouts built straight from the neutral model, for the exporters' tests."""

from __future__ import annotations

import math
from types import MappingProxyType

from layout3d.layout import Layout, PlacedPart, Tube
from layout3d.scene.model import Places, Rules, Scene
from shapes.part import Bore, Part, Solid
from shapes.pose import IDENTITY, Pose
from shapes.primitives import (
    Arc,
    Box,
    Cylinder,
    Plate,
    Primitive,
    Prism,
    RectOpening,
    RoundOpening,
    SlotHole,
    Straight,
    TubeRun,
)

#: A quarter bend between two straights, 14/10 mm tube bent at 36 mm.
QUARTER = TubeRun(
    (
        Straight((0.0, 0.0, 70.0), (0.0, 0.0, 120.0)),
        Arc((36.0, 0.0, 120.0), (-1.0, 0.0, 0.0), (0.0, 0.0, 1.0), 36.0, math.pi / 2.0),
        Straight((36.0, 0.0, 156.0), (164.0, 0.0, 156.0)),
    ),
    14.0,
    10.0,
)


def layout(
    *parts: PlacedPart, tubes: tuple[Tube, ...] = (), file: str = "posts.yaml", title: str = "Two posts"
) -> Layout:
    scene = Scene(
        file=file,
        title=title,
        rules=Rules(),
        tubings=MappingProxyType({}),
        parts=MappingProxyType({}),
        tubes=MappingProxyType({}),
        plugs=(),
        places=Places(MappingProxyType({}), MappingProxyType({})),
    )
    return Layout(scene, {part.name: part for part in parts}, (), tubes)


def placed(name: str, part: Part, pose: Pose = IDENTITY) -> PlacedPart:
    return PlacedPart(name, "custom", part, pose)


def tube(name: str, run: TubeRun | None, kind: str = "rigid") -> Tube:
    return Tube(
        name=name,
        tubing="rigid14",
        kind=kind,
        start="left.out",
        end="right.in",
        mouths=(IDENTITY, IDENTITY),
        insertions=(0.0, 0.0),
        near=((), ()),
        run=run,
    )


def single(primitive: Primitive, name: str = "body") -> Part:
    return Part((Solid(name, primitive, look="metal"),))


def post() -> Part:
    """A block with a round bar standing flush on it, and a bore through both."""
    return Part(
        (
            Solid("foot", Box((40.0, 40.0, 20.0)), Pose.at((0.0, 0.0, 10.0)), "black"),
            Solid("bar", Cylinder(30.0, 50.0), Pose.at((0.0, 0.0, 45.0)), "copper"),
        ),
        bores=(Bore(Pose.at((0.0, 0.0, 70.0)), 11.0, 60.0),),
    )


def sheet() -> Part:
    """A sheet with every kind of opening, a wedge standing on it."""
    plate = Plate(
        (120.0, 140.0),
        1.0,
        (RoundOpening((0.0, 10.0), 90.0), RectOpening((60.0, -50.0), (20.0, 15.0))),
        (RoundOpening((-52.5, 62.5), 4.3), SlotHole((30.0, -60.0), 12.0, 4.3)),
    )
    wedge = Prism(((-10.0, -5.0), (10.0, -5.0), (0.0, 8.0)), 12.0)
    return Part(
        (
            Solid("sheet", plate, look="panel"),
            Solid("wedge", wedge, Pose.at((-40.0, -55.0, 6.5), (0.0, 0.0, 30.0)), "accent"),
        )
    )


#: Both turned, so that no frame can stand in for another.
LEFT = Pose.at((0.0, 0.0, 0.0), (0.0, 0.0, 30.0))
RIGHT = Pose.at((200.0, 5.0, 1.0 / 3.0), (15.0, -20.0, 75.0))
BACK = Pose.at((100.0, 80.0, 60.0), (90.0, 0.0, 0.0))


def two_posts() -> Layout:
    """Two equal posts, a sheet behind them, a bent tube between."""
    return layout(
        placed("left", post(), LEFT),
        placed("right", post(), RIGHT),
        placed("back", sheet(), BACK),
        tubes=(tube("over", QUARTER),),
    )
