"""What a ship does at a moment, in one word, by one table: the first verdict that holds.

Heel and rate are those that the levers feel. Wells, barriers and the metacentric height are the
moment's, free surfaces included. `RULES` and `BORDERS` are all that another program needs to give
the same verdicts.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from rollsim.ship.equilibria import SAME_ANGLE, ZERO_LEVER
from rollsim.ship.rests import STABLE, UNSTABLE, Loadings, Rests, rests, static_heels
from rollsim.ship.righting import RightingCurve
from rollsim.ship.wells import Well, lowest_wells

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

UPRIGHT = np.radians(0.5)
"""Heels [rad] below this count as upright; at rest she lies within it of a stable heel."""
SLOW = np.radians(0.1)
"""Rates [rad/s] below this count as rest."""
NO_ARM = 5e-4
"""A net lever [m] below this moves no ship that anybody sees moving."""
AROUND = np.radians(2.0)
"""Heel [rad] to both sides over which a neutral ship has no more than that."""
NONE = 1e-4
"""Outside levers, and distances of G from the centreline [m], below this count as none."""
ZERO_GM = 1e-6
"""A metacentric height [m] this near to zero is zero."""
STEPS = 41
"""Heels at which the net lever around her is looked at."""

BORDERS = {
    "upright": float(UPRIGHT),
    "slow": float(SLOW),
    "no_arm": NO_ARM,
    "around": float(AROUND),
    "none": NONE,
    "zero_gm": ZERO_GM,
    "steps": STEPS,
}
"""These numbers by name, for a program that has the table but not this module [rad, rad/s, m]."""
RULES = {
    "capsized": "the run ended at the capsize angle",
    "going-over": "past the barrier, rate outward or zero",
    "neutral": "GM ≥ 0, net lever below 0.5 mm within ±2° of her heel, no outside lever",
    "flopping": "GM < 0, between two wells, with energy above the crest between them",
    "loll": "at rest 0.5° or more from upright, GM < 0",
    "held-over": "at rest 0.5° or more under an outside lever (wind, heeling lever)",
    "list": "at rest 0.5° or more, G off the centreline",
    "upright": "at rest below 0.5°, GM ≥ 0",
    "rights": "GM ≥ 0 and the well she turns to is within 0.5° of upright",
    "rolls": "otherwise",
}
"""Every verdict and when it holds, in the order in which they are asked."""


class Verdicts(NamedTuple):
    """Of every moment (n,) the verdict, and the stable heel [rad] she turns to, NaN if none."""

    name: NDArray[np.str_]
    well: Floats


@dataclass(frozen=True, eq=False)
class Moment:
    """All of a moment but heel and rate.

    `curve` is the net lever, outside levers included; `gm` [m] has free surfaces taken off;
    `off_centre` and the outside `lever` [m] are positive to starboard; `inertia` is k²/g [m s²];
    `limit` the capsize angle [rad]; `known` her rests, where they are known.
    """

    curve: RightingCurve
    gm: float
    off_centre: float
    lever: float
    inertia: float
    limit: float
    known: Rests | None = None

    @cached_property
    def rests(self) -> Rests:
        """Every heel at which nothing turns her."""
        return rests(self.loading) if self.known is None else self.known

    @cached_property
    def loading(self) -> Loadings:
        """The curve as one of many."""
        return Loadings.single(self.curve)

    @cached_property
    def well(self) -> Well:
        """The lowest well with the barriers of both sides."""
        levers = self.curve.levers
        limit = min(self.limit, -levers.heel_min, levers.heel_max)
        return Well(*map(float, lowest_wells(self.loading, limit, self.rests)[0]))

    def inside(self, heel: Floats) -> Floats:
        """Heels [rad] kept within the levers' range."""
        return np.clip(heel, self.curve.levers.heel_min, self.curve.levers.heel_max)

    def heels(self, kind: int) -> Floats:
        """The heels [rad] of one kind of rest, in order."""
        return np.asarray(self.rests.heel[self.rests.kind == kind])

    @property
    def stable_upright(self) -> bool:
        """Whether GM is not below zero."""
        return self.gm >= -ZERO_GM

    @property
    def pushed(self) -> bool:
        """Whether a lever from outside acts."""
        return abs(self.lever) >= NONE

    @property
    def listed(self) -> bool:
        """Whether G lies off the centreline."""
        return abs(self.off_centre) >= NONE


def verdicts(moment: Moment, heel: Floats, rate: Floats) -> Verdicts:
    """The verdict at every heel [rad] and rate [rad/s], arrays (n,), of a run that goes on.

    That a run has capsized is its outcome, and nothing that heel and rate could tell.
    """
    inside = moment.inside(heel)
    row = np.zeros(heel.size, dtype=np.intp)
    well = static_heels(moment.loading, moment.rests, row, inside)
    stable = moment.heels(STABLE)
    near = np.abs(heel[:, None] - stable) <= UPRIGHT + SAME_ANGLE
    at_rest = (np.abs(rate) < SLOW) & np.any(near, axis=1)
    upright = np.abs(heel) < UPRIGHT - SAME_ANGLE
    safe = np.full(heel.shape, moment.stable_upright)
    holds = {
        "going-over": _going_over(moment, heel, rate),
        "neutral": safe & _without_arm(moment, heel),
        "flopping": ~safe & _flopping(moment, heel, rate),
        "loll": at_rest & ~upright & ~safe,
        "held-over": at_rest & ~upright & moment.pushed,
        "list": at_rest & ~upright & moment.listed,
        "upright": at_rest & upright & safe,
        "rights": safe & (np.abs(well) <= UPRIGHT + SAME_ANGLE),
    }
    name = np.select(list(holds.values()), list(holds), default="rolls")
    return Verdicts(name, well)


def _going_over(moment: Moment, heel: Floats, rate: Floats) -> Flags:
    well = moment.well
    if np.isnan(well.low):
        # Nothing is stable: every heel is past a barrier, on the side to which the lever turns her.
        net = moment.curve.value(moment.inside(heel))
        to_starboard, to_port = net < -ZERO_LEVER, net > ZERO_LEVER
    else:
        to_starboard, to_port = heel > well.starboard, heel < well.port
    return np.asarray((to_starboard & (rate >= 0.0)) | (to_port & (rate <= 0.0)))


def _without_arm(moment: Moment, heel: Floats) -> Flags:
    """Whether there is next to no net lever around her, and none from outside."""
    if moment.pushed:
        return np.zeros(heel.shape, dtype=bool)
    small = np.abs(moment.curve.value(moment.inside(heel))) < NO_ARM
    around = moment.inside(heel[small, None] + np.linspace(-AROUND, AROUND, STEPS))
    small[small] = np.all(np.abs(moment.curve.value(around)) < NO_ARM, axis=1)
    return small


def _flopping(moment: Moment, heel: Floats, rate: Floats) -> Flags:
    stable, unstable = moment.heels(STABLE), moment.heels(UNSTABLE)
    between = np.searchsorted(stable, heel)
    inside = (between > 0) & (between < stable.size)
    if not inside.any():
        return inside
    gaps = np.searchsorted(stable, unstable)
    height = moment.curve.potential(unstable)
    crest = np.array([np.max(height[gaps == i], initial=-np.inf) for i in range(stable.size + 1)])
    energy = 0.5 * moment.inertia * rate**2 + moment.curve.potential(moment.inside(heel))
    known = np.isfinite(crest[between])
    return np.asarray(inside & known & (energy > crest[between] + ZERO_LEVER))
