"""A layout checked again after a change: only pairs with a solid that changed are measured anew."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeAlias

import numpy as np

from layout3d.kernels.bodies import Body
from layout3d.kernels.measure import Measured, measure_pairs
from shapes.pose import Array
from shapes.primitives import Primitive

_Solid: TypeAlias = tuple[Primitive, bytes, bytes]
_Asked: TypeAlias = tuple[_Solid, _Solid, float]


class Again:
    """What was measured in the last call, for the next one.

    A pair is known by both primitives, where they stand to the last bit, and its wanted gap; so a
    layout read anew from its file finds what it shares with the former one. Pairs that are no
    longer asked for are forgotten.
    """

    def __init__(self) -> None:
        self._known: dict[_Asked, Measured] = {}
        #: How many pairs the last call had to measure.
        self.fresh = 0

    def measure(self, pairs: Sequence[tuple[Body, Body]], required: Array) -> list[Measured]:
        """As ``layout3d.kernels.measure.measure_pairs`` with pairs that are done once decided."""
        solids = {id(one): one for pair in pairs for one in pair}
        keys = {name: _key(one) for name, one in solids.items()}
        asked = [
            (keys[id(a)], keys[id(b)], gap) for (a, b), gap in zip(pairs, required.tolist(), strict=True)
        ]
        fresh = [n for n, key in enumerate(asked) if key not in self._known]
        told = measure_pairs([pairs[n] for n in fresh], np.asarray(required)[fresh]) if fresh else []
        known = self._known | {asked[n]: one for n, one in zip(fresh, told, strict=True)}
        self._known = {key: known[key] for key in asked}
        self.fresh = len(fresh)
        return [self._known[key] for key in asked]


def _key(one: Body) -> _Solid:
    pose = one.solid2scene
    return one.primitive, pose.rotation.tobytes(), pose.origin.tobytes()
