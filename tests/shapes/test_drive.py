"""Drive sizes and screw holes: SFF-8201, SFF-8301, SFF-8551, by transcriptions, originals not read."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layout3d.placing.mounting import MountError
from shapes.case_tower import CaseTower
from shapes.drive import Drive
from shapes.part import Part
from shapes.pose import Array
from tests.shapes.standing import bodies, fixed, overlaps, reach


def holes(part: Part, mount: str) -> Array:
    """Holes of a mount in the drive's frame (N, 3): x from the plugs' end, z over the underside."""
    place = part.mounts[mount]
    (pattern,) = place.rows.values()
    return place.mount2part.apply(np.array([(*hole.at, 0.0) for hole in pattern]))


@pytest.mark.parametrize(
    ("size", "outside"),
    [
        ("2.5", (100.45, 69.85, 9.5)),  # SFF-8201: A6, A4, one of A1
        ("3.5", (147.0, 101.6, 26.1)),  # SFF-8301: A2, A3, one of A1
        ("5.25", (202.8, 146.05, 41.53)),  # SFF-8551: A4, A5, A1
    ],
)
def test_outside(size, outside):
    low, high = reach(Drive(size=size).build(), "drive")
    np.testing.assert_allclose(high - low, outside)
    np.testing.assert_allclose(low, (0.0, -outside[1] / 2, 0.0))


@pytest.mark.parametrize(
    ("parameters", "along", "from_side"),
    [
        ({"size": "2.5"}, (14.0, 90.6), 4.07),  # A52, A53, A28
        ({"size": "3.5"}, (41.28, 41.28 + 44.45), 3.18),  # A7, A6, A5
        ({"size": "3.5", "bottom_holes": "outer"}, (41.28, 41.28 + 76.20), 3.18),  # A13
        ({"size": "5.25"}, (202.8 - 47.40 - 79.25, 202.8 - 47.40), 3.18),  # A9, A8, A7
    ],
)
def test_bottom_holes(parameters, along, from_side):
    part = Drive(**parameters).build()
    at, (low, high) = holes(part, "bottom"), reach(part, "drive")
    assert len(at) == 4
    np.testing.assert_allclose(sorted({*at[:, 0].round(6)}), along)
    np.testing.assert_allclose(at[:, 2], 0.0, atol=1e-12)
    np.testing.assert_allclose(np.minimum(at[:, 1] - low[1], high[1] - at[:, 1]), from_side, atol=0.006)


@pytest.mark.parametrize(
    ("size", "along", "up"),
    [
        ("2.5", (14.0, 90.6), (3.0,)),  # A52, A53, A23
        ("3.5", (28.5, 28.5 + 101.6), (6.35,)),  # A8, A9, A10
        ("5.25", (202.8 - 47.40 - 79.25, 202.8 - 47.40), (10.0, 21.84)),  # A10, A11, A13, A14
    ],
)
@pytest.mark.parametrize(("side", "which"), [("window", 0), ("tray", 1)])
def test_side_holes(size, along, up, side, which):
    part = Drive(size=size).build()
    at = holes(part, side)
    np.testing.assert_allclose(sorted({*at[:, 0].round(6)}), along)
    np.testing.assert_allclose(sorted({*at[:, 2].round(6)}), up)
    np.testing.assert_allclose(at[:, 1], reach(part, "drive")[which][1])


def test_across_5_25_in_the_bottom_holes_are_139_70_apart():
    assert np.ptp(holes(Drive(size="5.25").build(), "bottom")[:, 1]) == pytest.approx(139.70)  # A6
    low, high = reach(Drive(size="5.25").build(), "bezel")
    np.testing.assert_allclose(high - low, (5.0, 148.0, 42.3))  # A17, A3, A2


@pytest.mark.parametrize(("word", "size"), [(3.5, "3.5"), ("2.5 in", "2.5"), ('5.25"', "5.25"), (2.5, "2.5")])
def test_sizes_as_builders_write_them(word, size):
    assert Drive.model_validate({"size": word}).size == size


@pytest.mark.parametrize("size", ["2.5", "3.5"])
def test_it_is_screwed_into_the_cage_of_a_tower_clear_of_it(size):
    case, drive = CaseTower(drive_cage=True, floor_slots=0).build(), Drive(size=size).build()
    pose = fixed(drive, case, "drive_1")
    assert not overlaps(bodies(drive, pose), bodies(case))
    other = Drive(size="3.5", bottom_holes="outer").build()
    with pytest.raises(MountError, match="hole patterns differ"):
        fixed(other, case, "drive_1")


def test_room_for_its_plugs_is_likely_taken():
    (zone,) = Drive(cable_room=20).build().zones
    assert zone.severity == "warning"
    assert zone.zone2part.origin[0] + zone.primitive.size[0] / 2 == pytest.approx(0.0)
    assert not Drive(cable_room=0).build().zones


@pytest.mark.parametrize(
    ("parameters", "message"),
    [
        ({"size": "2.5", "height": 26.1}, r"2\.5 in drive is 4\.6 to 19\.05 mm high, got 26\.1 mm"),
        ({"size": "3.5", "depth": 120}, r"3\.5 in drive is 132\.056 to 147 mm long, got 120 mm"),
        ({"size": "2.5", "bottom_holes": "outer"}, r"a 2\.5 in drive has one set of bottom holes"),
    ],
)
def test_refused(parameters, message):
    with pytest.raises(ValueError, match=message):
        Drive(**parameters).build()


@settings(max_examples=200, deadline=None, derandomize=True)
@given(st.sampled_from(["2.5", "3.5", "5.25"]), st.floats(5, 42), st.floats(95, 202.8))
def test_every_hole_lies_on_the_drive_whatever_its_size(size, height, depth):
    try:
        part = Drive(size=size, height=height, depth=depth).build()
    except ValueError:
        return
    low, high = reach(part, "drive")
    np.testing.assert_allclose((high - low)[[0, 2]], (depth, height))
    for name in part.mounts:
        assert (holes(part, name) > low - 1e-9).all()
        assert (holes(part, name) < high + 1e-9).all()
