"""Refuses parameters that another choice leaves without effect, so that none is passed over in silence."""

from __future__ import annotations

from shapes.fields import Shape


def check_idle(shape: Shape, key: str, needed: str, *names: str) -> None:
    """ValueError where one of ``names`` is given though the choice ``key`` is not ``needed``."""
    chosen = getattr(shape, key)
    for name in names:
        value = getattr(shape, name)
        if name in shape.model_fields_set and value is not None and chosen != needed:
            raise ValueError(f"{name} {value:g} is for `{key}: {needed}`, here it is `{key}: {chosen}`")
