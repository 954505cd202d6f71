"""What the kernels say of pairs whose truth is known, told as counts and worst errors."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from layout3d.kernels.bodies import body
from layout3d.kernels.measure import Measured, measure_pairs

from .constructed import Known

#: Up to this a distance is contact [mm].
CONTACT_MM = 1e-6


@dataclass(frozen=True, slots=True)
class Tally:
    """Counts over a campaign, worst errors [mm], and the pairs that were told wrongly."""

    pairs: int
    wrong_signs: int
    missed_inside: int
    gap_error_mm: float
    depth_error_mm: float
    understated_mm: float
    wrong: tuple[tuple[Known, Measured], ...]


def tallied(pairs: Sequence[Known]) -> Tally:
    """Measure every pair to full accuracy, in both orders by turns, and compare."""
    placed = [(body(*known.first), body(*known.second)) for known in pairs]
    asked = [pair[:: 1 if n % 2 else -1] for n, pair in enumerate(placed)]
    told = measure_pairs(asked, np.full(len(asked), np.inf), stop_when_decided=False)
    both = list(zip(pairs, told, strict=True))
    wrong = [(k, m) for k, m in both if _wrong_sign(k, m)]
    apart = [abs(m.gap_mm - k.truth_mm) for k, m in both if not k.inside and k.truth_mm >= 0.0]
    lower = [m.lower_mm - k.truth_mm for k, m in both if not k.inside and k.truth_mm >= 0.0]
    deep = [(k, m) for k, m in both if not k.inside and k.truth_mm < 0.0]
    return Tally(
        pairs=len(pairs),
        wrong_signs=len(wrong),
        missed_inside=sum(k.inside for k, _ in wrong),
        gap_error_mm=_most([*apart, *lower]),
        depth_error_mm=_most(abs(m.gap_mm - k.truth_mm) for k, m in deep if k.convex),
        understated_mm=_most(m.gap_mm - k.truth_mm for k, m in deep),
        wrong=tuple(wrong),
    )


def _wrong_sign(known: Known, told: Measured) -> bool:
    if known.inside or known.truth_mm < -CONTACT_MM:
        return told.gap_mm >= -CONTACT_MM
    return told.gap_mm < -CONTACT_MM or (known.truth_mm <= CONTACT_MM) != (told.gap_mm <= 2 * CONTACT_MM)


def _most(values: Iterable[float]) -> float:
    return max(values, default=0.0)
