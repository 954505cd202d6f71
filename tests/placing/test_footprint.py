"""A foot on a plain face: all of it, exactly to the edge, and whatever the turn."""

from __future__ import annotations

import math
from types import MappingProxyType

import pytest
from hypothesis import given
from hypothesis import strategies as st

from layout3d.placing.mounting import MountError, mounted, slides
from layout3d.scene.model import FixedTo
from shapes.band_clamp import BandClamp
from shapes.distribution_plate import DistributionPlate
from shapes.part import Mount, Part, Solid
from shapes.pose import DIRECTIONS, Pose
from shapes.primitives import Box, Cylinder
from shapes.tube_reservoir import TubeReservoir

FACE = Mount(
    Pose.facing((10.0, 20.0, 30.0), DIRECTIONS["roof"]), "stand", surface=((-100.0, -50.0), (80.0, 60.0))
)
HOST = Part((), mounts=MappingProxyType({"face": FACE}))


def standing(*solids: Solid) -> Part:
    foot = Mount(Pose.facing((0.0, 0.0, 0.0), DIRECTIONS["floor"]), "stand")
    return Part(solids, mounts=MappingProxyType({"foot": foot}))


BLOCK = standing(Solid("block", Box((40.0, 20.0, 10.0)), Pose.at((0.0, 0.0, 5.0))))


def put(guest: Part, **how) -> None:
    mounted(guest, FixedTo(mount="host.face", **how), HOST)


def test_a_foot_may_stand_exactly_to_the_edge_and_no_further():
    put(BLOCK, slide=60.0, shift=-40.0)
    put(BLOCK, slide=-80.0, shift=50.0)
    with pytest.raises(MountError, match=r"reaches 1 mm over the edge .*; slide -80 to 60 mm is possible"):
        put(BLOCK, slide=61.0)
    with pytest.raises(MountError, match=r"reaches 0\.5 mm over the edge .*; shift -40 to 50 mm") as refused:
        put(BLOCK, shift=-40.5)
    assert refused.value.key == "shift"


def test_a_foot_greater_than_the_face_is_told_both_sizes():
    big = standing(Solid("block", Box((40.0, 120.0, 10.0)), Pose.at((0.0, 0.0, 5.0))))
    with pytest.raises(MountError, match=r"the foot is 120 mm there, the surface 110 mm"):
        put(big)


def test_what_does_not_touch_the_face_may_hang_over():
    hat = Solid("hat", Box((400.0, 10.0, 10.0)), Pose.at((0.0, 0.0, 30.0)))
    stalk = Solid("stalk", Cylinder(20.0, 25.0), Pose.at((0.0, 0.0, 12.5)))
    put(standing(stalk, hat), slide=70.0)
    with pytest.raises(MountError, match="reaches 1 mm over"):
        put(standing(stalk, hat), slide=71.0)
    put(standing(), slide=80.0)


@given(turn=st.floats(0.0, 360.0), over=st.floats(-5.0, 5.0).filter(lambda mm: abs(mm) > 1e-3))
def test_a_turned_foot_counts_as_it_stands(turn, over):
    # Half extent of a turned rectangle along x: (40 |cos| + 20 |sin|) / 2, plane geometry.
    angle = math.radians(turn)
    half = (40.0 * abs(math.cos(angle)) + 20.0 * abs(math.sin(angle))) / 2.0
    slide = 80.0 - half + over
    if over > 0.0:
        with pytest.raises(MountError, match="slide"):
            put(BLOCK, turn=turn, slide=slide)
    else:
        put(BLOCK, turn=turn, slide=slide)


@pytest.mark.parametrize("turn", [0.0, 180.0])
def test_a_tank_may_not_slide_out_of_the_clamp_that_holds_it(turn: float):
    tank, clamp = TubeReservoir(tube_length=150).build(), BandClamp().build()

    def hold(slide: float) -> None:
        mounted(tank, FixedTo(mount="clamp.band", slide=slide, turn=turn), clamp)

    hold(-75.0)
    hold(75.0)
    for slide in (75.1, -75.1, 200.0):
        with pytest.raises(MountError, match=r"lies off what is to hold it; -75 to 75 mm is possible") as off:
            hold(slide)
        assert off.value.key == "slide"
    assert slides(tank, FixedTo(mount="clamp.band", slide=20.0, turn=turn), clamp) == ((-75.0, 75.0),)


def test_a_plate_may_not_stand_beside_the_foot_it_is_fixed_to():
    plate, clamp = DistributionPlate(length=300, width=120).build(), BandClamp().build()
    how = {"mount": "clamp.foot", "by": "face_roof"}
    mounted(plate, FixedTo(**how, slide=60.0, shift=-150.0, turn=90.0), clamp)
    with pytest.raises(MountError, match=r"slide 61 mm: .* off what is to hold it; -60 to 60 mm"):
        mounted(plate, FixedTo(**how, slide=61.0, turn=90.0), clamp)
    with pytest.raises(MountError, match=r"off what is to hold it$"):
        mounted(plate, FixedTo(**how, shift=151.0, turn=90.0), clamp)
