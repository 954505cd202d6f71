"""Parameters drawn for every family: B-rep and mesh agree on every solid."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from layout3d.realise import brep
from layout3d.realise.mesh import part_meshes
from shapes import shape_named
from shapes.pose import IDENTITY
from tests.shapes.test_every_shape import MEASURED, parameters, part_or_refusal

FAMILIES = MEASURED


@pytest.mark.parametrize("name", FAMILIES)
@settings(max_examples=100, deadline=None, suppress_health_check=list(HealthCheck), derandomize=True)
@given(data=st.data())
def test_volumes_agree(name: str, data: Any) -> None:
    part = part_or_refusal(shape_named(name)(**data.draw(parameters(name))))
    if isinstance(part, str):
        return
    exact = brep.part_solids(part, IDENTITY)
    # A facet 0.001 mm off a round of 3 mm radius takes 0.05 % of it.
    meshes = part_meshes(part, tolerance_mm=0.001)
    for mesh, (solid, _, shape) in zip(meshes, exact, strict=True):
        assert shape.isValid(), solid
        assert mesh.mesh.volume == pytest.approx(shape.Volume(), rel=1e-3), solid
