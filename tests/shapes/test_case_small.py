"""Small, dual-chamber, mirrored and open cases against the standards, and with builds standing in them."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layout3d.build import build
from layout3d.checks.check import check
from layout3d.kernels.bodies import body
from layout3d.scene.reader import read_scene
from shapes import shape_named
from shapes.form_factors import BOARD_HOLES_MM, HOLE_SETS
from shapes.mirror import mirrored
from shapes.motherboard import Motherboard
from shapes.part import Part, Solid
from shapes.pose import IDENTITY, Pose, compose
from shapes.primitives import Box, Plate, RectOpening, Straight, TubeRun
from tests.shapes.standing import bodies, fixed, overlaps, reach, solid

#: Family, parameters, and which board it is for.
CASES = {
    "tower": ("case_tower", {}, "ATX"),
    "full": ("case_tower", {"size": "full"}, "ATX"),
    "mirrored": ("case_tower", {"mirrored": True}, "ATX"),
    "sandwich": ("case_sandwich", {}, "Mini-ITX"),
    "shoebox": ("case_shoebox", {}, "Mini-ITX"),
    "sandwich mirrored": ("case_sandwich", {"mirrored": True}, "Mini-ITX"),
    "shoebox mirrored": ("case_shoebox", {"mirrored": True}, "Mini-ITX"),
    "dual": ("case_dual", {}, "ATX"),
    "dual mirrored": ("case_dual", {"mirrored": True}, "ATX"),
    "open": ("open_frame", {}, "ATX"),
}
#: Sheet with the slot openings, and the one with the I/O aperture.
SLOTTED = {"open": "bracket_rail"}


def made(label: str, **more) -> Part:
    family, parameters, _ = CASES[label]
    return shape_named(family).model_validate({**parameters, **more}).build()


def rects(part: Part, name: str) -> list[tuple[float, float]]:
    """Sizes of a sheet's rectangular openings, the greater side first."""
    openings = solid(part, name).primitive.openings
    return [tuple(sorted(one.size, reverse=True)) for one in openings if isinstance(one, RectOpening)]


@pytest.mark.parametrize("label", CASES)
def test_the_board_is_screwed_to_its_stand_offs(label):
    # Hole sets of microATX 1.2 and the Mini-ITX addendum 1.1, distances of the ATX hole table.
    form = CASES[label][2]
    case, board = made(label), Motherboard(form=form).build()
    pose = fixed(board, case, "tray")
    assert np.linalg.det(pose.rotation) == pytest.approx(1.0)
    assert not overlaps(bodies(board, pose), bodies(case))
    for letter in HOLE_SETS[form]:
        down, along = BOARD_HOLES_MM[letter]
        hole = pose.apply(np.array((along, 0.0, -down)))
        low, high = reach(case, f"stand_off_{letter}")
        assert (low <= hole + 1e-9).all()
        assert (hole <= high + 1e-9).all()


@pytest.mark.parametrize("label", CASES)
def test_openings_of_the_rear_panel(label):
    # I/O aperture 158.75 x 44.45: microATX 1.2 figure 4; slot 89.90 x 12.06: card drawings, secondary.
    sizes = rects(made(label), SLOTTED.get(label, "rear"))
    slots = [size for size in sizes if size == pytest.approx((89.90, 12.06))]
    assert len(slots) == {"sandwich": 3, "shoebox": 2}.get(label.split()[0], 7)
    if label != "open":
        assert sizes.count(pytest.approx((158.75, 44.45))) == 1


@pytest.mark.parametrize("label", CASES)
def test_brackets_places_are_a_slot_pitch_apart_and_face_the_front(label):
    # 0.8 in: ATX hole table.
    case = made(label)
    at = [one.mount2part for one in case.mounts.values() if one.kind == "bracket"]
    for one, other in pairwise(at):
        assert np.linalg.norm(one.origin - other.origin) == pytest.approx(20.32)
    assert all(one.z_axis @ (1, 0, 0) == pytest.approx(1.0) for one in at)


def test_mounts_look_into_free_room():
    cases = [*map(made, CASES), made("tower", drive_cage=True, floor_slots=0, bulkheads=2)]
    probe = Box((4.0, 4.0, 4.0))
    for case in cases:
        around = bodies(case)
        for name, mount in case.mounts.items():
            if mount.kind != "slot":
                stands = compose(Pose.at((0.0, 0.0, 2.1)), mount.mount2part)
                assert not overlaps({"probe": body(probe, stands)}, around), name


#: Where radiators go in each case: mount -> fans; the build must be clear by the checker.
BUILDS = {
    "tower": {"roof": 3, "front": 2},
    "full": {"roof": 4, "front": 2},
    "mirrored": {"roof": 3, "front": 2},
    "sandwich": {"roof": 2},
    "shoebox": {"front": 2},
    "sandwich mirrored": {"roof": 2},
    "shoebox mirrored": {"front": 2},
    "dual": {"roof": 3, "side": 2},
    "dual mirrored": {"roof": 3, "side": 2},
    "open": {"rail": 3},
}


@pytest.mark.parametrize("label", CASES)
def test_board_card_supply_and_radiators_with_fans_are_clear_together(label, tmp_path: Path):
    family, parameters, form = CASES[label]
    style = "SFX" if family == "case_sandwich" else "PS2"
    lines = ["layout3d: 1", "title: Build", "parts:"]
    lines.append(f"  case: {{shape: {family}" + "".join(f", {k}: {v}" for k, v in parameters.items()) + "}")
    lines.append(f"  board: {{shape: motherboard, form: {form}, fixed_to: {{mount: case.tray}}}}")
    slot = "case.riser" if family == "case_sandwich" else "board.slot_1"
    lines.append(f"  card: {{shape: graphics_card, fixed_to: {{mount: {slot}}}}}")
    lines.append(f"  supply: {{shape: power_supply, style: {style}, fixed_to: {{mount: case.psu}}}}")
    for row, fans in BUILDS[label].items():
        place = f"{{mount: case.{row}, by: a}}"
        lines.append(f"  {row}_radiator: {{shape: radiator, fans: {fans}, fixed_to: {place}}}")
        for fan in range(1, fans + 1):
            lines.append(f"  {row}_fan_{fan}: {{shape: fan, fixed_to: {{mount: {row}_radiator.b{fan}}}}}")
    scene = tmp_path / "build.yaml"
    scene.write_text("\n".join(lines) + "\n", encoding="utf-8")
    checked = check(build(read_scene(scene)))
    errors = [one.message for one in checked.findings if one.severity == "error"]
    assert not errors


def test_drives_fit_their_places():
    # SFF-8301: 101.60 x 147.0 x 26.10, bottom holes 95.25 x 44.45; SFF-8201: 69.85 x 100.45,
    # holes 76.6 along (A53 - A52), 69.85 - 2 x 4.07 across; by transcriptions.
    for case in (
        made("tower", drive_cage=True, floor_slots=0),
        made("mirrored", drive_cage=True, floor_slots=0),
        made("shoebox", drive_cage=True, drive_bays=2),
        made("shoebox mirrored", drive_cage=True, drive_bays=2),
        made("dual"),
        made("dual mirrored"),
        made("open"),
    ):
        places = {name: one for name, one in case.mounts.items() if one.kind == "drive"}
        assert len(places) == 2
        drives = {}
        for name, place in places.items():
            for row, along, across in (("3.5", 44.45, 95.25), ("2.5", 76.6, 61.71)):
                xs, ys = zip(*(hole.at for hole in place.rows[row]), strict=True)
                assert max(xs) - min(xs) == pytest.approx(along)
                assert max(ys) - min(ys) == pytest.approx(across)
            # The plugs' end is 41.28 from the first holes; x points away from it.
            middle = 147.0 / 2.0 - 41.28 - 44.45 / 2.0
            stands = compose(Pose.at((middle, 0.0, 26.1 / 2.0)), place.mount2part)
            drives[name] = body(Box((147.0, 101.6, 26.1)), stands)
        assert not overlaps(drives, bodies(case))
        one, other = drives.values()
        assert not overlaps({"one": one}, {"other": other})


@pytest.mark.parametrize("label", CASES)
def test_panels_come_off_their_own_way(label):
    # The box it sweeps over 300 mm meets nothing else.
    case = made(label, **({"drive_cage": True, "floor_slots": 0} if label in ("tower", "mirrored") else {}))
    around = bodies(case)
    for name, way in case.removals.items():
        if not name.endswith("_panel"):
            continue
        low, high = reach(case, name)
        far = np.array(way) * 300.0
        swept = np.minimum(low, low + far) + 1e-6, np.maximum(high, high + far) - 1e-6
        box = body(Box(tuple(swept[1] - swept[0])), Pose.at((swept[0] + swept[1]) / 2.0))
        others = {other: one for other, one in around.items() if other != name}
        assert not overlaps({"sweep": box}, others), name
    assert set(case.removals) <= set(around)
    assert bool(case.removals) == (label != "open")


def test_a_cage_comes_out_at_the_window_side():
    for label, sign in (("tower", -1.0), ("mirrored", 1.0)):
        case = made(label, drive_cage=True, floor_slots=0)
        cage = [name for name in case.removals if name.startswith("cage")]
        lows, highs = zip(*(reach(case, name) for name in cage), strict=True)
        low, high = np.min(lows, axis=0), np.max(highs, axis=0)
        for step in np.arange(0.0, 250.0, 0.5):  # half the thickness of the sheet it could meet
            by = np.array((0.0, sign * step, 0.0))
            middle = Pose.at((low + high) / 2.0 + by)
            box = body(Box(tuple(high - low - 1e-6)), middle)
            fixed_ones = bodies(case, but=(*cage, "window_panel"))
            assert not overlaps({"cage": box}, fixed_ones), (label, step)


def test_mirroring_twice_leads_back():
    case = made("tower", drive_cage=True, floor_slots=0)
    again = mirrored(mirrored(case, 215.0), 215.0)
    for one, other in zip(case.solids, again.solids, strict=True):
        assert one.primitive == other.primitive
        np.testing.assert_allclose(one.solid2part.rotation, other.solid2part.rotation, atol=1e-12)
        np.testing.assert_allclose(one.solid2part.origin, other.solid2part.origin, atol=1e-9)
    for name, mount in case.mounts.items():
        assert again.mounts[name].rows == mount.rows
        np.testing.assert_allclose(
            mount.mount2part.rotation, again.mounts[name].mount2part.rotation, atol=1e-12
        )
    run = TubeRun((Straight((0.0, 0.0, 0.0), (1.0, 0.0, 0.0)),), 2.0, 1.0)
    with pytest.raises(TypeError, match="TubeRun cannot be mirrored"):
        mirrored(Part((Solid("run", run, IDENTITY),)), 1.0)


def test_an_inverted_board_has_its_slots_over_its_processor():
    # The trade's word: the board is turned half round about its length, it is not a mirror image.
    case, board = made("mirrored"), Motherboard().build()
    pose = fixed(board, case, "tray")
    np.testing.assert_allclose(pose.rotation, np.diag((1.0, -1.0, -1.0)), atol=1e-12)
    window = reach(case, "window_panel")
    components = pose.turn(np.array((0.0, -1.0, 0.0)))
    assert (window.mean(axis=0) - pose.origin) @ components > 0
    for mount, facing in (("roof", (0, 0, -1)), ("front", (-1, 0, 0)), ("floor", (0, 0, 1))):
        assert case.mounts[mount].mount2part.z_axis == pytest.approx(facing)
        slide = (0, 0, 1) if mount == "front" else (1, 0, 0)
        assert case.mounts[mount].mount2part.x_axis == pytest.approx(slide)
        assert np.linalg.det(case.mounts[mount].mount2part.rotation) == pytest.approx(1.0)


@pytest.mark.parametrize("label", ["sandwich", "shoebox"])
def test_a_small_case_mirrored_has_its_window_on_the_other_side(label):
    # A board and a card have no mirror image (the trade's word: they can only be turned round).
    case, turned = made(label), made(f"{label} mirrored")
    for name, other in (("window_panel", "tray_panel"), ("tray_panel", "window_panel")):
        assert reach(case, name)[0][1] < 100.0 or reach(turned, name)[1][1] < 100.0
        assert case.removals[name] == turned.removals[other]
    assert reach(turned, "window_panel")[1][1] == pytest.approx(reach(case, "tray_panel")[1][1])
    board = Motherboard(form="Mini-ITX").build()
    upright, stands = (fixed(board, one, "tray").rotation for one in (case, turned))
    about_x = np.diag((1.0, -1.0, -1.0)) if label == "sandwich" else np.eye(3)
    np.testing.assert_allclose(stands, about_x @ upright, atol=1e-12)
    assert np.linalg.det(turned.mounts["psu"].mount2part.rotation) == pytest.approx(1.0)


def test_grommets_leave_their_openings_free():
    case = made("tower", grommets=True)
    tray = solid(case, "tray")
    for name in ("grommet_cpu_power_cable", "grommet_main_power_cable"):
        rim = solid(case, name)
        assert isinstance(rim.primitive, Plate)
        (opening,) = rim.primitive.openings
        assert any(one.size == pytest.approx(opening.size) for one in tray.primitive.openings)
        low, high = reach(case, name)
        assert high[1] == pytest.approx(reach(case, "tray")[0][1])
        assert min(high - low) == pytest.approx(2.0)


@pytest.mark.parametrize(
    ("label", "parameters", "message"),
    [
        ("sandwich", {"depth": 300}, r"supply runs into the board by 15\.29 mm"),
        ("sandwich", {"board_room": 60}, r"needs 63\.5 x 129 mm, the board's chamber has 60 x"),
        ("sandwich", {"height": 230}, r"Mini-ITX board of 170\.18 mm has 152 mm"),
        ("sandwich", {"slots": 4, "width": 170}, r"4 slots reach 179\.785 mm .* stands at 169"),
        ("sandwich mirrored", {"card_drop": 6}, r"riser reaches .* mm into the floor: card_drop 12\.\d+ mm"),
        ("shoebox", {"deck_height": 80}, r"under the deck 90 mm are needed, there are 79"),
        ("shoebox", {"drive_cage": True, "drive_bays": 3}, r"drive cage under the deck 112 mm"),
        ("dual", {"width": 260}, r"behind the tray 86 mm are needed, there are 74"),
        ("dual", {"height": 360}, r"for the ATX board down from its upper edge 304\.8 mm are needed"),
        ("open", {"width": 330}, r"across board and slots 378\.8 mm are needed, there are 330"),
    ],
)
def test_refused(label, parameters, message):
    with pytest.raises(ValueError, match=message):
        made(label, **parameters)


@settings(max_examples=40, deadline=None)
@given(
    data=st.data(),
    label=st.sampled_from([label for label in CASES if label != "tower"]),
)
def test_boards_fit_whatever_the_cases_size(data, label):
    ranges = {
        "sandwich": {"width": (186, 260), "board_room": (70, 90), "depth": (380, 480)},
        "shoebox": {"width": (210, 350), "depth": (390, 560), "board_drop": (8, 16), "height": (312, 420)},
        "dual": {"width": (290, 400), "chamber": (171, 180), "board_drop": (50, 90), "height": (450, 600)},
        "full": {"width": (235, 300), "cable_room": (15, 30), "board_drop": (75, 95)},
        "open": {"width": (400, 600), "depth": (370, 600), "board_drop": (20, 80)},
    }
    mine = ranges.get(label.split()[0], {"width": (215, 300), "cable_room": (15, 30), "board_drop": (36, 48)})
    sizes = {key: data.draw(st.floats(*span).map(lambda x: round(x, 2)), key) for key, span in mine.items()}
    case, board = made(label, **sizes), Motherboard(form=CASES[label][2]).build()
    assert not overlaps(bodies(board, fixed(board, case, "tray")), bodies(case))
