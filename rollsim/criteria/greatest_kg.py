"""The greatest KG that each line of a criterion allows: a root of its margin over KG."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np

from rollsim.criteria.at_rest import ShipAtRest
from rollsim.criteria.registry import RULES
from rollsim.criteria.requirement import Requirement

STEPS = 48
"""Heights of G at which the lines are looked at before the roots are searched."""
LOWEST = 0.4
"""The lowest height looked at, over the height of the upright metacentre."""
EXACT = 1e-6
"""How exact a greatest KG is [m]."""
TWICE_TOLD = ("area_b",)
"""Lines that say the same as another line of their rule."""


@dataclass(frozen=True)
class GreatestKg:
    """The greatest KG [m] at which a line of a rule is fulfilled, NaN where there is none.

    G itself, free surfaces and off-centre G staying as they are. Where no margin ends there, `note`
    says what does.
    """

    rule: str
    quantity: str
    kg: float
    note: str = ""


def greatest_kgs(ship: ShipAtRest, rules: Sequence[str]) -> list[GreatestKg]:
    """For every line of `rules` the KG up to which it is fulfilled, coming from low down.

    Nothing is looked for where GM is not above 0.
    """
    levers, rise = ship.curve.levers, ship.curve.gravity.free_surface
    km = float(levers.slope(0.0))
    heights = np.linspace(LOWEST * km, km - rise, STEPS + 1)[:-1]
    if km - rise <= heights[0]:
        return []
    return [line for rule in rules for line in _of_rule(ship, rule, heights.tolist(), km - rise)]


def governing(limits: Sequence[GreatestKg]) -> GreatestKg | None:
    """The line that allows the least KG; None where no line allows any."""
    known = [limit for limit in limits if not math.isnan(limit.kg)]
    return min(known, key=lambda limit: limit.kg, default=None)


Lines = dict[str, Requirement]


def _of_rule(
    ship: ShipAtRest, rule: str, heights: Sequence[float], upright: float
) -> list[GreatestKg]:
    seen: dict[float, Lines] = {}

    def at(kg: float) -> Lines:
        if kg not in seen:
            requirements = RULES[rule].judge(ship.with_kg(kg)).requirements
            seen[kg] = {r.quantity: r for r in requirements if r.required is not None}
        return seen[kg]

    def line(name: str, kg: float) -> Requirement:
        return at(kg)[name]

    limits = []
    for name in (name for name in at(heights[0]) if name not in TWICE_TOLD):
        enough = [at(kg)[name].fulfilled is True for kg in heights]
        if True not in enough:
            note = at(heights[-1])[name].note or "at no KG"
            limits.append(GreatestKg(rule, name, math.nan, f"not fulfilled: {note}"))
            continue
        steps = [*heights, upright]
        lost = next((i for i in range(enough.index(True), STEPS) if not enough[i]), STEPS)
        kg, beyond = _root(partial(line, name), steps[lost - 1], steps[lost])
        limits.append(GreatestKg(rule, name, kg, beyond.note if beyond.fulfilled is None else ""))
    return limits


def _root(
    line: Callable[[float], Requirement], low: float, high: float
) -> tuple[float, Requirement]:
    """The KG between `low`, where a line is fulfilled, and `high`, and the line just above it."""
    from scipy.optimize import brentq

    def margin(kg: float) -> float:
        here = line(kg)
        if here.fulfilled is None or here.margin is None:
            return 1.0 if here.fulfilled else -1.0
        return max(here.margin, 0.0) if here.fulfilled else here.margin

    root = float(brentq(margin, low, high, xtol=EXACT))
    return root, line(min(root + 2.0 * EXACT, high))
