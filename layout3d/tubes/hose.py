"""Which shapes a hose can take between two fittings, and the shortest that is not kinked and clears all.

A hose is laid in one way or another (hanging, bulging to a side), so each length has a few shapes in
balance; each is sought from a curve that leads that way.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from layout3d.layout import PortLoad
from layout3d.scene.model import SoftTubing
from layout3d.tubes.centreline import Piece, length_mm
from layout3d.tubes.detour import of_length, ways_aside
from layout3d.tubes.hung import LINKS, Hung, directions, hung, rough_radius
from layout3d.tubes.rod import solved
from layout3d.tubes.turns import Ray
from shapes.pose import DIRECTIONS, Array, as_vec3

#: Whether a shape keeps clear of all there is.
Clear = Callable[[Hung], bool]

#: From memory: soft PVC and rubber hose 1.1 to 1.3; water with glycol 1.02 to 1.07 [kg/mm^3].
_HOSE_DENSITY, _COOLANT_DENSITY = 1.2e-6, 1.04e-6
_GRAVITY = 9.80665  # m/s^2, standard
#: A shape counts as open enough if it is by this share more, so that it stays so when solved again.
_SPARE = 2e-5
#: How lengths are tried: steps as shares of the shortest curve, and how far on in all.
_FINE, _FINE_STEPS, _COARSE = 0.004, 30, 0.04
_LONGEST = 1.8
#: Where the shortest shape is in something's way: longer ones tried, and how near their shortest is found.
_LONGER_STEPS, _CLEAR_MM, _TRIED_LINKS = 15, 1.0, 48
#: A rough radius is taken for too small below this share of the wanted one.
_ROUGH_LINKS, _ROUGHLY = 24, 0.97
#: Ends of the stretches of lengths that do are found to this [mm].
_WINDOW_MM = 0.25
#: The shortest length is found to this [mm].
_LENGTH_MM = 0.02


def stiffness(tubing: SoftTubing) -> float:
    """Bending stiffness of the tubing, E pi (D^4 - d^4) / 64 [N mm^2]."""
    return tubing.modulus * math.pi * (tubing.outside**4 - tubing.inside**4) / 64.0


def load(tubing: SoftTubing) -> float:
    """Weight of the filled tubing [N/mm]."""
    bore = math.pi / 4.0 * tubing.inside**2
    wall = math.pi / 4.0 * tubing.outside**2 - bore
    return _GRAVITY * (wall * _HOSE_DENSITY + bore * _COOLANT_DENSITY)


@dataclass(frozen=True, slots=True)
class Hose:
    """A hose between two clamps. ``curve``: the shortest that keeps its radius, the shapes' first guess."""

    start: Ray
    end: Ray
    tubing: SoftTubing
    curve: tuple[Piece, ...]

    @property
    def weight(self) -> Array:
        """Load on each mm over the bending stiffness (3,) [1/mm^3]."""
        return np.asarray(DIRECTIONS["floor"]) * (load(self.tubing) / stiffness(self.tubing))

    @property
    def least_mm(self) -> float:
        """No hose that keeps its radius is shorter [mm]."""
        return length_mm(self.curve)

    def of_length(self, length: float, clear: Clear) -> Hung | None:
        """A shape of this length: one that is not kinked and clears all before others, then the most open."""
        best: Hung | None = None
        for links in self._guesses(length):
            shape = hung(self.start, self.end, length, links, self.weight)
            if shape is not None and self.is_open(shape.least_radius) and clear(shape):
                return shape
            if shape is not None and (best is None or shape.least_radius > best.least_radius):
                best = shape
        return best

    def windows(self, clear: Clear) -> tuple[tuple[float, float], ...]:
        """Every stretch of lengths at which some shape is not kinked and clears all [mm].

        Found by trying lengths a hundredth of the shortest curve apart, from every guess; ends of
        stretches to ``_WINDOW_MM``, the last one where the search ended. Narrower
        stretches between two lengths tried are not seen.
        """
        lengths = [
            self.least_mm * (1.0 + 0.01 * step) for step in range(1, round(100 * (_LONGEST - 1.0)) + 1)
        ]
        found: list[tuple[float, float]] = []
        for guess in self._guesses(self.least_mm * 1.05):
            good: list[Hung | None] = []
            links = guess = guess[:: max(1, len(guess) // _ROUGH_LINKS)]
            for length in lengths:
                rough = rough_radius(self.start, self.end, length, links, self.weight)
                shape = None
                if rough is not None and rough[0] >= _ROUGHLY * self.tubing.bend_radius:
                    shape = self._open(length, rough[1])
                links = guess if rough is None else rough[1]
                good.append(shape if shape is not None and clear(shape) else None)
            found += self._stretches(lengths, good, clear)
        return _merged(found)

    def _stretches(
        self, lengths: list[float], good: list[Hung | None], clear: Clear
    ) -> Iterator[tuple[float, float]]:
        """Runs of good lengths, their ends drawn out towards the next length that is not."""
        for k, shape in enumerate(good):
            if shape is None or (k > 0 and good[k - 1] is not None):
                continue
            last = next((n for n in range(k, len(good)) if good[n] is None), len(good)) - 1
            ending = good[last]
            assert ending is not None
            low = lengths[k - 1] if k > 0 else self.least_mm
            high = lengths[last + 1] if last + 1 < len(lengths) else lengths[last]
            yield (
                self._reached(shape, lengths[k], low, clear),
                self._reached(ending, lengths[last], high, clear),
            )

    def _reached(self, shape: Hung, good: float, bad: float, clear: Clear) -> float:
        """How far from a good length towards a bad one it stays good [mm]."""
        while abs(good - bad) > _WINDOW_MM:
            middle = 0.5 * (good + bad)
            tried = self._open(middle, shape.links)
            if tried is not None and clear(tried):
                good, shape = middle, tried
            else:
                bad = middle
        return good

    def is_open(self, radius: float) -> bool:
        """Whether a least radius is none below the tubing's [mm]."""
        return radius >= self.tubing.bend_radius * (1.0 + 0.5 * _SPARE)

    def shortest(self, clear: Clear) -> Hung | None:
        """The shortest shape found that is not kinked and clears all; else the shortest not kinked."""
        first: Hung | None = None
        for links in self._guesses(self.least_mm * 1.05):
            shape = self._along(links, clear)
            if shape is not None and clear(shape):
                return shape
            first = shape if first is None else first
        return first

    def _along(self, links: Array, clear: Clear) -> Hung | None:
        """The same among the shapes that follow from one guess as the hose gets longer."""
        resampled = links[:: max(1, len(links) // _ROUGH_LINKS)]
        links, kinked, first = resampled, self.least_mm, None
        for length in self._lengths():
            found = rough_radius(self.start, self.end, length, links, self.weight)
            if found is None:
                links = resampled
                continue
            radius, links = found
            if radius < _ROUGHLY * self.tubing.bend_radius:
                kinked = length
                continue
            first = self._settled(kinked, length, links)
            if first is not None:
                return first if clear(first) else self._longer(first, clear) or first
        return None

    def _longer(self, blocked: Hung, clear: Clear) -> Hung | None:
        """The first longer shape that clears all, made as short as it then may be."""
        low, links = length_mm(blocked.pieces), blocked.links
        for step in range(1, _LONGER_STEPS + 1):
            high = length_mm(blocked.pieces) + step * _COARSE * self.least_mm
            shape = self._open(high, links)
            if shape is not None and clear(shape):
                shape = self._drawn_in(low, shape, clear)
                fine = hung(self.start, self.end, length_mm(shape.pieces), shape.links, self.weight)
                return fine if fine is not None and self.is_open(fine.least_radius) and clear(fine) else shape
            low, links = high, links if shape is None else shape.links
        return None

    def _drawn_in(self, low: float, shape: Hung, clear: Clear) -> Hung:
        """A shape made shorter, down to a length that is blocked, as long as it clears all."""
        while length_mm(shape.pieces) - low > _CLEAR_MM:
            middle = 0.5 * (low + length_mm(shape.pieces))
            shorter = self._open(middle, shape.links)
            if shorter is not None and clear(shorter):
                shape = shorter
            else:
                low = middle
        return shape

    def _open(self, length: float, links: Array) -> Hung | None:
        shape = hung(self.start, self.end, length, links, self.weight, _TRIED_LINKS)
        return shape if shape is not None and self.is_open(shape.least_radius) else None

    def _settled(self, low: float, high: float, links: Array) -> Hung | None:
        """The shape at the least length between two that is open; None where it is not at the higher one."""
        shape = hung(self.start, self.end, high, links, self.weight)
        rough = rough_radius(self.start, self.end, high, links, self.weight)
        if shape is None or rough is None or not self.is_open(shape.least_radius):
            return None
        wanted = self.tubing.bend_radius * rough[0] / shape.least_radius
        while high - low > _LENGTH_MM:
            middle = 0.5 * (low + high)
            found = rough_radius(self.start, self.end, middle, links, self.weight)
            if found is not None and found[0] >= wanted:
                high, links = middle, found[1]
            else:
                low = middle
        for spare in (0.0, 1.0, 5.0):
            tried = hung(self.start, self.end, high + spare * _LENGTH_MM, links, self.weight)
            if tried is not None and self.is_open(tried.least_radius):
                return tried
        return shape

    def _lengths(self) -> Iterator[float]:
        """From the shortest curve's on, in growing steps, to nearly twice that and a loop's turn [mm]."""
        least, longest = self.least_mm, _LONGEST * self.least_mm + 2.0 * self.tubing.bend_radius
        for step in range(1, _FINE_STEPS + 1):
            yield least * (1.0 + _FINE * step)
        length = least * (1.0 + _FINE * _FINE_STEPS)
        while (length := length + _COARSE * least) < longest:
            yield length

    def _guesses(self, length: float) -> Iterator[Array]:
        """Directions of curves that lead one way or another, the plainest first."""
        yield directions(self.curve, LINKS)
        radius = self.tubing.bend_radius
        curve = of_length(self.start, self.end, radius, self.curve, length)
        if curve is not None:
            yield directions(curve, LINKS)
        for aside in ways_aside(self.start, self.end, radius, self.curve, length):
            yield directions(aside, LINKS)


def _merged(stretches: list[tuple[float, float]]) -> tuple[tuple[float, float], ...]:
    merged: list[tuple[float, float]] = []
    for low, high in sorted(stretches):
        if merged and low <= merged[-1][1] + _WINDOW_MM:
            merged[-1] = (merged[-1][0], max(merged[-1][1], high))
        else:
            merged.append((low, high))
    return tuple(merged)


def loads(shape: Hung, hose: Hose, stems: tuple[float, float]) -> tuple[PortLoad, PortLoad]:
    """What the hose does to its two fittings, at the mouths ``stems`` mm before its clamps."""
    scale = stiffness(hose.tubing)
    weight = np.asarray(DIRECTIONS["floor"]) * (load(hose.tubing) * length_mm(shape.pieces))
    last = -scale * np.asarray(shape.force)
    first = weight - last
    told = []
    for force, moment, axis, stem in zip(
        (first, last), shape.moments, (hose.start[1], -np.asarray(hose.end[1])), stems, strict=True
    ):
        lever = np.asarray(axis) * stem
        told.append(PortLoad(as_vec3(force), as_vec3(-scale * np.asarray(moment) + np.cross(lever, force))))
    return told[0], told[1]


def sag_mm(shape: Hung, hose: Hose) -> float | None:
    """How far the weight moves the hose from where it would lie without; None where it would not lie [mm]."""
    length = length_mm(shape.pieces)
    light = solved(hose.start, hose.end, length, shape.links, np.zeros(3))
    heavy = solved(hose.start, hose.end, length, shape.links, hose.weight)
    if light is None or heavy is None:
        return None
    return float(np.linalg.norm(light.joints - heavy.joints, axis=1).max())
