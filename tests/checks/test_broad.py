"""The tree and the plain comparison find the same pairs, and miss none that come near."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from layout3d.checks.broad import near_pairs
from layout3d.kernels.bodies import body
from layout3d.kernels.measure import measure
from shapes.pose import Pose
from shapes.primitives import Box

boxes = st.builds(
    lambda size, at: body(Box(size), Pose.at(at)),
    st.tuples(*[st.floats(1, 40)] * 3),
    st.tuples(*[st.floats(-60, 60)] * 3),
)


@settings(deadline=None)
@given(st.lists(boxes, max_size=12), st.floats(0, 10))
def test_the_tree_finds_what_comparing_all_finds(bodies, reach: float) -> None:
    compared, from_tree = near_pairs(bodies, reach), near_pairs(bodies, reach, few=0)
    np.testing.assert_array_equal(compared, from_tree)
    found = {tuple(pair) for pair in compared.tolist()}
    for j, second in enumerate(bodies):
        for i in range(j):
            if (i, j) not in found:
                assert measure(bodies[i], second).gap_mm >= reach - 1e-6
