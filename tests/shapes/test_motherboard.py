"""Board figures against microATX 1.2, Mini-ITX addendum 1.1 and the ATX hole table (secondary sources)."""

from __future__ import annotations

import numpy as np
import pytest

from shapes.form_factors import BOARD_HOLES_MM, HOLE_SETS, board_holes
from shapes.motherboard import COOLER_PATTERNS_MM, Motherboard
from shapes.part import Part
from shapes.pose import DIRECTIONS
from tests.shapes.standing import bodies, overlaps, reach

FORMS = ["ATX", "microATX", "Mini-ITX"]


def board(form: str, **parameters) -> Part:
    return Motherboard(form=form, **parameters).build()


def hole_offset(one: str, other: str) -> tuple[float, float]:
    (a, b), (c, d) = BOARD_HOLES_MM[one], BOARD_HOLES_MM[other]
    return abs(a - c), abs(b - d)


@pytest.mark.parametrize(
    ("form", "down", "along"),
    [
        ("ATX", 12.0 * 25.4, 9.6 * 25.4),  # microATX 1.2 table 3
        ("microATX", 9.6 * 25.4, 9.6 * 25.4),  # microATX 1.2 table 3
        ("Mini-ITX", 6.7 * 25.4, 6.7 * 25.4),  # Mini-ITX addendum 1.1 table 1
    ],
)
def test_outlines(form, down, along):
    low, high = reach(board(form), "pcb")
    np.testing.assert_allclose(high - low, (along, 1.57, down))  # thickness: microATX 1.2 figure 4
    np.testing.assert_allclose(high, (along, 0.0, 0.0), atol=1e-9)  # origin at the rear top corner


def test_hole_sets_of_the_forms():
    # microATX 1.2 figure 2; Mini-ITX: open ATX/ITX hole set, secondary source.
    assert HOLE_SETS == {"ATX": "ACFGHJKLM", "microATX": "BCFHJLMRS", "Mini-ITX": "CFHJ"}


@pytest.mark.parametrize(
    ("one", "other", "down", "along"),
    [
        ("A", "F", 281.94, 22.86),
        ("A", "C", 124.46, 0.0),
        ("A", "B", 78.74, 0.0),
        ("B", "C", 45.72, 0.0),
        ("C", "F", 157.48, 22.86),
        ("C", "H", 0.0, 154.94),
        ("C", "L", 0.0, 227.33),
        ("B", "R", 20.32, 154.94),
        ("B", "S", 0.0, 154.94),
        ("B", "F", 8.0 * 25.4, 22.86),
    ],
)
def test_hole_to_hole_offsets(one, other, down, along):
    # ATX hole table in inches and the drawings' offsets, two secondary sources agree.
    assert hole_offset(one, other) == pytest.approx((down, along), abs=1e-9)


@pytest.mark.parametrize("form", FORMS)
def test_the_mount_and_the_circuit_board_have_the_same_holes(form):
    part = board(form)
    pcb = next(one for one in part.solids if one.name == "pcb")
    drilled = pcb.solid2part.apply(np.array([(*hole.at, 0.0) for hole in pcb.primitive.screw_holes]))
    mount = part.mounts["back"]
    seen = mount.mount2part.apply(np.array([(*hole.at, 0.0) for hole in mount.rows[form]]))
    np.testing.assert_allclose(drilled[:, [0, 2]], seen[:, [0, 2]], atol=1e-9)
    assert {hole.diameter for hole in board_holes(form)} == {3.96}  # 0.156 in, secondary source


def test_slots_are_800_mils_apart_from_where_the_drawings_put_the_first():
    part = board("ATX", slots=("x16",) * 7)
    places = np.array([part.mounts[f"slot_{number}"].mount2part.origin for number in range(1, 8)])
    np.testing.assert_allclose(np.diff(places[:, 2]), -0.8 * 25.4)  # ATX hole table
    # 46.94 toward the front from the rear hole row, 47.29 from hole B toward F (secondary).
    down, along = BOARD_HOLES_MM["B"]
    assert places[0][0] - along == pytest.approx(46.94)
    assert down + places[0][2] == pytest.approx(47.29)


def test_mini_itx_slot_is_7_92_from_its_edge():
    part = board("Mini-ITX")
    edge = reach(part, "pcb")[0][2]
    # Mini-ITX drawing, secondary source.
    assert part.mounts["slot_1"].mount2part.origin[2] - edge == pytest.approx(7.92, abs=0.005)


@pytest.mark.parametrize(("size", "long"), [("x1", 25), ("x4", 39), ("x8", 56), ("x16", 89)])
def test_slot_connectors(size, long):
    # PCI Express card drawings, figure 6-1, secondary source.
    part = board("ATX", slots=(size,))
    low, high = reach(part, "slot_1")
    np.testing.assert_allclose(high - low, (long, 11.25, 7.5))
    assert part.mounts["slot_1"].mount2part.origin[0] - low[0] == pytest.approx(14.50)


@pytest.mark.parametrize(("form", "most"), [("ATX", 7), ("microATX", 4), ("Mini-ITX", 1)])
def test_a_form_has_no_more_slots_than_it_has_room_for(form, most):
    mounts = board(form, slots=("x1",) * 9).mounts
    assert sum(name.startswith("slot_") for name in mounts) == most


def test_empty_slots_have_no_mount():
    mounts = board("ATX", slots=("none", "x4")).mounts
    assert [name for name in mounts if name.startswith("slot_")] == ["slot_2"]


def test_io_connectors_end_11_30_behind_the_hole_row():
    # microATX 1.2 figure 5: 0.445 in from the hole-B datum, zone 152.15 x 37.34.
    low, high = reach(board("ATX"), "io_block")
    assert BOARD_HOLES_MM["B"][1] - low[0] == pytest.approx(11.30)
    assert high[2] - low[2] == pytest.approx(152.15)
    assert high[1] - low[1] <= 37.34


@pytest.mark.parametrize(
    ("form", "limits"),
    [
        ("ATX", {"area_a": 76.2, "area_b": 15.24, "area_c": 38.1}),  # microATX 1.2 table 6; secondary
        ("Mini-ITX", {"area_a": 57, "area_b": 16, "area_c": 38, "area_d": 39}),  # secondary
    ],
)
def test_height_limits_are_warnings_for_parts_only(form, limits):
    zones = {zone.name: zone for zone in board(form).zones}
    for name, height in limits.items():
        zone = zones[name]
        assert zone.primitive.size[1] == pytest.approx(height)
        assert (zone.severity, zone.only_parts) == ("warning", True)


@pytest.mark.parametrize("name", ["cpu_power_room", "main_power_room"])
def test_the_plugs_room_is_needed_and_reaches_past_the_edge(name):
    part = board("ATX", cable_bend=12, main_cable_bend=25, plug_room=45)
    zone = next(zone for zone in part.zones if zone.name == name)
    assert (zone.severity, zone.only_parts) == ("error", False)
    high = zone.zone2part.origin + np.array(zone.primitive.size) / 2
    low = zone.zone2part.origin - np.array(zone.primitive.size) / 2
    assert low[1] == pytest.approx(-1.57 - 45)
    assert (high[2] if name == "cpu_power_room" else high[0] - 243.84) == pytest.approx(
        12 if name == "cpu_power_room" else 25
    )


def test_cooler_pattern_54_x_90():
    # Mini-ITX drawings, secondary source.
    part = board("ATX", cpu_down=80, cpu_along=98)
    holes = np.array([hole.at for hole in part.mounts["cpu"].rows["54x90"]])
    np.testing.assert_allclose(np.ptp(holes, axis=0), (90, 54))
    np.testing.assert_allclose(part.mounts["cpu"].mount2part.origin[[0, 2]], (98, -80))


@pytest.mark.parametrize("cpu_down", [72, 80, 105])
@pytest.mark.parametrize("pattern", list(COOLER_PATTERNS_MM))
def test_nothing_stands_over_a_cooler_hole(pattern, cpu_down):
    part = board("Mini-ITX", cpu_down=cpu_down)
    mount = part.mounts["cpu"]
    at = mount.mount2part.apply(np.array([(*hole.at, 0.0) for hole in mount.rows[pattern]]))
    for name, one in bodies(part, but=["pcb"]).items():
        inside = (at[:, [0, 2]] > one.low[[0, 2]] - 4).all(axis=1) & (
            at[:, [0, 2]] < one.high[[0, 2]] + 4
        ).all(axis=1)
        assert not inside.any(), name


@pytest.mark.parametrize("form", FORMS)
def test_cooler_holes_are_over_the_circuit_board(form):
    part = board(form)
    low, high = reach(part, "pcb")
    mount = part.mounts["cpu"]
    for holes in mount.rows.values():
        at = mount.mount2part.apply(np.array([(*hole.at, 0.0) for hole in holes]))
        assert (at[:, [0, 2]] > low[[0, 2]] + 2).all()
        assert (at[:, [0, 2]] < high[[0, 2]] - 2).all()


def test_everything_stands_on_the_window_side():
    part = board("ATX")
    np.testing.assert_allclose(part.mounts["back"].mount2part.z_axis, DIRECTIONS["tray"])
    for name, one in bodies(part, but=["pcb"]).items():
        assert one.high[1] <= -1.57 + 1e-9, name


@pytest.mark.parametrize(
    ("parameters", "message"),
    [
        ({"form": "Mini-ITX", "modules": 4}, r"reaches 53 to 141 mm .* leave 53 to 122\.68 mm"),
        ({"cpu_along": 180, "modules": 4}, r"136 to 224 mm .* 4 memory modules of .* to 196\.34 mm"),
        ({"form": "Mini-ITX", "modules": 0, "cpu_along": 150}, r"Mini-ITX board leave 53 to 170\.18 mm"),
        ({"io_depth": 50}, r"reaches 53 to 141 mm .* leave 73 to"),
    ],
)
def test_refused(parameters, message):
    with pytest.raises(ValueError, match=message):
        Motherboard(**parameters).build()


@pytest.mark.parametrize("form", FORMS)
def test_its_solids_do_not_overlap(form):
    placed = bodies(board(form))
    for name, one in placed.items():
        assert not overlaps({name: one}, {other: its for other, its in placed.items() if other != name})
