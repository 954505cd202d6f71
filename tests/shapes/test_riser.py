"""A card stands on a riser as its drawings allow (PCI Express card, secondary source, original not read)."""

from __future__ import annotations

import numpy as np
import pytest

from layout3d.placing.mounting import MountError
from shapes.case_tower import CaseTower
from shapes.graphics_card import GraphicsCard
from shapes.pose import DIRECTIONS, compose
from shapes.riser import Riser
from tests.shapes.standing import bodies, fixed, overlaps, reach

CARD = GraphicsCard().build()


@pytest.mark.parametrize("held", ["foot", "slots"])
@pytest.mark.parametrize("slots", [1, 2, 4])
def test_a_card_stands_with_its_cooler_to_the_window(held, slots):
    card, riser = GraphicsCard(slots=slots).build(), Riser(held=held).build()
    pose = fixed(card, riser, "slot")
    np.testing.assert_allclose(pose.origin, 0.0, atol=1e-9)
    np.testing.assert_allclose(pose.turn(np.array((0.0, 1.0, 0.0))), DIRECTIONS["floor"], atol=1e-12)
    np.testing.assert_allclose(pose.turn(np.array((0.0, 0.0, -1.0))), DIRECTIONS["window"], atol=1e-12)
    assert set(overlaps(bodies(card, pose), bodies(riser))) == {("edge_connector", "slot")}
    # Drawn out by what it engages, 11.25 - 3.40, nothing is left.
    drawn = pose.shifted((0.0, 0.0, riser.mounts["slot"].engagement))
    assert not overlaps(bodies(card, drawn), bodies(riser))


def test_connector_and_engagement():
    # Figure 6-1: x16 connector 89 x 7.5 x 11.25, datum 14.50 from its rear end.
    low, high = reach(Riser().build(), "slot")
    np.testing.assert_allclose(high - low, (89.0, 7.5, 11.25))
    assert low[0] == pytest.approx(-14.50)
    assert Riser().build().mounts["slot"].engagement == pytest.approx(11.25 - 3.40)


@pytest.mark.parametrize("height", [23, 27, 120])
def test_the_bracket_ends_over_the_surface_it_stands_on(height):
    riser = Riser(height=height).build()
    placed = bodies(CARD, fixed(CARD, riser, "slot"))
    assert min(one.low[2] for one in placed.values()) >= -height - 1e-9
    assert min(one.low[2] for one in bodies(riser).values()) == pytest.approx(-height)


def test_it_stands_on_a_towers_shroud():
    case, riser = CaseTower().build(), Riser().build()
    pose = fixed(riser, case, "shroud", slide=40)
    assert not overlaps(bodies(riser, pose), bodies(case))


@pytest.mark.parametrize("openings", [2, 3, 5])
def test_it_hangs_on_slot_openings_with_the_card_clear_of_the_case(openings):
    case, riser = CaseTower().build(), Riser(held="slots", frame_slots=openings).build()
    pose = fixed(riser, case, "bracket_3" if openings < 5 else "bracket_1")
    np.testing.assert_allclose(pose.rotation, np.eye(3), atol=1e-12)
    assert not overlaps(bodies(riser, pose), bodies(case))
    assert not overlaps(bodies(CARD, compose(fixed(CARD, riser, "slot"), pose)), bodies(case))
    inner_face = case.mounts["bracket_1"].mount2part.origin[0]
    assert bodies(riser, pose)["frame"].low[0] == pytest.approx(inner_face)


def test_its_frame_is_open_where_the_case_is():
    # 12.06 x 89.90 and 20.32 apart: bracket opening and slot pitch.
    frame = next(one for one in Riser(held="slots", frame_slots=4).build().solids if one.name == "frame")
    sizes = {tuple(np.round(sorted(opening.size), 6)) for opening in frame.primitive.openings}
    assert sizes == {(12.06, 89.9)}
    places = np.sort([max(opening.at, key=abs) for opening in frame.primitive.openings])
    np.testing.assert_allclose(np.diff(places), 20.32)


def test_held_by_slots_it_has_no_foot():
    assert set(Riser(held="slots").build().mounts) == {"slot", "bracket"}
    with pytest.raises(MountError, match=r"takes a part with a 'stand' mount, this one has bracket, slot"):
        fixed(Riser(held="slots").build(), CaseTower().build(), "shroud")


@pytest.mark.parametrize(
    ("parameters", "message"),
    [
        ({"set_back": 90}, r"set_back 90 is for `held: slots`, here it is `held: foot`"),
        ({"held": "slots", "height": 40}, r"height 40 is for `held: foot`, here it is `held: slots`"),
    ],
)
def test_a_figure_that_would_not_count_is_refused(parameters, message):
    with pytest.raises(ValueError, match=message):
        Riser(**parameters).build()


def test_refused():
    with pytest.raises(
        ValueError, match=r"frame reaches 45\.05 to 134\.95 mm .* out can be -24\.95 to 48\.95"
    ):
        Riser(held="slots", out=90).build()
