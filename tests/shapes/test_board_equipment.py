"""What a board carries beside its holes: words for its form, covers, headers, clips, and wide boards."""

from __future__ import annotations

import numpy as np
import pytest

from layout3d.scene.reader import read_scene
from shapes.case_tower import CaseTower
from shapes.form_factors import board_holes
from shapes.motherboard import Motherboard
from shapes.power_supply import PowerSupply
from tests.shapes.standing import bodies, fixed, overlaps, reach


@pytest.mark.parametrize(
    ("word", "form"),
    [
        ("mATX", "microATX"),
        ("matx", "microATX"),
        ("micro-atx", "microATX"),
        ("Micro ATX", "microATX"),
        ("atx", "ATX"),
        ("itx", "Mini-ITX"),
        ("mini-itx", "Mini-ITX"),
        ("mITX", "Mini-ITX"),
    ],
)
def test_forms_as_builders_write_them(word, form):
    assert Motherboard.model_validate({"form": word}).form == form
    assert CaseTower.model_validate({"stand_offs": word}).stand_offs == form


@pytest.mark.parametrize(
    ("word", "style"), [("PS/2", "PS2"), ("ATX", "PS2"), ("sfx", "SFX"), ("SFX-L", "SFX")]
)
def test_power_supply_styles_as_builders_write_them(word, style):
    assert PowerSupply.model_validate({"style": word}).style == style


@pytest.mark.parametrize(
    ("word", "message"),
    [
        ("E-ATX", r"'E-ATX': a board deeper than 243\.84 mm with ATX holes is `form: ATX`"),
        ("XL", r"expected ATX, microATX or Mini-ITX, got 'XL'"),
    ],
)
def test_forms_it_has_not(tmp_path, word, message):
    scene = tmp_path / "board.yaml"
    scene.write_text(f"layout3d: 1\nparts:\n  board: {{shape: motherboard, at: [0, 0, 0], form: {word}}}\n")
    with pytest.raises(Exception, match=message) as caught:
        read_scene(scene)
    assert "parts.board.form" in str(caught.value)


@pytest.mark.parametrize("depth", [266.7, 330.2])
def test_a_wide_board_keeps_the_atx_holes_and_sits_on_the_tray(depth):
    # 305 x 267 mm boards have ATX holes: secondary transcription, original not read.
    board, case = Motherboard(form="ATX", depth=depth).build(), CaseTower().build()
    low, high = reach(board, "pcb")
    assert high[0] - low[0] == pytest.approx(depth)
    assert board.mounts["back"].rows["ATX"] == board_holes("ATX")
    fixed(board, case, "tray")
    assert reach(board, "main_power")[1][0] == pytest.approx(depth - 2.0)


@pytest.mark.parametrize("form", ["ATX", "microATX", "Mini-ITX"])
def test_every_form_sits_on_the_towers_tray(form):
    board, case = Motherboard(form=form).build(), CaseTower(stand_offs=form).build()
    pose = fixed(board, case, "tray")
    np.testing.assert_allclose(pose.rotation, np.eye(3), atol=1e-12)
    assert not overlaps(bodies(board, pose, but=["io_block"]), bodies(case, but=["rear_panel"]))


def test_too_shallow_for_its_holes():
    with pytest.raises(ValueError, match=r"holes of a ATX board need a depth of 242\.49 mm, got 230 mm"):
        Motherboard(depth=230).build()


def test_drive_modules_lie_where_slots_are_left_out():
    # 22 mm wide, 80 mm long: common practice.
    part = Motherboard(slots=("x16", "m2", "x1", "m2")).build()
    low, high = reach(part, "m2_cover_2")
    np.testing.assert_allclose((high - low)[[0, 2]], (82.0, 22.0))
    assert (low + high)[2] / 2 == pytest.approx(-(162.26 + 20.32))  # slot pitch: ATX hole table
    assert {name for name in part.mounts if name.startswith("slot_")} == {"slot_1", "slot_3"}
    assert not overlaps({"m2_cover_2": bodies(part)["m2_cover_2"]}, bodies(part, but=["m2_cover_2"]))


@pytest.mark.parametrize(
    ("parameters", "message"),
    [
        ({"slots": ("x16", "m2", "m2")}, r"slots 2 and 3: two covers 22 mm wide do not lie 20\.32 mm apart"),
        ({"form": "Mini-ITX", "slots": ("m2",)}, r"cover ends 173\.26 mm down, the board at 170\.18 mm"),
    ],
)
def test_refused(parameters, message):
    with pytest.raises(ValueError, match=message):
        Motherboard(**parameters).build()


def test_sockets_stand_side_by_side_and_share_their_room():
    one, two = Motherboard().build(), Motherboard(cpu_plugs=2).build()
    (_, b), (c, d) = reach(two, "cpu_power"), reach(two, "cpu_power_2")
    assert c[0] > b[0]
    sizes = [next(z for z in part.zones if z.name == "cpu_power_room").primitive.size for part in (one, two)]
    assert sizes[1][0] - sizes[0][0] == pytest.approx(d[0] - b[0])


@pytest.mark.parametrize(("form", "headers"), [("ATX", 4), ("microATX", 4), ("Mini-ITX", 2)])
def test_fan_headers_have_room_for_their_plugs(form, headers):
    part = Motherboard(form=form, fan_headers=4, fan_plug_room=24).build()
    rooms = [zone for zone in part.zones if zone.name.startswith("fan_plug_room")]
    assert len(rooms) == headers
    for number, zone in enumerate(rooms, 1):
        low, high = reach(part, f"fan_header_{number}")
        np.testing.assert_allclose(zone.zone2part.origin[[0, 2]], (low + high)[[0, 2]] / 2)
        assert (zone.severity, zone.primitive.size[1]) == ("warning", 24)
    names = [one.name for one in part.solids]
    for name in names:
        assert not overlaps({name: bodies(part)[name]}, bodies(part, but=[name])), name


def test_clips_swing_out_past_the_modules():
    part = Motherboard(modules=4).build()
    rooms = {zone.name: zone for zone in part.zones if "clip" in zone.name}
    assert set(rooms) == {"upper_clip_room", "lower_clip_room"}
    low, high = np.min([reach(part, f"memory_{n}")[0] for n in range(1, 5)], 0), reach(part, "memory_1")[1]
    for name, edge, sign in (("upper_clip_room", high[2], 1), ("lower_clip_room", low[2], -1)):
        zone = rooms[name]
        assert zone.severity == "warning"
        near = zone.zone2part.origin[2] - sign * zone.primitive.size[2] / 2
        assert near == pytest.approx(edge)
        assert zone.primitive.size[0] == pytest.approx(high[0] - low[0])
    assert not [z for z in Motherboard(clips="none").build().zones if "clip" in z.name]
    assert [z.name for z in Motherboard(clips="upper").build().zones if "clip" in z.name] == [
        "upper_clip_room"
    ]
    assert not [z for z in Motherboard(modules=0).build().zones if "clip" in z.name]
