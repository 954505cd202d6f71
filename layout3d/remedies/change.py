"""One change of a scene a builder could make, and what it costs him."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from enum import IntEnum
from types import MappingProxyType

from layout3d.scene.complaints import Key
from layout3d.scene.model import PartSpec, Scene, TubeSpec


class Effort(IntEnum):
    """What a change takes, the least first; within one of these a lesser amount counts before a greater."""

    SLIDE = 0
    TURN_OF_FITTING = 1
    PATH = 2
    OTHER_WAY_ROUND = 3
    FAN_SIDE = 4
    OTHER_SIZE = 5


@dataclass(frozen=True, slots=True, eq=False)
class Change:
    """One thing changed.

    amount : [mm] or [degrees], for the order among changes of the same effort
    about : who is moved, turned or exchanged, by name
    words : "slide front_radiator 12 mm toward the roof along its slots"
    write : new YAML by key path, as the file would say it; empty where it is not one value
    scene : the scene with the change made
    """

    effort: Effort
    amount: float
    about: str
    words: str
    scene: Scene
    write: Mapping[Key, str] = field(default_factory=lambda: MappingProxyType({}))

    @property
    def cost(self) -> tuple[int, float]:
        """Orders changes."""
        return int(self.effort), self.amount

    def told(self) -> str:
        """The words, and what the file would say."""
        if not self.write:
            return self.words
        return f"{self.words} ({', '.join(f'`{_key(key)}: {value}`' for key, value in self.write.items())})"


def with_part(scene: Scene, spec: PartSpec) -> Scene:
    """The scene with one part written anew."""
    return replace(scene, parts=MappingProxyType({**scene.parts, spec.name: spec}))


def with_tube(scene: Scene, spec: TubeSpec) -> Scene:
    """The scene with one tube written anew."""
    return replace(scene, tubes=MappingProxyType({**scene.tubes, spec.name: spec}))


def written(scene: Scene, key: Key, value: str) -> dict[Key, str]:
    """What the file would say at ``key``; nothing for an entry that is not in it by its own name."""
    return {key: value} if key[:2] in scene.places.lines else {}


def _key(key: Key) -> str:
    """The last word of a key path: what stands before the colon."""
    return next(str(step) for step in reversed(key) if isinstance(step, str))
