"""A bridge fills the gap between two cards' terminals exactly, and its channels meet theirs."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layout3d.build import build
from layout3d.checks.check import check
from layout3d.scene.reader import read_scene
from shapes.card_bridge import CardBridge
from shapes.graphics_card import GraphicsCard
from shapes.pose import DIRECTIONS, Pose
from tests.shapes.standing import bodies, fixed, overlaps, reach

SCENE = """\
layout3d: 1
parts:
  board: {shape: motherboard, at: [0, 0, 0], slots: [x16, none, none, x16]}
  upper: {shape: graphics_card, fixed_to: {mount: board.slot_1}}
  lower: {shape: graphics_card, fixed_to: {mount: board.slot_4}}
  bridge: {shape: card_bridge, fixed_to: {mount: upper.terminal_floor}, touches: [lower]}
plugs: [upper.in_roof, upper.out_roof, lower.in_floor, lower.out_floor]
"""


@pytest.mark.parametrize("apart", [1, 2, 3, 4, 5, 6])
@pytest.mark.parametrize(("parameters", "terminal"), [({}, 20.57), ({"slots": 1, "openings": 7}, 17.57)])
def test_it_lies_between_two_cards_as_many_slots_apart(apart, parameters, terminal):
    # Slot pitch 20.32: ATX hole table, two secondary sources agree.
    if apart == 1 and parameters == {}:
        return
    card = GraphicsCard(**parameters).build()
    bridge = CardBridge(slots_apart=apart, terminal=terminal, window_ports=apart > 1).build()
    there = fixed(bridge, card, "terminal_floor", by="cards")
    lower = Pose.at((0.0, 0.0, -apart * 20.32))
    assert not overlaps(bodies(bridge, there), bodies(card))
    assert not overlaps(bodies(bridge, there), bodies(card, lower))
    assert bodies(bridge, there)["bridge"].low[2] == pytest.approx(bodies(card, lower)["terminal"].high[2])
    for channel in ("in", "out"):
        ours = there.apply(bridge.ports[f"{channel}_floor"].port2part.origin)
        theirs = lower.apply(card.ports[f"{channel}_roof"].port2part.origin)
        np.testing.assert_allclose(ours, theirs, atol=1e-9)


def found(tmp_path, text: str) -> dict[str, str]:
    scene = tmp_path / "cards.yaml"
    scene.write_text(text)
    layout = build(read_scene(scene))
    return {finding.rule: finding.message for finding in check(layout).findings}


def test_in_a_scene_it_closes_the_openings_it_lies_on(tmp_path):
    assert set(found(tmp_path, SCENE)) == {"port-open"}
    message = found(tmp_path, SCENE)["port-open"]
    assert message == "2 ports are open: bridge.in_window, bridge.out_window"


def test_a_bridge_for_other_slots_is_told(tmp_path):
    short = SCENE.replace("card_bridge,", "card_bridge, slots_apart: 2,")
    assert "lower.in_roof, lower.out_roof" in found(tmp_path, short)["port-open"]
    long = SCENE.replace("card_bridge,", "card_bridge, slots_apart: 4,")
    assert "overlap" in found(tmp_path, long)


def test_threaded_openings_face_the_window_and_the_ends():
    part = CardBridge(end_ports=True).build()
    threaded = {name: port for name, port in part.ports.items() if port.thread}
    assert set(threaded) == {"in_window", "out_window", "in_rear", "out_front"}
    for name, port in threaded.items():
        np.testing.assert_allclose(port.port2part.z_axis, DIRECTIONS[name.partition("_")[2]], atol=1e-12)
    assert {bore.diameter for bore in part.bores} == {13.157}  # ISO 228-1
    assert not {name for name, port in CardBridge(window_ports=False).build().ports.items() if port.thread}


@pytest.mark.parametrize(
    ("parameters", "message"),
    [
        ({"slots_apart": 1}, r"20\.57 mm thick on cards 20\.32 mm apart leave -0\.25 mm"),
        ({"slots_apart": 1, "terminal": 14.57}, r"5\.75 mm thick, its opening in_window needs 15\.16 mm"),
    ],
)
def test_refused(parameters, message):
    with pytest.raises(ValueError, match=message):
        CardBridge(**parameters).build()


@settings(max_examples=100, deadline=None, derandomize=True)
@given(st.integers(1, 6), st.floats(8, 90), st.floats(20, 60))
def test_terminal_and_bridge_together_are_whole_slots(apart, terminal, spacing):
    try:
        part = CardBridge(slots_apart=apart, terminal=terminal, port_spacing=spacing).build()
    except ValueError:
        return
    low, high = reach(part, "bridge")
    assert high[2] - low[2] + terminal == pytest.approx(apart * 20.32)
    assert part.ports["out_roof"].port2part.origin[0] * 2 == pytest.approx(spacing)
