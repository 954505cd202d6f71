"""Places for 5.25 in devices in a tower, against SFF-8551 and with reservoirs in them."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from layout3d.build import build
from layout3d.checks.check import check
from layout3d.kernels.bodies import body
from layout3d.scene.reader import read_scene
from shapes import shape_named
from shapes.part import Part
from shapes.pose import Pose
from shapes.primitives import Box, Plate, RectOpening
from tests.shapes.standing import bodies, overlaps, solid

#: SFF-8551 table 5-1, by a transcription: A5 width, A1 height at most, A3 and A2 bezel, A17 its thickness.
WIDTH_MM, HEIGHT_MM, BEZEL_MM = 146.05, 41.53, (148.0, 42.30, 5.0)
#: A9 first side hole behind the bezel, A8 from hole to hole, A13 and A14 up from the floor face.
FIRST_MM, ALONG_MM, UP_MM = 47.40, 79.25, (10.0, 21.84)
#: A case so narrow that no rows are left in it.
NARROW = {"width": 175, "roof_slots": 0, "front_slots": 0, "floor_slots": 0, "rear_fan": "none"}
SHORT_FRONT = {"front_slots": 250, "front_middle": 208}


def tower(**more) -> Part:
    return shape_named("case_tower")(**{**SHORT_FRONT, **more}).build()


def places(case: Part) -> list:
    return [mount for name, mount in case.mounts.items() if name.startswith("bay_")]


@pytest.mark.parametrize("mirrored", [False, True])
@pytest.mark.parametrize("count", [1, 2, 3])
def test_devices_of_the_standard_go_in_with_their_holes_on_the_cages(count: int, mirrored: bool) -> None:
    case = tower(bays=count, mirrored=mirrored)
    assert len(places(case)) == count
    stand = {}
    for number, place in enumerate(places(case)):
        holes = place.mount2part.apply(np.array([(*hole.at, 0.0) for hole in place.rows["5.25"]]))
        front, low = holes[:, 0].max() + FIRST_MM, holes[:, 2].min() - UP_MM[0]
        assert np.ptp(holes[:, 0]) == pytest.approx(ALONG_MM)
        assert np.ptp(holes[:, 2]) == pytest.approx(UP_MM[1] - UP_MM[0])
        # The bezel lies flush with the front.
        assert front + BEZEL_MM[2] == pytest.approx(480.0)
        toward = float(place.mount2part.z_axis[1])
        middle = float(holes[0, 1]) + toward * WIDTH_MM / 2.0
        at = (front - 202.8 / 2.0, middle, low + HEIGHT_MM / 2.0)
        stand[f"body {number}"] = (Box((202.8 - 1e-6, WIDTH_MM - 1e-6, HEIGHT_MM)), at)
        bezel = (BEZEL_MM[2], BEZEL_MM[0], BEZEL_MM[1] - 1e-6)
        stand[f"bezel {number}"] = (Box(bezel), (front + 2.5, middle, low + HEIGHT_MM / 2.0))
        for name in ("bay_cage_window", "bay_cage_tray"):
            cage = solid(case, name)
            drilled = [cage.solid2part.apply(np.array((*one.at, 0.0))) for one in cage.primitive.screw_holes]
            for hole in holes:
                assert min(np.hypot(*(hole - one)[[0, 2]]) for one in drilled) == pytest.approx(0.0, abs=1e-9)
    devices = {name: body(box, Pose.at(at)) for name, (box, at) in stand.items()}
    assert not overlaps(devices, bodies(case))
    bodies_only = [one for name, one in devices.items() if name.startswith("body")]
    for one, other in pairwise(bodies_only):
        assert not overlaps({"one": one}, {"other": other})


@pytest.mark.parametrize("count", [1, 3])
def test_the_front_is_open_for_the_bezels_alone(count: int) -> None:
    front = solid(tower(bays=count), "front").primitive
    bare = solid(tower(), "front").primitive
    assert isinstance(front, Plate)
    [opening] = [one for one in front.openings if one not in bare.openings]
    assert isinstance(opening, RectOpening)
    # Half a millimetre all round.
    assert sorted(opening.size) == pytest.approx(sorted((BEZEL_MM[0] + 1.0, count * BEZEL_MM[1] + 1.0)))


def scene(folder: Path, parts: list[str]) -> Path:
    path = folder / "bays.yaml"
    path.write_text("\n".join(["layout3d: 1", "title: Bays", "parts:", *parts]) + "\n", encoding="utf-8")
    return path


def errors(path: Path) -> list[str]:
    found = check(build(read_scene(path))).findings
    return [one.rule for one in found if one.severity == "error"]


@pytest.mark.parametrize("mirrored", [False, True])
def test_bay_reservoirs_fixed_there_are_clear(tmp_path: Path, mirrored: bool) -> None:
    by = "window" if mirrored else "tray"
    case = (
        f"{{shape: case_tower, bays: 3, front_slots: 250, front_middle: 208, mirrored: {mirrored!s}}}".lower()
    )
    parts = [
        f"  case: {case}",
        "  board: {shape: motherboard, fixed_to: {mount: case.tray}}",
        f"  one: {{shape: bay_reservoir, length: 202.8, fixed_to: {{mount: case.bay_1, by: {by}}}}}",
        f"  two: {{shape: bay_reservoir, bays: 2, fixed_to: {{mount: case.bay_2, by: {by}}}}}",
    ]
    path = scene(tmp_path, parts)
    assert errors(path) == []


def test_a_reservoir_of_two_bays_in_the_top_place_runs_into_the_case(tmp_path: Path) -> None:
    parts = [
        "  case: {shape: case_tower, bays: 2, front_slots: 250, front_middle: 208}",
        "  two: {shape: bay_reservoir, bays: 2, fixed_to: {mount: case.bay_2, by: tray}}",
    ]
    assert "overlap" in errors(scene(tmp_path, parts))


@pytest.mark.parametrize(
    ("more", "message"),
    [
        ({"front_slots": 365, "front_middle": 264}, r"down to 421\.7 mm, .* slots up to 447\.5"),
        (NARROW, r"bays need 149 mm across, there are 144"),
        (
            {"depth": 370, "roof_slots": 250, "shroud_length": 300, "floor_slots": 0},
            r"cage begins 223\.35 mm .* ends at 24\d",
        ),
        ({"bulkheads": 1}, r"bulkhead holes lie over the bays"),
    ],
)
def test_refused(more: dict, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        tower(bays=1, **more)
