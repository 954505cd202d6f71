"""The unknown lengths of a scene as a box, and the scene built anywhere in it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from layout3d.errors import Problem, SceneErrors
from layout3d.layout import Layout
from layout3d.placing.place import TubeEnds, place
from layout3d.scene.complaints import Key, key_text
from layout3d.scene.model import Scene
from layout3d.scene.reader import scene_with
from layout3d.words import number
from shapes.pose import Array

#: Whole builds beside those at the ends of each length that must follow from these.
_JOINT = 4
_SEED = 20


@dataclass(frozen=True, slots=True, eq=False)
class Unknowns:
    """N lengths with a tolerance, told by their offsets from what is written.

    nominal, low, high : (N,) the length, and how far the true one may be off it [mm]
    """

    scene: Scene
    keys: tuple[Key, ...]
    nominal: Array
    low: Array
    high: Array

    @staticmethod
    def of(scene: Scene) -> Unknowns:
        """Those of a scene that states tolerances; a tolerance of 0 leaves nothing unknown."""
        assert scene.tolerances is not None
        terms = {key: t for key, t in scene.tolerances.terms.items() if t.below > 0.0 or t.above > 0.0}
        nominal, below, above = (
            np.array([getattr(term, name) for term in terms.values()])
            for name in ("nominal", "below", "above")
        )
        return Unknowns(scene, tuple(terms), nominal, -below, above)

    def __len__(self) -> int:
        return len(self.keys)

    def name(self, n: int) -> str:
        """ "parts.left.at[0]"."""
        return key_text(self.keys[n])

    def samples(self) -> Array:
        """Offsets (M, N) [mm] at which the scene is built to learn how it follows its lengths.

        Both ends of each length alone, then everything at its low and high ends, and anywhere between.
        """
        ends = [np.eye(len(self))[n] * end[n] for n in range(len(self)) for end in (self.low, self.high)]
        alone = np.array([row for row in ends if row.any()]).reshape(-1, len(self))
        between = np.random.default_rng(_SEED).uniform(self.low, self.high, (_JOINT - 2, len(self)))
        return np.concatenate([alone, [self.low, self.high], between])

    def built(self, offset: Array) -> tuple[Layout, dict[str, TubeEnds]]:
        """All parts and fittings where they stand with these lengths (N,), and the ends of the tubes.

        SceneErrors, at the lengths' own lines, where nothing can be built so.
        """
        lengths = dict(zip(self.keys, (self.nominal + offset).tolist(), strict=True))
        try:
            return place(scene_with(self.scene, lengths))
        except SceneErrors as error:
            raise SceneErrors(list(self._told(error, offset))) from error

    def _told(self, error: SceneErrors, offset: Array) -> Iterator[Problem]:
        changed = [n for n in range(len(self)) if offset[n] != 0.0]
        said = ", ".join(self.written(n, self.nominal[n] + offset[n]) for n in changed[:3])
        at = self.keys[changed[0]]
        for problem in error.problems:
            message = f"within its tolerance it may be {said}, and then {problem.key}: {problem.message}"
            yield Problem(
                self.scene.file, self.scene.places.line(*at), key_text(at), message, problem.choices
            )

    def written(self, n: int, length: float) -> str:
        """ "parts.left.at[0] = 60.5 mm"."""
        return f"{self.name(n)} = {number(length, 3)} mm"
