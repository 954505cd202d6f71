"""Stacks in place: what lies on what, and how thick each layer is."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations, pairwise

from layout3d.layout import Joint
from layout3d.scene.model import Scene, Stack


def stack_joints(scene: Scene) -> Iterator[Joint]:
    """Joints of parts side by side in a layer, and of layers that lie one on the other."""
    for stack in scene.stacks.values():
        for layer in stack.layers:
            for first, second in combinations(layer, 2):
                yield Joint(first, second)
        for below, above in _meeting(stack):
            for first in below:
                for second in above:
                    yield Joint(first, second)


def _meeting(stack: Stack) -> Iterator[tuple[tuple[str, ...], tuple[str, ...]]]:
    """Layers with nothing between them: those on both sides of the sheet do not meet."""
    for at, (below, above) in enumerate(pairwise(stack.layers), start=1):
        if at != stack.panel:
            yield below, above
