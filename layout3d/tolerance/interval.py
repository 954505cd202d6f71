"""What a share counted in draws says about the true share."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from shapes.pose import Array

_STEPS = 60


def share_interval(hits: int, draws: int, confidence: float = 0.95) -> tuple[float, float]:
    """The exact interval of Clopper and Pearson for a share of which ``hits`` of ``draws`` were counted.

    It holds the true share with at least this confidence, whatever that share is. Source: C. J. Clopper and
    E. S. Pearson, Biometrika 26 (1934), pages 404 to 413.
    """
    tail = 0.5 * (1.0 - confidence)
    low = 0.0 if hits == 0 else _root(lambda share: 1.0 - _at_most(hits - 1, draws, share) < tail)
    high = 1.0 if hits == draws else _root(lambda share: _at_most(hits, draws, share) > tail)
    return low, high


def _root(below: Callable[[float], bool]) -> float:
    """Where ``below`` turns false between 0 and 1, by bisection."""
    low, high = 0.0, 1.0
    for _ in range(_STEPS):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if below(middle) else (low, middle)
    return 0.5 * (low + high)


def _at_most(hits: int, draws: int, share: float) -> float:
    """The binomial chance of at most ``hits`` hits in ``draws``."""
    counts = np.arange(hits + 1)
    logs: Array = np.concatenate([[0.0], np.cumsum(np.log(np.arange(1, draws + 1)))])
    terms = logs[draws] - logs[counts] - logs[draws - counts]
    terms = terms + counts * np.log(share) + (draws - counts) * np.log1p(-share)
    return float(np.exp(terms).sum())
