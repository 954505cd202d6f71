"""The rule for how near two things may come, as the checker and the makers of tubes both ask it."""

from __future__ import annotations


def gap_between(rule_mm: float, *own_mm: float | None) -> float:
    """The gap to keep [mm]: the larger of the things' own gaps, the scene's rule where none has one."""
    return max((own for own in own_mm if own is not None), default=rule_mm)
