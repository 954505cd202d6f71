"""The case against the board and supply standards it has to take, and with them standing in it."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layout3d.placing.mounting import MountError
from shapes.case_tower import CaseTower
from shapes.form_factors import BOARD_HOLES_MM
from shapes.graphics_card import GraphicsCard
from shapes.motherboard import Motherboard
from shapes.part import Part
from shapes.pose import Array, compose
from shapes.power_supply import PowerSupply
from shapes.primitives import RectOpening, RoundOpening
from shapes.radiator import Radiator
from tests.shapes.standing import bodies, fixed, overlaps, reach, solid

CASE = CaseTower().build()


def rects(part: Part, name: str) -> Array:
    """Low and high corners (n, 2, 3) of a sheet's rectangular openings in the case's frame."""
    sheet = solid(part, name)
    found = []
    for opening in sheet.primitive.openings:
        if isinstance(opening, RectOpening):
            half = np.array(opening.size) / 2
            corners = np.array([(*(opening.at - half), 0.0), (*(opening.at + half), 0.0)])
            placed = sheet.solid2part.apply(corners)
            found.append((placed.min(axis=0), placed.max(axis=0)))
    return np.array(found)


def at_hole(letter: str) -> Array:
    """Where a board's hole stands in the case: on the tip of its stand-off."""
    low, high = reach(CASE, f"stand_off_{letter}")
    middle = (low + high) / 2
    return np.array((middle[0], low[1], middle[2]))


def test_stand_offs_are_where_the_standard_puts_the_holes():
    # ATX hole table, two secondary sources; A-F, A-C and the row offsets.
    np.testing.assert_allclose(at_hole("F") - at_hole("A"), (22.86, 0, 281.94))
    np.testing.assert_allclose(at_hole("C") - at_hole("A"), (0, 0, 124.46), atol=1e-9)
    np.testing.assert_allclose(at_hole("L") - at_hole("C"), (227.33, 0, 0), atol=1e-9)
    np.testing.assert_allclose(at_hole("H") - at_hole("C"), (154.94, 0, 0), atol=1e-9)
    # 0.25 in under the board: common practice, no source.
    assert reach(CASE, "tray")[0][1] - at_hole("A")[1] == pytest.approx(6.35)


def test_io_aperture():
    # microATX 1.2 figure 4: 158.75 x 44.45; its place: Mini-ITX drawing, secondary source.
    low, high = rects(CASE, "rear")[0]
    np.testing.assert_allclose((high - low)[[2, 1]], (158.75, 44.45))
    hole_b = at_hole("C") - (0, 0, 45.72)
    assert low[2] - hole_b[2] == pytest.approx(53.24)  # from hole B toward F
    component_face = hole_b[1] - 1.57
    assert high[1] - component_face == pytest.approx(3.81)  # below the face: toward the tray
    inner_face = reach(CASE, "rear")[1][0]
    assert hole_b[0] - inner_face == pytest.approx(12.27)


def test_slot_openings():
    # 0.8 in apart (ATX hole table), 12.06 x 89.90 each (PCI Express drawings, secondary).
    low, high = rects(CASE, "rear")[1:8].transpose(1, 0, 2)
    np.testing.assert_allclose(np.diff(low[:, 2]), -20.32)
    np.testing.assert_allclose((high - low)[:, 2], 12.06)
    np.testing.assert_allclose((high - low)[:, 1], 89.90)


@pytest.mark.parametrize(("row", "spacing"), [("120", 105.0), ("140", 124.5)])
@pytest.mark.parametrize("mount", ["roof", "front", "floor"])
def test_rails_have_the_fans_hole_spacing(mount, row, spacing):
    # Table of fan hole spacings, secondary source.
    across = [hole.at[1] for hole in CASE.mounts[mount].rows[row]]
    assert max(across) - min(across) == pytest.approx(spacing)


def test_rails_look_into_the_case_and_the_slots_are_cut():
    for mount, panel in (("roof", "roof"), ("front", "front"), ("rear", "rear"), ("floor", "floor")):
        frame = CASE.mounts[mount].mount2part
        middle = np.array([(240.0, 107.5, 240.0)])
        assert frame.inverse.apply(middle)[0][2] > 0, mount
        drilled = solid(CASE, panel).primitive.screw_holes
        for holes in CASE.mounts[mount].rows.values():
            for hole in holes:
                at = solid(CASE, panel).solid2part.inverse.apply(frame.apply(np.array((*hole.at, 0.0))))
                assert any(np.hypot(*(at[:2] - one.at)) < 1e-9 for one in drilled)


def test_a_360_goes_in_the_roof_and_a_240_or_280_in_front_together():
    roof = Radiator(fans=3, thickness=52).build()  # 27 and a 25 mm fan
    low, high = bodies_reach(roof, fixed(roof, CASE, "roof", by="a"))
    for front in (Radiator(fans=2, thickness=52), Radiator(fans=2, fan_size=140, thickness=52)):
        part = front.build()
        pose = fixed(part, CASE, "front", by="a")
        assert not overlaps(bodies(part, pose), bodies(CASE))
        assert not overlaps(bodies(part, pose), bodies(roof, fixed(roof, CASE, "roof", by="a")))
    assert not overlaps(bodies(roof, fixed(roof, CASE, "roof", by="a")), bodies(CASE))
    assert (low > 0).all()
    assert (high < 480).all()


def bodies_reach(part: Part, pose) -> tuple[Array, Array]:
    placed = bodies(part, pose).values()
    return np.min([one.low for one in placed], axis=0), np.max([one.high for one in placed], axis=0)


def test_rows_take_a_fan_anywhere_in_their_slots_and_no_further():
    roof = Radiator(fans=3).build()
    travel = (385 - 4.5 - 345) / 2  # slots less the 3 x 120 pattern of 345 mm
    fixed(roof, CASE, "roof", by="a", slide=travel)
    with pytest.raises(MountError, match=r"beyond the slots, -17\.75 to 17\.75 mm is possible"):
        fixed(roof, CASE, "roof", by="a", slide=travel + 1)
    with pytest.raises(MountError, match="hole patterns differ"):
        fixed(Radiator(fans=1, fan_size=180).build(), CASE, "roof", by="a")


@pytest.mark.parametrize("form", ["ATX", "microATX", "Mini-ITX"])
def test_a_board_stands_on_its_stand_offs(form):
    case = CaseTower(stand_offs=form).build()
    board = Motherboard(form=form).build()
    pose = fixed(board, case, "tray")
    assert not overlaps(bodies(board, pose), bodies(case))
    # The part's frame is the case's: it stands there unturned.
    np.testing.assert_allclose(pose.rotation, np.eye(3), atol=1e-12)
    holes = pose.apply(np.array([(along, 0.0, -down) for down, along in BOARD_HOLES_MM.values()]))
    tips = {
        tuple(np.round((low + high)[[0, 2]] / 2, 6))
        for low, high in (reach(case, one.name) for one in case.solids if one.name.startswith("stand_off"))
    }
    assert tips <= {tuple(np.round(hole[[0, 2]], 6)) for hole in holes}


def test_a_board_without_its_stand_offs_is_refused():
    with pytest.raises(MountError, match="hole patterns differ"):
        fixed(Motherboard(form="microATX").build(), CASE, "tray")


@pytest.mark.parametrize("slot", range(1, 8))
def test_a_cards_bracket_meets_the_rear_panel(slot):
    # Its outer face against the panel's inner one: 0.16 mm of play by the drawings, no overlap.
    board = Motherboard(slots=("x16",) * 7).build()
    card = GraphicsCard(slots=1 if slot == 7 else 2).build()
    pose = compose(fixed(card, board, f"slot_{slot}"), fixed(board, CASE, "tray"))
    placed = bodies(card, pose)
    assert not overlaps(placed, bodies(CASE))
    play = placed["bracket"].low[0] - reach(CASE, "rear")[1][0]
    assert play == pytest.approx(0.16, abs=1e-9)
    # The bracket covers its slots' openings and rests its bent end on the panel's edge.
    low, high = rects(CASE, "rear")[slot]
    assert placed["bracket"].low[2] < low[2]
    assert placed["bracket"].high[2] > high[2]
    assert placed["bracket_end"].high[1] == pytest.approx(rects(CASE, "rear")[8][1][1])


@pytest.mark.parametrize("turn", [0, 180])
def test_a_supply_goes_in_either_way_up(turn):
    supply = PowerSupply().build()
    assert not overlaps(bodies(supply, fixed(supply, CASE, "psu", turn=turn)), bodies(CASE))
    with pytest.raises(MountError, match="hole patterns differ"):
        fixed(supply, CASE, "psu", turn=90)


def test_sfx_opening():
    case, supply = CaseTower(psu="SFX").build(), PowerSupply(style="SFX").build()
    assert not overlaps(bodies(supply, fixed(supply, case, "psu")), bodies(case))
    with pytest.raises(MountError, match="hole patterns differ"):
        fixed(supply, CASE, "psu")


def test_the_roof_is_open_for_a_fans_air_and_a_tube():
    low, high = rects(CASE, "roof")[0]
    frame = CASE.mounts["roof"].mount2part.origin
    assert (low[:2] < frame[:2] - 40).all()
    assert (high[:2] > frame[:2] + 40).all()


def test_passes_let_a_tube_through_the_shroud():
    # Soft 1/2 x 3/4 in tube is 19.05 mm; tube_gap is 3.
    rounds = [one for one in solid(CASE, "shroud_top").primitive.openings if isinstance(one, RoundOpening)]
    assert [one.diameter for one in rounds] == [30.0, 30.0]
    assert 30.0 >= 19.05 + 2 * 3


def test_what_can_be_left_out():
    names = {one.name for one in CaseTower(window="none", shroud=False, floor_slots=0).build().solids}
    assert not names & {"window_panel", "shroud_top", "shroud_side", "cage_front"}
    caged = CaseTower(drive_cage=True, floor_slots=0).build()
    assert reach(caged, "cage_front")[1][2] < reach(caged, "shroud_top")[0][2]
    assert "floor" not in caged.mounts
    assert CaseTower(depth=380, shroud=False, roof_slots=300, roof_middle=190, floor_middle=300).build()
    assert solid(CaseTower(window="steel").build(), "window_panel").primitive.thickness == 1.0


@pytest.mark.parametrize(
    ("parameters", "message"),
    [
        ({"rear_fan": "140"}, r"rear: I/O aperture and rear fan run into each other by 0\.06 mm"),
        ({"height": 400}, r"from its top edge to the power supply's room there are 230 mm"),
        ({"depth": 380, "shroud_length": 400}, r"a shroud of 400 mm does not go into 378 mm"),
        ({"roof_slots": 100}, r"screw slots of 100 mm take no fan: 109\.5 mm or more"),
        ({"roof_middle": 100}, r"the roof row's screw slots reach -91\.5 to 293\.5"),
        ({"shroud_height": 90}, r"90 mm high, the power supply under it needs 91 mm"),
        ({"drive_cage": True}, r"stands 281 to 396 mm .* move them with floor_middle"),
        ({"drive_cage": True, "floor_slots": 0, "psu": "SFX", "shroud_height": 75}, r"75 mm has a room of"),
    ],
)
def test_refused(parameters, message):
    with pytest.raises(ValueError, match=message):
        CaseTower(**parameters).build()


@settings(max_examples=30, deadline=None)
@given(
    width=st.floats(215, 300),
    cable_room=st.floats(15, 30),
    drop=st.floats(40, 68),
    panel=st.floats(0.6, 1.5),
)
def test_boards_and_cards_fit_whatever_the_cases_size(width, cable_room, drop, panel):
    case = CaseTower(width=width, cable_room=cable_room, board_drop=drop, panel=panel).build()
    board, card = Motherboard().build(), GraphicsCard().build()
    stands = fixed(board, case, "tray")
    assert not overlaps(bodies(board, stands), bodies(case))
    assert not overlaps(bodies(card, compose(fixed(card, board, "slot_1"), stands)), bodies(case))
