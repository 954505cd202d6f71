"""Parts measured with calipers: what is accepted, what is refused and in which words."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from pydantic import ValidationError

from shapes.custom import Custom
from shapes.primitives import Box, Cylinder, Plate, Prism, RectOpening, RoundOpening

POST: dict[str, Any] = {
    "solids": [
        {"box": [40, 40, 20], "at": [0, 0, 10]},
        {"cylinder": {"diameter": 30, "length": 50}, "at": [0, 0, 45], "axis": "roof"},
    ],
    "ports": {"out": {"at": [0, 0, 70], "facing": "roof", "thread": "G1/4"}},
}


def complaints(**written: Any) -> list[tuple[tuple[Any, ...], str]]:
    with pytest.raises(ValidationError) as caught:
        Custom.model_validate(written)
    return [(error["loc"], error["msg"]) for error in caught.value.errors()]


def test_the_post_of_the_scene_format():
    part = Custom.model_validate(POST).build()
    base, column = part.solids
    assert (base.name, base.primitive) == ("box_1", Box((40, 40, 20)))
    assert (column.name, column.primitive) == ("cylinder_2", Cylinder(30, 50))
    assert tuple(base.solid2part.origin) == (0, 0, 10)
    port = part.ports["out"]
    assert tuple(port.port2part.origin) == (0, 0, 70)
    assert (port.thread, port.depth) == ("G1/4", 6)
    assert [(bore.diameter, bore.depth, bore.into) for bore in part.bores] == [(13.157, 6, ())]


def test_a_bare_anchor_has_ports_and_nothing_to_bore():
    part = Custom.model_validate({"solids": [], "ports": POST["ports"]}).build()
    assert part.solids == part.bores == ()
    assert list(part.ports) == ["out"]
    assert Custom().build().solids == ()


def test_lengths_take_units_everywhere():
    spec = {
        "solids": [
            {
                "plate": {
                    "size": ["4 in", "10 cm"],
                    "thickness": "1/16 in",
                    "openings": [
                        {"round": {"at": ["1 in", 0], "diameter": "1/2 in"}},
                        {"rect": {"at": [-20, 0], "size": [10, "1 cm"]}},
                    ],
                }
            }
        ]
    }
    (solid,) = Custom.model_validate(spec).build().solids
    # 1 in = 25.4 mm exactly (international yard and pound agreement of 1959).
    assert solid.primitive == Plate(
        (101.6, 100.0), 1.5875, (RoundOpening((25.4, 0), 12.7), RectOpening((-20, 0), (10, 10)))
    )


def test_axis_lays_a_cylinder_and_rotate_turns_it_after():
    def axis_of(**placed: Any) -> list[float]:
        body = {"cylinder": {"diameter": 4, "length": 9}, **placed}
        (solid,) = Custom.model_validate({"solids": [body]}).build().solids
        return [round(float(value), 12) + 0.0 for value in solid.solid2part.z_axis]

    assert axis_of() == [0, 0, 1]
    assert axis_of(axis="front") == [1, 0, 0]
    assert axis_of(axis=[0, 3, 0]) == [0, 1, 0]
    assert axis_of(axis="front", rotate=[0, 0, 90]) == [0, 1, 0]
    assert axis_of(rotate=[90, 0, 0]) == [0, -1, 0]


def test_prism_corners_either_way_round():
    corners = [[0, 0], [0, 10], [20, 0]]
    (solid,) = (
        Custom.model_validate({"solids": [{"prism": {"corners": corners, "height": 5}}]}).build().solids
    )
    assert isinstance(solid.primitive, Prism)
    assert set(solid.primitive.corners) == {(0, 0), (0, 10), (20, 0)}


def test_names_looks_and_zones():
    spec = {
        "solids": [{"box": [1, 2, 3], "name": "tank", "look": "clear"}],
        "zones": [
            {"box": [5, 5, 5], "at": [0, 0, 9], "reason": "the plug and its cable", "severity": "warning"},
            {"cylinder": {"diameter": 8, "length": 90}, "name": "driver", "only_parts": True},
        ],
    }
    part = Custom.model_validate(spec).build()
    assert (part.solids[0].name, part.solids[0].look) == ("tank", "clear")
    plug, driver = part.zones
    assert (plug.name, plug.reason, plug.severity, plug.only_parts) == (
        "zone_1",
        "the plug and its cable",
        "warning",
        False,
    )
    assert (driver.name, driver.severity, driver.only_parts) == ("driver", "error", True)


def test_mounts_with_and_without_holes():
    spec = {
        "mounts": {
            "foot": {"at": [0, 0, 0], "facing": "floor", "kind": "stand"},
            "face": {
                "at": [0, 5, 0],
                "facing": "tray",
                "up": "front",
                "kind": "fan",
                "holes": [[-52.5, 0, 4.3], [52.5, 0, "4.3 mm"]],
            },
        }
    }
    mounts = Custom.model_validate(spec).build().mounts
    assert mounts["foot"].rows == {"": ()}
    assert [(hole.at, hole.diameter) for hole in mounts["face"].rows[""]] == [
        ((-52.5, 0), 4.3),
        ((52.5, 0), 4.3),
    ]
    assert tuple(mounts["face"].mount2part.x_axis) == (1, 0, 0)
    assert tuple(mounts["foot"].mount2part.x_axis) == (1, 0, 0)


def test_threads_are_spelled_one_way_and_strangers_make_no_bore():
    def port(**written: Any) -> tuple[str | None, float, int]:
        spec = {"solids": POST["solids"], "ports": {"p": {"at": [0, 0, 70], "facing": "roof", **written}}}
        part = Custom.model_validate(spec).build()
        return part.ports["p"].thread, part.ports["p"].depth, len(part.bores)

    assert port(thread='G 1/4"') == ("G1/4", 6, 1)
    assert port(thread="G3/8", depth=9) == ("G3/8", 9, 1)
    assert port(thread="M22 x 1", depth="8 mm") == ("M22 x 1", 8, 0)
    assert port() == (None, 0, 0)
    assert port(thread="G1/4", depth=0) == ("G1/4", 0, 0)


@pytest.mark.parametrize(
    ("body", "place", "message"),
    [
        ({}, (), "exactly one of box, cylinder, prism, plate; got none of them"),
        (
            {"box": [1, 1, 1], "prism": {"corners": [[0, 0], [1, 0], [0, 1]], "height": 1}},
            (),
            "got box and prism",
        ),
        ({"box": [1, 0, 1]}, ("box", 1), "greater than 0"),
        ({"box": [1, "thick", 1]}, ("box", 1), "cannot read 'thick' as a length"),
        ({"box": [1, 1]}, ("box", 2), "required"),
        ({"box": ["2000 km", 1, 1]}, ("box", 0), "cannot read '2000 km'"),
        ({"box": [1, 1, 1], "axis": "roof"}, (), "`axis` is for a cylinder; turn a box with `rotate`"),
        ({"box": [1, 1, 1], "at": [math.nan, 0, 0]}, ("at", 0), "got nan"),
        ({"cylinder": {"diameter": 1}}, ("cylinder", "length"), "required"),
        ({"cylinder": {"diameter": 1, "length": 2}, "axis": "up"}, ("axis",), "unknown direction 'up'"),
        ({"prism": {"corners": [[0, 0], [1, 0]], "height": 1}}, ("prism", "corners"), "at least 3"),
        (
            {"prism": {"corners": [[0, 0], [9, 0], [2, 2], [0, 9]], "height": 1}},
            (),
            r"prism corners [0, 0], [9, 0], [2, 2], [0, 9] do not go once round a convex polygon",
        ),
        ({"box": [1, 1, 1], "name": "my tank"}, ("name",), "'my tank' is no name"),
        ({"box": [1, 1, 1], "colour": "red"}, ("colour",), "not permitted"),
    ],
)
def test_a_solid_is_refused_where_it_is_wrong(body, place, message):
    ((where, said), *others) = complaints(solids=[body])
    assert where == ("solids", 0, *place)
    assert message in said
    assert not others


@pytest.mark.parametrize(
    ("openings", "message"),
    [
        (
            [{"round": {"diameter": 8}}, {"rect": {"at": [6, 0], "size": [5, 5]}}],
            "opening 1 and opening 2 run into each other by 0.5 mm",
        ),
        (
            [{"rect": {"size": [4, 4]}}, {"rect": {"at": [4, 0], "size": [4, 4]}}],
            "opening 1 and opening 2 run into each other by 0 mm",
        ),
        ([{"round": {"at": [-3, 0], "diameter": 6}}, {"round": {"at": [3, 0], "diameter": 6}}], "by 0 mm"),
        ([{"round": {"at": [40, 0], "diameter": 8}}], "[40, 0] lies beside the plate of 60 x 20 mm"),
        ([{"round": {"diameter": 64}}], "leaves nothing of the plate of 60 x 20 mm"),
        ([{"rect": {"size": [60, 20]}}], "leaves nothing of the plate"),
        ([{}], "an opening is exactly one of round, rect; got none"),
    ],
)
def test_openings_that_do_not_go_together(openings, message):
    ((where, said),) = complaints(
        solids=[{"plate": {"size": [60, 20], "thickness": 1, "openings": openings}}]
    )
    assert where[:2] == ("solids", 0)
    assert message in said


def test_openings_may_run_out_over_the_edge_and_stand_corner_to_corner():
    openings = [
        {"round": {"at": [30, 0], "diameter": 8}},
        {"round": {"diameter": 62}},
        {"rect": {"at": [-28, 8], "size": [10, 10]}},
    ]
    for chosen in (openings[:1], openings[1:2], [openings[0], openings[2]]):
        plate = {"size": [60, 20], "thickness": 1, "openings": chosen}
        (solid,) = Custom.model_validate({"solids": [{"plate": plate}]}).build().solids
        assert isinstance(solid.primitive, Plate)
        assert len(solid.primitive.openings) == len(chosen)
    # A square's corner on the diagonal: 3-4-5 triangle, 5 mm from the circle's middle.
    round_and_corner = [{"round": {"diameter": 9.9}}, {"rect": {"at": [5, 6], "size": [4, 4]}}]
    plate = {"size": [60, 20], "thickness": 1, "openings": round_and_corner}
    assert Custom.model_validate({"solids": [{"plate": plate}]}).build().solids


@pytest.mark.parametrize(
    ("port", "place", "message"),
    [
        ({"facing": "roof"}, ("at",), "required"),
        ({"at": [0, 0, 0]}, ("facing",), "required"),
        ({"at": [0, 0, 0], "facing": [0, 0, 0]}, ("facing",), "a direction cannot be [0, 0, 0]"),
        ({"at": [0, 0, 0], "facing": "roof", "up": "floor"}, (), "`up` is parallel to `facing`"),
        ({"at": [0, 0, 0], "facing": "roof", "thread": " "}, ("thread",), "write G1/4"),
        ({"at": [0, 0, 0], "facing": "roof", "depth": -1}, ("depth",), "greater than or equal to 0"),
    ],
)
def test_a_port_is_refused_where_it_is_wrong(port, place, message):
    ((where, said),) = complaints(ports={"out": port})
    assert where == ("ports", "out", *place)
    assert message in said


@pytest.mark.parametrize("name", ["1st", "a.b", "", "out port", 3])
def test_port_and_mount_names(name):
    ((where, said),) = complaints(ports={name: {"at": [0, 0, 0], "facing": "roof"}})
    assert where[:2] == ("ports", name)
    assert "is no name: a letter, then letters, digits, _ and -" in said


def test_every_wrong_entry_is_named_at_once():
    found = complaints(solids=[{}, {"box": [1, -1, 1]}], ports={"out": {"at": [0, 0, 0], "facing": "up"}})
    assert [where for where, _ in found] == [
        ("solids", 0),
        ("solids", 1, "box", 1),
        ("ports", "out", "facing"),
    ]


def test_two_solids_of_one_name():
    twice = [{"box": [1, 1, 1], "name": "lid"}, {"box": [1, 1, 1], "name": "lid"}]
    with pytest.raises(ValueError, match="solid names must differ; more than once: lid"):
        Custom.model_validate({"solids": twice}).build()


def test_default_up_of_ports_is_the_roof_or_the_front():
    spec = {
        "ports": {"side": {"at": [0, 0, 0], "facing": "window"}, "top": {"at": [0, 0, 0], "facing": "roof"}}
    }
    ports = Custom.model_validate(spec).build().ports
    assert np.array_equal(ports["side"].port2part.x_axis, (0, 0, 1))
    assert np.array_equal(ports["top"].port2part.x_axis, (1, 0, 0))


def test_a_measured_part_may_have_a_male_thread():
    port = {"at": [0, 0, 0], "facing": "floor", "thread": "G1/4", "depth": 5, "male": True}
    solids = [{"cylinder": {"diameter": 18, "length": 4}, "at": [0, 0, 2]}]
    part = Custom.model_validate({"solids": solids, "ports": {"thread": port}}).build()
    assert (part.ports["thread"].male, part.ports["thread"].depth) == (True, 5)
    assert part.bores == ()
    del port["depth"]
    with pytest.raises(ValueError, match="a male port states its `thread` and, as `depth`, how long it is"):
        Custom.model_validate({"ports": {"thread": port}})
