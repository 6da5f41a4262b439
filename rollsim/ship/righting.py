"""The righting lever of a loading condition as a sum of terms, each with value, slope and integral.

Levers in metres at the heel φ [rad], positive when they right a starboard heel; integrals run from
upright. A term's numbers may be arrays, one loading an entry: they broadcast against the heel.
"""

from __future__ import annotations

import operator
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cached_property, reduce
from typing import Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray

from rollsim.ship.levers import Gravity, Levers
from rollsim.ship.liquid import Filled

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class HeelingLaw:
    """How a lever falls off with heel: the law, its slope, and its integral from upright.

    `power` is that of cos φ.
    """

    power: int
    value: Callable[[Floats], Floats]
    slope: Callable[[Floats], Floats]
    integral: Callable[[Floats], Floats]


HEELING_LAWS: dict[str, HeelingLaw] = {
    "constant": HeelingLaw(0, np.ones_like, np.zeros_like, lambda phi: phi),
    "cos": HeelingLaw(1, np.cos, lambda phi: -np.sin(phi), np.sin),
    "cos2": HeelingLaw(
        2,
        lambda phi: np.cos(phi) ** 2,
        lambda phi: -np.sin(2.0 * phi),
        lambda phi: 0.5 * phi + 0.25 * np.sin(2.0 * phi),
    ),
}


class Term(Protocol):
    """One term of the righting lever."""

    def value(self, heel: Floats) -> Floats:
        """Lever [m]."""

    def slope(self, heel: Floats) -> Floats:
        """Its slope [m/rad]."""

    def integral(self, heel: Floats) -> Floats:
        """Its integral from upright [m rad]."""


@dataclass(frozen=True, eq=False)
class Curve:
    """The hull's KN."""

    levers: Levers

    def value(self, heel: Floats) -> Floats:
        """KN."""
        return self.levers.kn(heel)

    def slope(self, heel: Floats) -> Floats:
        """Slope of KN."""
        return self.levers.slope(heel)

    def integral(self, heel: Floats) -> Floats:
        """∫ KN."""
        return self.levers.integral(heel)


@dataclass(frozen=True)
class Rise:
    """What a height above the keel takes away, −height sin φ: G, or its virtual rise."""

    height: float

    def value(self, heel: Floats) -> Floats:
        """−height sin φ."""
        return np.asarray(-self.height * np.sin(heel))

    def slope(self, heel: Floats) -> Floats:
        """−height cos φ."""
        return np.asarray(-self.height * np.cos(heel))

    def integral(self, heel: Floats) -> Floats:
        """−height (1 − cos φ)."""
        return np.asarray(-self.height * (1.0 - np.cos(heel)))


@dataclass(frozen=True)
class Offset:
    """What a G off the centreline takes away, −y cos φ with y positive to starboard."""

    across: float

    def value(self, heel: Floats) -> Floats:
        """−y cos φ."""
        return np.asarray(-self.across * np.cos(heel))

    def slope(self, heel: Floats) -> Floats:
        """Y sin φ."""
        return np.asarray(self.across * np.sin(heel))

    def integral(self, heel: Floats) -> Floats:
        """−y sin φ."""
        return np.asarray(-self.across * np.sin(heel))


@dataclass(frozen=True)
class Heeling:
    """A steady heeling lever [m]: `wind` falls off by its `law`, `lever` is constant with heel."""

    wind: float = 0.0
    law: str = "constant"
    lever: float = 0.0

    def lever_at(self, heel: Floats) -> Floats:
        """The heeling lever itself, positive when it heels to starboard."""
        return np.asarray(self.wind * HEELING_LAWS[self.law].value(heel) + self.lever)

    def value(self, heel: Floats) -> Floats:
        """What it takes from the righting lever."""
        return -self.lever_at(heel)

    def slope(self, heel: Floats) -> Floats:
        """Slope of that."""
        return np.asarray(-self.wind * HEELING_LAWS[self.law].slope(heel))

    def integral(self, heel: Floats) -> Floats:
        """Integral of that."""
        return np.asarray(-self.wind * HEELING_LAWS[self.law].integral(heel) - self.lever * heel)


@dataclass(frozen=True)
class RightingCurve:
    """The residual lever GZ(φ) − heeling lever of one loading condition, as the sum of `terms`."""

    levers: Levers
    gravity: Gravity
    heeling: Heeling = Heeling()
    filled: Filled | None = None

    @cached_property
    def terms(self) -> tuple[Term, ...]:
        """Hull and height of G; as far as there are any, free surfaces, G off the centreline,
        heeling levers, tanks filled."""
        g, heeling = self.gravity, self.heeling
        terms: list[Term] = [Curve(self.levers), Rise(g.kg)]
        if _any(g.free_surface):
            terms.append(Rise(g.free_surface))
        if _any(g.off_centre):
            terms.append(Offset(g.off_centre))
        if _any(heeling.wind) or _any(heeling.lever):
            terms.append(heeling)
        if self.filled:
            terms.append(self.filled)
        return tuple(terms)

    def value(self, heel: ArrayLike) -> Floats:
        """Residual righting lever [m] at `heel` [rad]."""
        phi = np.asarray(heel, dtype=np.float64)
        return _sum(term.value(phi) for term in self.terms)

    def slope(self, heel: ArrayLike) -> Floats:
        """Slope of the residual lever [m/rad] at `heel` [rad]."""
        phi = np.asarray(heel, dtype=np.float64)
        return _sum(term.slope(phi) for term in self.terms)

    def potential(self, heel: ArrayLike) -> Floats:
        """∫ of the residual lever from upright [m rad]: the dynamical stability per unit weight."""
        phi = np.asarray(heel, dtype=np.float64)
        return _sum(term.integral(phi) for term in self.terms)

    def heeling_lever(self, heel: ArrayLike) -> Floats:
        """Steady heeling lever [m] at `heel` [rad]."""
        return self.heeling.lever_at(np.asarray(heel, dtype=np.float64))

    def area(self, start: float, end: float) -> float:
        """Area under the residual lever from `start` to `end` [rad], in m rad."""
        return float(self.potential(end) - self.potential(start))

    def on_grid(self) -> tuple[Floats, Floats, Floats]:
        """Heels [rad] of the levers' own grid, the residual lever [m] and its slope there.

        The hull's share is looked up, not worked out again for every loading.
        """
        heel, kn, slope = self.levers.grid
        others = self.terms[1:]
        return (
            heel,
            _sum((kn, *(term.value(heel) for term in others))),
            _sum((slope, *(term.slope(heel) for term in others))),
        )


def _any(number: float | Floats) -> bool:
    """Whether a number, or one of several, is not zero."""
    return bool(np.any(number)) if isinstance(number, np.ndarray) else number != 0.0


def _sum(parts: Iterable[Floats]) -> Floats:
    return np.asarray(reduce(operator.add, parts))
