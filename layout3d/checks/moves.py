"""Moves that are tried before they are advised."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TypeAlias

import numpy as np

from layout3d.checks.items import Gaps, Item
from layout3d.kernels.bodies import Body
from layout3d.kernels.measure import CONTACT_MM, measure_pairs
from layout3d.layout import Joint
from shapes.bounds import primitive_span
from shapes.pose import Array, Vec3

#: A move this long is no remedy inside a case [mm].
LONGEST_MOVE_MM = 1000.0
_TRIES = 24
#: Two bodies and the gap they must keep [mm].
Wanted: TypeAlias = tuple[Body, Body, float]


def trial_move(
    first: str, second: str, direction: Vec3, at_least: float, items: Sequence[Item], gaps: Gaps
) -> float | None:
    """How far ``second`` must go along ``direction`` until it clears all of ``first`` by the rule [mm].

    Parts of an engaging joint are tried drawn apart by it. The length returned was measured to
    clear every pair of solids of the two; None where nothing within reach does.
    """
    fixed = [item for item in items if item.owner == first]
    moving = engaged(gaps.joint(first, second), [item for item in items if item.owner == second])

    def pairs(by: Array) -> list[Wanted]:
        moved = [(item, item.body.moved(by)) for item in moving]
        return [(other.body, there, gaps.required(other, item)) for item, there in moved for other in fixed]

    return least_move(pairs, np.asarray(direction), at_least)


def least_move(pairs_at: Callable[[Array], list[Wanted]], direction: Array, at_least: float) -> float | None:
    """The length along ``direction`` at which every pair of ``pairs_at(move)`` keeps its gap [mm].

    Starts at ``at_least`` and grows by what is still missing, so it stops at the first clear
    place it meets; None beyond LONGEST_MOVE_MM.
    """
    move = max(at_least, 0.0)
    for _ in range(_TRIES):
        missing = shortfall(pairs_at(direction * move))
        if missing <= CONTACT_MM:
            return move
        move += missing
        if move > LONGEST_MOVE_MM:
            return None
    return None


def shortfall(pairs: Sequence[Wanted]) -> float:
    """What the worst of these pairs lacks to its gap [mm], 0 where all keep theirs."""
    near = [
        (a, b, gap) for a, b, gap in pairs if np.all(a.low <= b.high + gap) and np.all(b.low <= a.high + gap)
    ]
    if not near:
        return 0.0
    measured = measure_pairs([(a, b) for a, b, _ in near], np.array([gap for _, _, gap in near]))
    return max(0.0, *(gap - result.gap_mm for (_, _, gap), result in zip(near, measured, strict=True)))


def engaged(joint: Joint | None, items: Sequence[Item]) -> list[Item]:
    """One partner's solids as they are measured against the other's.

    Where the joint engages, all of them drawn off by the engagement; of the second partner what
    does not go in, as it stands, as well.
    """
    if joint is None or joint.axis is None or joint.engagement == 0.0:
        return list(items)
    axis = np.asarray(joint.axis)
    sign = 1.0 if items and items[0].owner == joint.second else -1.0
    drawn = [replace(item, body=item.body.moved(sign * joint.engagement * axis)) for item in items]
    if sign < 0.0:
        return drawn
    return drawn + [item for item in items if _stays_out(item, joint, axis)]


def _stays_out(item: Item, joint: Joint, axis: Array) -> bool:
    """Whether a solid of the second partner is wholly outside the face, or reaches past it elsewhere than
    round the joint's axis: a card's bracket beside its slot.
    """
    low, high = primitive_span(item.primitive, item.solid2scene, axis)
    if low >= joint.face - CONTACT_MM:
        return True
    depth = 0.5 * (max(low, joint.face - joint.engagement) + min(high, joint.face)) - joint.face
    there = np.asarray(joint.seat) + depth * axis
    body = item.body
    return not bool(((body.low <= there + CONTACT_MM) & (there - CONTACT_MM <= body.high)).all())
