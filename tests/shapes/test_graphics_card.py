"""Card figures against the PCI Express card drawings (secondary source, original not read)."""

from __future__ import annotations

import numpy as np
import pytest

from layout3d.kernels.bodies import body
from shapes.graphics_card import GraphicsCard
from shapes.motherboard import Motherboard
from shapes.patterns import G_THREAD_MAJOR_MM
from shapes.pose import DIRECTIONS, Pose, compose
from tests.shapes.standing import bodies, fixed, overlaps, reach

CARD = GraphicsCard().build()
BOARD = Motherboard().build()
SEATED = fixed(CARD, BOARD, "slot_1")


def test_circuit_board_and_edge():
    low, high = reach(CARD, "pcb")
    assert low[0] == pytest.approx(-57.15)  # rear edge behind the slot's datum
    edge = reach(CARD, "edge_connector")
    assert edge[1][1] - low[1] == pytest.approx(111.15)  # height over the edge's end
    np.testing.assert_allclose(edge[:, 0], (-12.15, 72.15))  # x16
    assert high[2] - low[2] == pytest.approx(1.57)


def test_bracket():
    low, high = reach(CARD, "bracket")
    assert high[0] - low[0] == pytest.approx(0.86)
    assert reach(GraphicsCard(slots=1).build(), "bracket")[1][2] - reach(
        GraphicsCard(slots=1).build(), "bracket"
    )[0][2] == pytest.approx(18.42)
    # 120.02 from the bent end's lower face to the tab's end; the bent end is 11.43 deep.
    end, tab = reach(CARD, "bracket_end"), reach(CARD, "bracket_tab_1")
    assert tab[1][1] - end[1][1] == pytest.approx(120.02)
    assert low[0] - end[0][0] == pytest.approx(11.43)
    # The screw, 64.13 behind the datum, is 5.08 behind the outer face.
    assert low[0] - 5.08 == pytest.approx(-64.13)


@pytest.mark.parametrize("slots", [1, 2, 3, 4])
def test_one_tab_for_each_slot(slots):
    part = GraphicsCard(slots=slots).build()
    assert sum(one.name.startswith("bracket_tab") for one in part.solids) == slots
    low, high = reach(part, "bracket")
    assert high[2] - low[2] == pytest.approx(18.42 + 20.32 * (slots - 1))


def test_seated_edge_ends_3_40_over_the_board():
    edge = bodies(CARD, SEATED)["edge_connector"]
    assert edge.high[1] == pytest.approx(-1.57 - 3.40)
    assert BOARD.mounts["slot_1"].engagement == pytest.approx(11.25 - 3.40)
    assert CARD.mounts["edge"].engagement == BOARD.mounts["slot_1"].engagement


def test_drawn_out_by_its_engagement_nothing_overlaps():
    drawn = SEATED.shifted((0.0, -BOARD.mounts["slot_1"].engagement, 0.0))
    assert not overlaps(bodies(CARD, drawn), bodies(BOARD))
    short = compose(SEATED, Pose.at((0.0, 0.1 - BOARD.mounts["slot_1"].engagement, 0.0)))
    assert set(overlaps(bodies(CARD, short), bodies(BOARD))) == {("edge_connector", "slot_1")}


@pytest.mark.parametrize("slot", [1, 4])
def test_seated_only_the_edge_is_in_the_board(slot):
    seated = fixed(CARD, BOARD, f"slot_{slot}")
    assert set(overlaps(bodies(CARD, seated), bodies(BOARD))) == {("edge_connector", f"slot_{slot}")}


def test_it_lies_with_its_block_toward_the_floor():
    np.testing.assert_allclose(SEATED.rotation, np.eye(3), atol=1e-12)
    assert reach(CARD, "water_block")[1][2] == pytest.approx(reach(CARD, "pcb")[0][2])
    assert reach(CARD, "backplate")[0][2] == pytest.approx(reach(CARD, "pcb")[1][2])


def test_terminal_ports_are_opposite_and_25_4_apart():
    # 25.4 middle to middle: common practice, no source. Thread: ISO 228-1.
    at = {name: port.port2part for name, port in CARD.ports.items()}
    assert set(at) == {"in_roof", "out_roof", "in_floor", "out_floor"}
    low, high = reach(CARD, "terminal")
    for name in ("in", "out"):
        roof, floor = at[f"{name}_roof"], at[f"{name}_floor"]
        np.testing.assert_allclose(roof.origin[:2], floor.origin[:2])
        np.testing.assert_allclose(roof.z_axis, -floor.z_axis)
        assert (roof.origin[2], floor.origin[2]) == pytest.approx((high[2], low[2]))
    assert at["out_roof"].origin[0] - at["in_roof"].origin[0] == pytest.approx(25.4)
    np.testing.assert_allclose((at["in_roof"].origin + at["out_roof"].origin)[0], (low + high)[0])
    assert {bore.diameter for bore in CARD.bores} == {G_THREAD_MAJOR_MM["G1/4"]} == {13.157}


@pytest.mark.parametrize("openings", [2, 3, 4, 5, 6, 7])
def test_a_terminal_has_the_first_openings_of_the_documented_order(openings):
    # 2 to 7 openings: common practice, no source.
    order = ["in_roof", "out_roof", "in_floor", "out_floor", "in_rear", "out_front", "in_window"]
    part = GraphicsCard(openings=openings).build()
    assert list(part.ports) == order[:openings]
    low, high = reach(part, "terminal")
    for name, port in part.ports.items():
        face = name.partition("_")[2]
        np.testing.assert_allclose(port.port2part.z_axis, DIRECTIONS[face], atol=1e-12)
        axis = int(np.argmax(np.abs(DIRECTIONS[face])))
        assert port.port2part.origin[axis] == pytest.approx(
            (high if sum(DIRECTIONS[face]) > 0 else low)[axis]
        )
    for name in order:
        assert name in (GraphicsCard.__doc__ or "")


@pytest.mark.parametrize("slots", [1, 2, 3])
@pytest.mark.parametrize("cooling", ["block", "air"])
def test_as_it_comes_a_card_leaves_the_next_slots_card_its_place(slots, cooling):
    # Slot pitch 20.32: ATX hole table, two secondary sources agree.
    part = GraphicsCard(slots=slots, cooling=cooling).build()
    next_card = Pose.at((0.0, 0.0, -slots * 20.32))
    assert not overlaps(bodies(part), bodies(part, next_card))
    lowest = min(one.low[2] for one in bodies(part).values())
    highest = max(one.high[2] for name, one in bodies(part).items() if "bracket" not in name)
    assert highest - lowest < slots * 20.32 + 1.57 + 3.0


def test_an_air_cooled_card_has_no_ports_and_room_for_its_air():
    part = GraphicsCard(cooling="air", slots=3, cooler_reach=20, cooler_length=280, air_room=15).build()
    assert not part.ports
    assert set(part.mounts) == {"edge"}
    low = np.min([reach(part, n)[0] for n in ("cooler", "cooler_rear", "cooler_front")], axis=0)
    high = np.max([reach(part, n)[1] for n in ("cooler", "cooler_rear", "cooler_front")], axis=0)
    assert high[0] - low[0] == pytest.approx(280)
    assert low[1] == pytest.approx(reach(part, "pcb")[0][1] - 20)
    zone = next(zone for zone in part.zones if zone.name == "air_room")
    assert zone.severity == "warning"
    assert zone.zone2part.origin[2] + 7.5 == pytest.approx(low[2])


def test_a_bare_card_is_board_and_bracket():
    part = GraphicsCard(cooling="none", plug="none", backplate=0, slots=1).build()
    assert {one.name for one in part.solids} == {
        "pcb", "edge_connector", "bracket", "bracket_end", "bracket_tab_1", "outlets"
    }  # fmt: skip


def test_block_and_cooler_leave_the_power_plug_free():
    for cooling, at in (("block", {"terminal_at": 100}), ("air", {})):
        part = GraphicsCard(cooling=cooling, plug_at=190, **at).build()
        low, high = reach(part, "power_socket")
        rear = reach(part, "pcb")[0][0]
        assert (low + high)[0] / 2 - rear == pytest.approx(190)
        zone = next(zone for zone in part.zones if zone.name == "plug_room")
        solids = bodies(part, but=["power_socket"])
        room = {"room": body(zone.primitive, zone.zone2part), "socket": bodies(part)["power_socket"]}
        assert not overlaps(room, solids)


@pytest.mark.parametrize(("plug", "axis", "sign"), [("window", 1, -1), ("front", 0, 1)])
def test_the_plugs_room_begins_at_its_socket(plug, axis, sign):
    part = GraphicsCard(plug=plug, plug_room=40).build()
    (zone,) = part.zones
    assert zone.severity == "error"
    half = np.array(zone.primitive.size) / 2
    near = (zone.zone2part.origin - sign * half)[axis]
    socket = reach(part, "power_socket")
    assert near == pytest.approx(socket[1 if sign > 0 else 0][axis])
    assert zone.primitive.size[axis] == pytest.approx(40)


def test_no_plug_no_room():
    part = GraphicsCard(plug="none", backplate=0).build()
    assert not part.zones
    assert not {"power_socket", "backplate"} & {one.name for one in part.solids}


@pytest.mark.parametrize(
    ("parameters", "message"),
    [
        ({"block_length": 250}, r"block of 250 mm is too long: .* the card has 245 mm"),
        ({"terminal_at": 190}, r"terminal reaches 165\.3 to 214\.7 mm .* the block 22 to 202 mm"),
        (
            {"plug_at": 130},
            r"the terminal reaches 95\.3 to 144\.7 mm .* over the power plug at 110 to 150 mm",
        ),
        (
            {"cooler_thickness": 60},
            r"cooler_thickness 60 is for `cooling: air`, here it is `cooling: block`",
        ),
        (
            {"cooling": "air", "openings": 7},
            r"openings 7 is for `cooling: block`, here it is `cooling: air`",
        ),
        ({"plug": "front", "plug_at": 90}, r"plug_at 90 is for `plug: window`, here it is `plug: front`"),
        ({"plug_at": 250}, r"plug_at 250 mm: the power socket's middle can be 42 to 244 mm"),
        ({"plug": "front", "block_length": 240}, r"water block ends 262 mm .* front edge leaves 251 mm"),
        (
            {"openings": 5, "slots": 1, "backplate": 0},
            r"14\.57 mm thick, its opening in_rear needs 15\.16 mm",
        ),
        (
            {"block_thickness": 6, "backplate": 0},
            r"two ports face each other, 6 mm deep, .* 7\.57 mm thick; 12 mm is the least",
        ),
    ],
)
def test_refused(parameters, message):
    with pytest.raises(ValueError, match=message):
        GraphicsCard(**parameters).build()
