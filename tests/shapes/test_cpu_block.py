"""The CPU block: screws on the board's holes, ports, and room between what stands on the board."""

from __future__ import annotations

import numpy as np
import pytest

from layout3d.placing.mounting import MountError
from shapes.cpu_block import CpuBlock
from shapes.motherboard import COOLER_PATTERNS_MM, Motherboard
from shapes.pose import DIRECTIONS
from tests.shapes.standing import bodies, fixed, overlaps, reach


@pytest.mark.parametrize("form", ["ATX", "microATX", "Mini-ITX"])
@pytest.mark.parametrize("pattern", list(COOLER_PATTERNS_MM))
def test_it_sits_on_the_lid_clear_of_everything(form, pattern):
    board, block = Motherboard(form=form).build(), CpuBlock(pattern=pattern).build()
    pose = fixed(block, board, "cpu", row=pattern)
    np.testing.assert_allclose(pose.rotation, np.eye(3), atol=1e-12)
    assert not overlaps(bodies(block, pose), bodies(board))
    assert bodies(block, pose)["cold_plate"].high[1] == pytest.approx(reach(board, "cpu")[0][1])


@pytest.mark.parametrize("pattern", list(COOLER_PATTERNS_MM))
def test_it_fits_its_own_row_only(pattern):
    board, block = Motherboard().build(), CpuBlock(pattern=pattern, width=50, height=50).build()
    fixed(block, board, "cpu", row=pattern)
    for other in COOLER_PATTERNS_MM:
        if other != pattern:
            with pytest.raises(MountError, match="hole patterns differ"):
                fixed(block, board, "cpu", row=other)


@pytest.mark.parametrize("pattern", ["72", "75", "78", "80"])
def test_a_square_pattern_takes_the_block_a_quarter_turned(pattern):
    board, block = Motherboard().build(), CpuBlock(pattern=pattern).build()
    pose = fixed(block, board, "cpu", row=pattern, turn=90)
    ports = [pose.apply(port.port2part.origin) for port in block.ports.values()]
    assert abs(ports[0][2] - ports[1][2]) == pytest.approx(25.4)
    assert ports[0][0] == pytest.approx(ports[1][0])


def test_ports_face_the_window_25_4_apart():
    # Common practice, no source.
    ports = CpuBlock().build().ports
    assert list(ports) == ["in", "out"]
    for port in ports.values():
        np.testing.assert_allclose(port.port2part.z_axis, DIRECTIONS["window"], atol=1e-12)
        assert port.thread == "G1/4"
    apart = ports["out"].port2part.origin - ports["in"].port2part.origin
    np.testing.assert_allclose(apart, (25.4, 0, 0), atol=1e-12)


def test_threads_and_the_inlets_mark_are_holes_in_the_body_alone():
    part = CpuBlock(port_depth=7.0).build()
    assert {bore.into for bore in part.bores} == {("body",)}
    *threads, mark = part.bores
    assert {(bore.diameter, bore.depth) for bore in threads} == {(13.157, 7.0)}  # ISO 228-1
    near, far = (
        np.linalg.norm(mark.bore2part.origin - part.ports[n].port2part.origin) for n in ("in", "out")
    )
    assert near < far


@pytest.mark.parametrize(
    ("along", "apart"), [("front", (25.4, 0, 0)), ("roof", (0, 0, 25.4)), ("diagonal", (17.96, 0, 17.96))]
)
def test_ports_lie_along_what_is_asked_about_their_middle(along, apart):
    ports = CpuBlock(ports_along=along, ports_front=3.0, ports_up=-4.0).build().ports
    first, second = (ports[name].port2part.origin for name in ("in", "out"))
    np.testing.assert_allclose(second - first, apart, atol=0.001)
    np.testing.assert_allclose(((first + second) / 2)[[0, 2]], (3.0, -4.0))


@pytest.mark.parametrize(
    ("parameters", "message"),
    [
        ({"width": 48}, r"body of 48 x 64 mm is smaller than its cold plate of 50 mm"),
        ({"width": 80, "height": 80}, r"covers the screws of pattern 75: 67 mm wide or 67 mm high"),
        ({"port_spacing": 50}, r"port in, -25 mm from the middle, needs a body 70 mm wide, got 64 mm"),
        ({"ports_along": "roof", "ports_up": 15}, r"port out, 27\.7 mm .* 75\.4 mm high, got 64 mm"),
        ({"port_depth": 15, "thickness": 14}, r"15 mm of thread do not go into 14 mm of body"),
        ({"thickness": 12}, r"nuts end 13 mm over the cold plate, above the body of 12 mm"),
    ],
)
def test_refused(parameters, message):
    with pytest.raises(ValueError, match=message):
        CpuBlock(**parameters).build()
