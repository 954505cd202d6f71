"""Fans and grilles: outline, duct, holes, and what is refused."""

from __future__ import annotations

import math

import numpy as np
import pytest
from pydantic import ValidationError

from shapes.bounds import part_box
from shapes.fan import Fan
from shapes.filter import Filter
from shapes.gasket import Gasket
from shapes.grille import Grille
from shapes.pose import IDENTITY
from shapes.primitives import Cylinder, Plate, RectOpening, RoundOpening
from shapes.shroud import Shroud


def frame_of(fan: Fan) -> Plate:
    (frame,) = (solid.primitive for solid in fan.build().solids if solid.name == "frame")
    assert isinstance(frame, Plate)
    return frame


@pytest.mark.parametrize("size", [80, 92, 120, 140, 180, 200])
def test_fan_fills_its_frame(size):
    low, high = part_box(Fan(size=size, thickness=30).build(), IDENTITY)
    assert (tuple(low), tuple(high)) == ((-size / 2, -size / 2, -15), (size / 2, size / 2, 15))


def test_air_goes_from_inlet_to_outlet_and_the_faces_are_each_others_flip():
    mounts = Fan().build().mounts
    inlet, outlet = mounts["inlet"], mounts["outlet"]
    assert tuple(outlet.mount2part.origin - inlet.mount2part.origin) == (0, 0, 25)
    assert tuple(outlet.mount2part.z_axis) == (0, 0, 1) == tuple(-inlet.mount2part.z_axis)
    assert (inlet.opposite, outlet.opposite) == ("outlet", "inlet")
    assert inlet.kind == outlet.kind == "fan"
    assert list(inlet.rows) == ["120"]


def test_rotor_turns_freely_in_the_duct():
    frame, rotor = Fan().build().solids
    assert isinstance(frame.primitive, Plate)
    assert isinstance(rotor.primitive, Cylinder)
    (duct,) = frame.primitive.openings
    assert isinstance(duct, RoundOpening)
    assert duct.diameter == 116
    assert rotor.primitive == Cylinder(114, 23)


def test_corner_holes_are_drilled_where_the_mount_has_them():
    # Wikipedia, "Computer fan": 120 mm frame, holes 105 mm apart, 4.3 mm.
    holes = frame_of(Fan()).screw_holes
    assert {hole.at for hole in holes} == {(x, y) for x in (-52.5, 52.5) for y in (-52.5, 52.5)}
    assert {hole.diameter for hole in holes if isinstance(hole, RoundOpening)} == {4.3}


@pytest.mark.parametrize(
    ("written", "message"),
    [
        ({"opening": 119.5}, "opening 119.5 mm leaves no frame of 120 mm; most 119"),
        ({"opening": 119, "size": 92}, "opening 119 mm leaves no frame of 92 mm"),
        ({"hole_spacing": 116}, "hole_spacing 116 mm does not fit a frame of 120 mm; most 114.7"),
        ({"hole_spacing": 85.5}, "opening 116 mm leaves 0.31 mm to the holes 85.5 mm apart; least 0.5"),
    ],
)
def test_fans_that_cannot_be(written, message):
    with pytest.raises(ValueError, match=message):
        Fan(**written).build()


def test_sizes_nobody_makes_are_refused_by_the_model():
    with pytest.raises(ValidationError, match="80, 92, 120, 140, 180 or 200"):
        Fan.model_validate({"size": 130})


@pytest.mark.parametrize(("fans", "size", "length"), [(1, 120, 120), (3, 120, 360), (2, 140, 280)])
def test_grille_covers_its_fans(fans, size, length):
    low, high = part_box(Grille(fans=fans, fan_size=size).build(), IDENTITY)
    assert tuple(high - low) == (length, size, 1)


def test_nothing_thicker_than_a_slot_passes_a_grille():
    (sheet,) = Grille(fans=2, slot=6, bar=3).build().solids
    assert isinstance(sheet.primitive, Plate)
    slots = sheet.primitive.openings
    assert len(slots) > 20
    for slot in slots:
        assert isinstance(slot, RectOpening)
        assert min(slot.size) == 6
    rows = sorted({slot.at[1] for slot in slots})
    assert np.allclose(np.diff(rows), 9)


@pytest.mark.parametrize("size", [120, 140])
def test_slots_stay_in_the_duct_clear_of_the_screws(size):
    (sheet,) = Grille(fan_size=size).build().solids
    assert isinstance(sheet.primitive, Plate)
    for slot in sheet.primitive.openings:
        assert isinstance(slot, RectOpening)
        corner = math.hypot(abs(slot.at[0]) + slot.size[0] / 2, abs(slot.at[1]) + slot.size[1] / 2)
        assert corner <= size / 2 - 3 + 1e-9


def test_grilles_screw_on_with_the_fans():
    # Geometry of flush 120 mm frames: 0, 105, 120, 225, 240, 345 from the first hole.
    part = Grille(fans=3).build()
    (sheet,) = part.solids
    assert isinstance(sheet.primitive, Plate)
    drilled = {hole.at for hole in sheet.primitive.screw_holes}
    assert drilled == {hole.at for hole in part.mounts["a"].rows["120"]}
    xs = sorted({x for x, _ in drilled})
    assert [x - xs[0] for x in xs] == [0, 105, 120, 225, 240, 345]


def test_overlapping_fans_are_refused():
    with pytest.raises(ValueError, match="fan_pitch 130 mm: fans of 140 mm would overlap"):
        Grille(fans=2, fan_size=140, fan_pitch=130).build()
    assert Grille(fans=1, fan_size=140, fan_pitch=130).build()


SPACING_MM = {80: 71.5, 92: 82.5, 120: 105.0, 140: 124.5, 200: 154.0}


@pytest.mark.parametrize("family", [Shroud, Gasket, Filter])
@pytest.mark.parametrize("size", SPACING_MM)
@pytest.mark.parametrize("fans", [1, 3])
def test_layers_take_the_fans_holes_on_both_faces(family, size, fans):
    # Wikipedia, "Computer fan": spacings by frame.
    part = family(fan_size=size, fans=fans).build()
    low, high = part_box(part, IDENTITY)
    thickness = family().thickness
    assert tuple(high - low) == (fans * size, size, thickness)
    for face, z in (("a", thickness / 2), ("b", -thickness / 2)):
        mount = part.mounts[face]
        assert tuple(mount.mount2part.origin) == (0, 0, z)
        assert len(mount.rows[str(size)]) == 4 * fans
        ys = sorted({hole.at[1] for hole in mount.rows[str(size)]})
        assert ys[1] - ys[0] == SPACING_MM[size]


def test_air_passes_shroud_and_gasket_but_nothing_passes_a_filter():
    for family in (Shroud, Gasket):
        (frame,) = family().build().solids
        assert frame.primitive.openings == (RoundOpening((0.0, 0.0), 116.0),)
        with pytest.raises(ValueError, match=r"opening 119\.5 mm leaves no frame"):
            family(opening=119.5).build()
    (mesh,) = Filter().build().solids
    assert mesh.primitive.openings == ()
