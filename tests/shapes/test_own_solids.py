"""Boards, cards, blocks and cases: whatever their parameters, their own solids do not overlap."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from shapes import shape_named
from tests.shapes.standing import bodies, overlaps
from tests.shapes.test_every_shape import parameters


@pytest.mark.parametrize("name", ["case_tower", "motherboard", "graphics_card", "power_supply", "cpu_block"])
@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck), derandomize=True)
@given(data=st.data())
def test_whatever_builds_has_no_solid_in_another(name, data):
    try:
        part = shape_named(name)(**data.draw(parameters(name))).build()
    except ValueError:
        return
    placed = bodies(part)
    for number, (one, its) in enumerate(placed.items()):
        assert not overlaps({one: its}, dict(list(placed.items())[number + 1 :]))
