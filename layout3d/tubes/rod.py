"""Soft tube as an elastic rod: the shape it takes between two fittings at a given length.

An inextensible, evenly stiff rod, clamped in place and direction at both ends and free of twist, as
a hose in compression fittings is. It takes a shape of least energy: bending, and the weight of tube
and coolant. Everything is counted per unit of bending stiffness, so that only the ratio of weight to
stiffness matters; times the stiffness [N mm^2], forces are N and moments N mm.

The rod is solved as a chain of straight links with bending springs at their joints (Bergou et al.,
Discrete Elastic Rods, 2008, without twist), by Newton steps on the directions of the links.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.linalg.lapack import dpotrf, dpotrs

from layout3d.tubes.turns import Ray
from shapes.pose import Array

_STEPS = 120
#: Solved when no link pulls harder than this, against springs of about 1, and the end is met to it [mm].
_DONE = 1e-9
#: How hard the end is held while a step is solved, against the springs.
_HOLD = 100.0
#: No link turns further than this in one step [radians].
_LONGEST_TURN = 0.5


@dataclass(frozen=True, slots=True, eq=False)
class Rod:
    """A shape in balance.

    joints : (n + 1, 3) of the chain, both ends included [mm]
    links : (n, 3) unit directions
    leave, arrive : (3,) directions of the clamps (unit)
    length : [mm]
    force : (3,) on the last end, over the bending stiffness [1/mm^2]
    """

    joints: Array
    links: Array
    leave: Array
    arrive: Array
    length: float
    force: Array

    @property
    def tangents(self) -> Array:
        """Directions of the curve at the joints (n + 1, 3): between their links; at the ends the clamps'."""
        between = self.links[1:] + self.links[:-1]
        between /= np.linalg.norm(between, axis=1)[:, None]
        return np.concatenate([self.leave[None], between, self.arrive[None]])

    @property
    def curvatures(self) -> Array:
        """Curvature vectors at the joints (n + 1, 3), square to the tangents [1/mm]."""
        link = self.length / len(self.links)
        inner = np.diff(self.links, axis=0) / link
        first = 2.0 * (self.links[0] - self.leave) / link
        last = 2.0 * (self.arrive - self.links[-1]) / link
        return np.concatenate([first[None], inner, last[None]])

    @property
    def moments(self) -> tuple[Array, Array]:
        """Moments the clamps put on the rod at its two ends (3,), over the bending stiffness [1/mm]."""
        bend = self.curvatures
        return -np.cross(self.leave, bend[0]), np.cross(self.arrive, bend[-1])


def solved(start: Ray, end: Ray, length: float, links: Array, weight: Array) -> Rod | None:
    """The rod in balance near a first guess; None where none was found.

    start, end : place and direction of travel at both clamps
    links : (n, 3) unit directions of the guess; they need not lead to the end
    weight : (3,) load on each mm, over the bending stiffness [1/mm^3]
    """
    chain = _Chain(np.asarray(end[0]) - np.asarray(start[0]), start[1], end[1], length, len(links), weight)
    found = chain.balanced(_bowed(links, weight))
    if found is None:
        return None
    links, force = found
    steps = np.cumsum(links, axis=0) * chain.link
    joints = np.asarray(start[0]) + np.concatenate([np.zeros((1, 3)), steps])
    return Rod(joints, links, chain.leave, chain.arrive, length, force)


class _Chain:
    """The energy of a chain of links, its slope and stiffness, over the bending stiffness."""

    def __init__(
        self, across: Array, leave: object, arrive: object, length: float, count: int, weight: Array
    ) -> None:
        self.across, self.count, self.link = across, count, length / count
        self.leave, self.arrive = np.asarray(leave, dtype=float), np.asarray(arrive, dtype=float)
        # A link carries the weight of all links after it and half its own.
        carried = (count - np.arange(count) - 0.5) * self.link**2
        self.load = -carried[:, None] * np.asarray(weight, dtype=float)

    def energy(self, links: Array) -> float:
        bends = len(links) - 1 - float(np.einsum("nc,nc->", links[1:], links[:-1]))
        clamps = 4.0 - 2.0 * float(links[0] @ self.leave + links[-1] @ self.arrive)
        return (bends + clamps) / self.link + float(np.einsum("nc,nc->", self.load, links))

    def missed(self, links: Array) -> Array:
        """From where the chain ends to where it should (3,) [mm]."""
        return np.asarray(self.across - self.link * links.sum(axis=0))

    def slope(self, links: Array) -> Array:
        """Derivative of the energy by the links' directions (n, 3)."""
        pull = np.zeros_like(links)
        pull[1:] -= links[:-1]
        pull[:-1] -= links[1:]
        pull[0] -= 2.0 * self.leave
        pull[-1] -= 2.0 * self.arrive
        return np.asarray(pull / self.link + self.load)

    def balanced(self, links: Array) -> tuple[Array, Array] | None:
        """Links (n, 3) in balance and the end's force (3,)."""
        merit_weight = 0.0
        for _ in range(_STEPS):
            basis = _square_to(links)
            slope, missed = self.slope(links), self.missed(links)
            span = self.link * np.concatenate(
                list(basis.transpose(0, 2, 1)), axis=0
            )  # (2n, 3): its ends' travel
            flat = np.einsum("nca,nc->na", basis, slope).ravel()
            force, *_ = np.linalg.lstsq(span, flat, rcond=None)
            left = float(np.abs(flat - span @ force).max()) * self.link
            if left < _DONE and float(np.abs(missed).max()) < _DONE:
                return links, force
            turn = self._newton(links, basis, slope, flat, span, force, missed)
            turn *= min(1.0, _LONGEST_TURN / max(float(np.abs(turn).max()), 1e-300))
            merit_weight = max(merit_weight, 2.0 * float(np.abs(force).max()) + 1e-6)
            links = self._searched(links, basis, turn, merit_weight)
        return None

    def _newton(
        self, links: Array, basis: Array, slope: Array, flat: Array, span: Array, force: Array, missed: Array
    ) -> Array:
        """Turns of the links (n, 2) towards balance: to the end along the shortest way, then downhill."""
        count = self.count
        stiff = np.zeros((count, 2, count, 2))
        own = -np.einsum("nc,nc->n", links, slope - self.link * force)
        every = np.arange(count)
        stiff[every, 0, every, 0] = stiff[every, 1, every, 1] = own
        beside = -np.einsum("nca,ncb->nab", basis[:-1], basis[1:]) / self.link
        stiff[every[:-1], :, every[1:], :] = beside
        stiff[every[1:], :, every[:-1], :] = beside.transpose(0, 2, 1)
        whole = stiff.reshape(2 * count, 2 * count)
        # Stiffer against missing the end: the same solution, and what is left is almost always convex.
        hold = _HOLD / (count * self.link**3)
        held, pull = whole + hold * (span @ span.T), flat - hold * (span @ missed)
        lower, failed = dpotrf(held, lower=1, clean=0)
        if failed:
            return _downhill(whole, flat, span, missed).reshape(count, 2)
        sides, _ = dpotrs(lower, np.concatenate([pull[:, None], span], axis=1), lower=1)
        force = np.linalg.solve(span.T @ sides[:, 1:], missed + span.T @ sides[:, 0])
        return np.asarray((sides[:, 1:] @ force - sides[:, 0]).reshape(count, 2))

    def _searched(self, links: Array, basis: Array, turn: Array, merit_weight: float) -> Array:
        """The links turned by as much of the step as lowers energy and miss together."""

        def merit(tried: Array) -> float:
            return self.energy(tried) + merit_weight * float(np.abs(self.missed(tried)).sum())

        before, share = merit(links), 1.0
        moved = _turned(links, basis, turn)
        while merit(moved) > before + 1e-12 * abs(before) and share > 1e-4:
            share *= 0.5
            moved = _turned(links, basis, share * turn)
        return moved


def _bowed(links: Array, weight: Array) -> Array:
    """A straight guess bowed a little to where the weight pulls: a dead straight one has no way to give."""
    if float(np.abs(links - links[0]).max()) > 1e-6:
        return links
    down = weight - (weight @ links[0]) * links[0]
    length = float(np.linalg.norm(down))
    side = down / length if length > 0.0 else _square_to(links[:1])[0, :, 0]
    wave = 0.05 * np.sin(2.0 * np.pi * (np.arange(len(links)) + 0.5) / len(links))
    bowed = links + wave[:, None] * side
    return np.asarray(bowed / np.linalg.norm(bowed, axis=1)[:, None])


def _downhill(stiff: Array, slope: Array, span: Array, missed: Array) -> Array:
    """A step where the energy curves the other way: to the end along the shortest way, and downhill.

    So what is found in the end is stable.
    """
    frame, upper = np.linalg.qr(span, mode="complete")
    first, free = frame[:, :3], frame[:, 3:]
    reach = first @ np.linalg.solve(upper[:3].T, missed)
    values, vectors = np.linalg.eigh(free.T @ stiff @ free)
    scale = np.maximum(np.abs(values), 1e-9 * float(np.abs(values).max()))
    down = vectors @ ((vectors.T @ (free.T @ (slope + stiff @ reach))) / scale)
    return np.asarray(reach - free @ down)


def _square_to(links: Array) -> Array:
    """Two unit vectors square to each link and each other, (n, 3, 2)."""
    least = np.eye(3)[np.abs(links).argmin(axis=1)]
    one = np.cross(links, least)
    one /= np.linalg.norm(one, axis=1)[:, None]
    return np.stack([one, np.cross(links, one)], axis=2)


def _turned(links: Array, basis: Array, turn: Array) -> Array:
    """Links turned by small angles (n, 2) about their own base, still of length 1."""
    moved = links + np.einsum("nca,na->nc", basis, turn)
    return np.asarray(moved / np.linalg.norm(moved, axis=1)[:, None])
