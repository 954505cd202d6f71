"""Every measure of the sheets against the part it is taken on: what is drawn is what is meant."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from layout3d.measuring.ends import drawn, ends
from layout3d.measuring.measures import SHEETS
from layout3d.measuring.views import VIEWS
from shapes import shape_named

ALL = [(word, measure) for word, sheet in SHEETS.items() for measure in sheet.measures]


@pytest.mark.parametrize(("word", "measure"), ALL, ids=[f"{word}-{one.key}" for word, one in ALL])
@settings(max_examples=12, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
@given(share=st.floats(-0.04, 0.04))
def test_a_measure_spans_its_own_parameter_and_no_other(word, measure, share):
    family = shape_named(SHEETS[word].shape)
    usual = getattr(family(), measure.key)
    value = round(usual * (1.0 + share), 3)
    try:
        shape = family.model_validate({measure.key: value})
        start, end = ends(drawn(shape), measure)
    except ValueError:
        return  # the case itself refuses the value: its own tests say when
    assert np.abs(end - start).sum() == pytest.approx(value, abs=1e-9)
    across = np.abs(np.linalg.norm(end - start) - np.abs(end - start).max())
    assert across == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize("word", SHEETS)
def test_a_sheet_asks_for_every_length_that_can_be_measured(word):
    sheet = SHEETS[word]
    fields = shape_named(sheet.shape).model_fields
    lengths = {key for key, field in fields.items() if field.json_schema_extra["unit"] == "mm"}
    asked = {measure.key for measure in sheet.measures}
    assert asked <= lengths
    # Holes drilled by the builder are not measured; the case the sheet is drawn from has no bays.
    assert lengths - asked <= {"bulkhead_diameter", "bay_drop"}
    assert set(sheet.ticked) <= set(fields) - lengths
    assert {measure.view for measure in sheet.measures} <= set(VIEWS)
