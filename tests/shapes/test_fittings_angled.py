"""Angled fittings and adapters: where the mouth is, what they sweep, how much metal they are."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layout3d.realise import brep
from shapes.angled_fitting import AngledFitting
from shapes.patterns import G_THREAD_MAJOR_MM
from shapes.pose import IDENTITY, Pose
from shapes.rotary_adapter import RotaryAdapter

ANGLES = st.sampled_from([45, 90])


def volumes(part):
    return {name: shape.Volume() for name, _, shape in brep.part_solids(part, IDENTITY)}


@settings(max_examples=100, deadline=None, derandomize=True)
@given(angle=ANGLES, corner=st.floats(14, 60), reach=st.floats(16, 80))
def test_the_mouth_lies_reach_out_from_where_the_axes_cross(angle, corner, reach):
    # Closed form: the thread's axis is z, the outlet leaves it at `corner` under `angle`.
    part = RotaryAdapter(angle=angle, corner_height=corner, reach=reach).build()
    mouth = part.ports["mouth"].port2part
    sin, cos = math.sin(math.radians(angle)), math.cos(math.radians(angle))
    assert mouth.origin == pytest.approx((reach * sin, 0.0, corner + reach * cos), abs=1e-9)
    assert mouth.z_axis == pytest.approx((sin, 0.0, cos), abs=1e-12)


@pytest.mark.parametrize("angle", [45, 90])
def test_the_body_has_the_volume_of_its_bend(angle):
    # Pappus: a round of diameter d along a centreline of length l has pi d^2 / 4 l. The bend takes
    # R tan(a/2) off both straights and is R a long.
    shape = RotaryAdapter(angle=angle, bore=9.0, port_depth=6.0)
    radius, turn = 18 / 2 + 0.5, math.radians(angle)
    setback = radius * math.tan(turn / 2)
    line = (14 - 4 - setback) + radius * turn + (18 - setback)
    ring = math.pi / 4 * (18**2 - 9**2) * line
    # The port takes out the metal between way and major diameter (13.157, ISO 228-1), 6 deep; the bend
    # begins beyond it.
    assert 18 - setback >= 6
    port = math.pi / 4 * (G_THREAD_MAJOR_MM["G1/4"] ** 2 - 9**2) * 6
    assert volumes(shape.build())["elbow"] == pytest.approx(ring - port, rel=1e-6)


def test_threads_and_seat_are_those_of_the_standards():
    # ISO 228-1: G1/4 is 13.157. DIN 3852-2: stud face 18, full thread of its port at least 12 deep.
    part = RotaryAdapter().build()
    thread, mouth = part.ports["thread"], part.ports["mouth"]
    assert (thread.thread, thread.depth, thread.male) == ("G1/4", 5, True)
    assert (mouth.thread, mouth.depth, mouth.male) == ("G1/4", 6, False)
    assert part.solids[0].primitive.diameter == 13.157
    assert part.solids[1].primitive.diameter == 18
    assert part.bores[-1].diameter == 13.157


@pytest.mark.parametrize("tube", ["rigid", "soft"])
@pytest.mark.parametrize("angle", [45, 90])
def test_a_tube_is_held_as_in_the_straight_fitting(tube, angle):
    part = AngledFitting(angle=angle, tube=tube).build()
    assert part.socket is not None
    assert part.socket.kind == tube
    assert part.socket.insertion == 10
    bored = volumes(part)
    # The collar is a ring round the tube where it goes in, round the way where it does not.
    outside, bore = (14, 9) if tube == "rigid" else (19.05, 9)
    ring = math.pi / 4 * ((outside + (8 if tube == "rigid" else 4)) ** 2 * 14 - outside**2 * 10 - bore**2 * 4)
    assert bored["collar"] == pytest.approx(ring, rel=1e-6)


@settings(max_examples=60, deadline=None, derandomize=True)
@given(angle=ANGLES, reach=st.floats(20, 80), body=st.floats(16.5, 22))
def test_the_circle_swept_is_the_furthest_the_outlet_reaches(angle, reach, body):
    # By brute force: the rim of the outlet's end, 20 000 places round.
    shape = RotaryAdapter(angle=angle, reach=reach, body_diameter=body, corner_height=25, swing_room=True)
    part = shape.build()
    [zone] = part.zones
    mouth: Pose = part.ports["mouth"].port2part
    round_it = np.linspace(0.0, 2.0 * math.pi, 20_001)
    rim = mouth.apply(
        np.column_stack((np.cos(round_it), np.sin(round_it), np.zeros_like(round_it))) * body / 2
    )
    assert zone.primitive.diameter == pytest.approx(2 * np.hypot(rim[:, 0], rim[:, 1]).max(), abs=1e-5)
    low = zone.zone2part.origin[2] - zone.primitive.length / 2
    assert low == 4  # the top of the base: nothing of the outlet is below it
    assert low + zone.primitive.length == pytest.approx(rim[:, 2].max(), abs=1e-5)


def test_a_right_angle_sweeps_what_its_page_says():
    part = RotaryAdapter(swing_room=True).build()
    assert part.zones[0].primitive.diameter == pytest.approx(2 * math.hypot(18, 9))
    assert RotaryAdapter().build().zones == ()


@pytest.mark.parametrize(
    ("shape", "message"),
    [
        (RotaryAdapter(corner_height=13), "corner_height 13 mm leaves no room .* base of 4 mm; least 13.5"),
        (RotaryAdapter(reach=15), "leaves 15 mm of body from the corner; .* at least 15.5"),
        (
            RotaryAdapter(body_diameter=15),
            "body_diameter 15 mm does not go round a G1/4 port .* least 16.157",
        ),
        (AngledFitting(body_diameter=10), "body_diameter 10 mm does not go round a bore of 9 mm; least 10.6"),
        (AngledFitting(reach=22), "corner; bend and outlet need at least 9.5"),
        (
            AngledFitting(collar_diameter=30),
            "collar of 30 mm stands 1 mm below .* corner_height must be .* 15",
        ),
        (AngledFitting(base_diameter=30), "brings the 14 mm collar into the base of 30 mm"),
        (AngledFitting(tube_inside=10), "tube_inside 10 mm is for soft tube"),
        (AngledFitting(collar_diameter=15), "collar_diameter 15 mm does not go round a tube of 14 mm"),
    ],
)
def test_what_cannot_be_is_refused_with_what_could(shape, message):
    with pytest.raises(ValueError, match=message):
        shape.build()
