"""Where a clear layout has least to spare: what to look at before parts are bought by it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from layout3d.checks.broad import near_pairs
from layout3d.checks.items import Gaps, Item, items_of
from layout3d.kernels.bodies import Body
from layout3d.kernels.measure import measure_pairs
from layout3d.layout import Layout

#: Gaps with more to spare than this are not worth telling [mm].
WORTH_TELLING_MM = 5.0
_BATCH = 24


@dataclass(frozen=True, slots=True)
class Margin:
    """The gap between two owners, and the rule it keeps [mm]."""

    first: str
    second: str
    gap_mm: float
    required_mm: float

    @property
    def spare_mm(self) -> float:
        """What the gap has beyond its rule [mm]."""
        return self.gap_mm - self.required_mm


def tightest(layout: Layout, most: int = 3) -> tuple[Margin, ...]:
    """The pairs of owners with least to spare over their rule, least first.

    At most ``most``, none with more than ``WORTH_TELLING_MM`` to spare, and none that may touch.
    Nothing tighter is left out: pairs are measured in the order of what their boxes leave at
    least, until that is more than what was found. A tube against what it ends on is left out: it
    runs straight out of there just as far as its gap asks.
    """
    gaps = Gaps.of(layout)
    own = {frozenset((tube.name, name)) for tube in layout.tubes for end in tube.near for name in end}
    asked = _asked(items_of(layout), gaps, own)
    found: dict[frozenset[str], Margin] = {}
    for start in range(0, len(asked), _BATCH):
        batch = asked[start : start + _BATCH]
        best = sorted(found.values(), key=lambda margin: margin.spare_mm)[:most]
        if len(best) == most and best[-1].spare_mm <= batch[0][0]:
            break
        for margin in _measured(batch):
            pair = frozenset((margin.first, margin.second))
            if pair not in found or margin.spare_mm < found[pair].spare_mm:
                found[pair] = margin
    told = sorted(found.values(), key=lambda margin: margin.spare_mm)
    return tuple(margin for margin in told[:most] if margin.spare_mm <= WORTH_TELLING_MM)


def _asked(
    items: Sequence[Item], gaps: Gaps, own: set[frozenset[str]]
) -> list[tuple[float, Item, Item, float]]:
    """What each pair has to spare at least, and the gap it must keep; sorted."""
    bodies = [item.body for item in items]
    asked = []
    for i, j in near_pairs(bodies, gaps.widest + WORTH_TELLING_MM).tolist():
        first, second = items[i], items[j]
        if frozenset((first.owner, second.owner)) in own:
            continue
        if first.owner != second.owner and (required := gaps.required(first, second)) > 0.0:
            asked.append((_box_gap(first.body, second.body) - required, first, second, required))
    return sorted(asked, key=lambda pair: pair[0])


def _box_gap(first: Body, second: Body) -> float:
    apart = np.maximum(np.maximum(first.low - second.high, second.low - first.high), 0.0)
    return float(np.sqrt(apart @ apart))


def _measured(batch: Sequence[tuple[float, Item, Item, float]]) -> list[Margin]:
    """Exact gaps, as far as they are worth telling; a longer one may stand as a lower bound."""
    enough = np.array([required + WORTH_TELLING_MM + 1e-3 for _, _, _, required in batch])
    measured = measure_pairs([(first.body, second.body) for _, first, second, _ in batch], enough)
    return [
        Margin(first.owner, second.owner, result.gap_mm, required)
        for (_, first, second, required), result in zip(batch, measured, strict=True)
    ]
