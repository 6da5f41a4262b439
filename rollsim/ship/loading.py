"""The loading of a ship by moments: items of a loading sheet and what they add up to.

Masses in kg, places in m: height above the keel, across to starboard, along forward of the after
end. A free-surface moment is ρ i [kg m].
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import NamedTuple

ICE_ON_DECK, ICE_ON_SIDE = 30.0, 7.5
"""Ice accretion [kg/m²] on exposed decks, and on the projected lateral area of each side (2008
Intact Stability Code, part B, chapter 6)."""
RIGGING_MASS, RIGGING_MOMENT = 0.05, 0.10
"""What rails, rigging and the like add to the mass and to the moment of the ice on the sides."""


class Item(NamedTuple):
    """A line of the loading sheet.

    `own` [m²] is the square of its radius of gyration in roll about its own middle.
    """

    name: str
    mass: float
    height: float
    along: float
    across: float = 0.0
    free_surface: float = 0.0
    own: float = 0.0

    @property
    def moment(self) -> float:
        """Moment about the keel [kg m]."""
        return self.mass * self.height


@dataclass(frozen=True)
class Total:
    """What items add up to: mass [kg], the place of G [m] and the free-surface moment [kg m]."""

    mass: float
    height: float
    along: float
    across: float
    free_surface: float

    @property
    def rise(self) -> float:
        """Virtual rise of G by free surfaces [m], Σ ρ i / Δ."""
        return self.free_surface / self.mass


def total(items: Iterable[Item]) -> Total:
    """The sum of the items by moments; their mass must be above 0."""
    each = list(items)
    mass = math.fsum(item.mass for item in each)
    return Total(
        mass,
        math.fsum(item.mass * item.height for item in each) / mass,
        math.fsum(item.mass * item.along for item in each) / mass,
        math.fsum(item.mass * item.across for item in each) / mass,
        math.fsum(item.free_surface for item in each),
    )


def gyradius(items: Iterable[Item], water: float) -> float:
    """Radius of gyration in roll [m] of the items about their common G, the water's share included.

    k² = Σ m (own² + y² + z²) / Σ m (parallel axes), times 1 + `water`, the inertia of the water
    that moves with the hull over that of the masses. An estimate: liquids count as if frozen.
    """
    each = list(items)
    g = total(each)
    square = math.fsum(
        item.mass * (item.own + (item.across - g.across) ** 2 + (item.height - g.height) ** 2)
        for item in each
    )
    return math.sqrt(square / g.mass * (1.0 + water))


class Ice(NamedTuple):
    """Exposed areas [m²] and their heights above the keel [m]: decks, and one side in profile."""

    deck: float
    deck_height: float
    side: float
    side_height: float


def iced(name: str, ice: Ice, along: float) -> Item:
    """The ice of the allowances as one item, on both sides alike."""
    deck = ICE_ON_DECK * ice.deck
    sides = 2.0 * ICE_ON_SIDE * ice.side
    mass = deck + sides * (1.0 + RIGGING_MASS)
    moment = deck * ice.deck_height + sides * ice.side_height * (1.0 + RIGGING_MOMENT)
    return Item(name, mass, moment / mass if mass else 0.0, along)
