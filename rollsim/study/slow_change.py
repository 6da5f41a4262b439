"""A slow change of one key there and back: the hysteresis of a ship that is brought upright."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from rollsim.engines.base import BLOCK, Case, run_list
from rollsim.scenario import schema
from rollsim.scenario.expand.cases import CaseSpec
from rollsim.scenario.schema import Equilibria
from rollsim.ship.rests import STABLE, Loadings, rests
from rollsim.study.at_value import VariedCase
from rollsim.study.build import Builder
from rollsim.study.course import SETTINGS
from rollsim.study.plan import Plan
from rollsim.study.workers import make_here

Floats = NDArray[np.float64]

SLOW = 1800.0
"""Time [s] of the slow change either way."""
TRACK = 601
"""Points of the slow change that are kept."""
SIDES = 2
"""Heels that it is begun at."""
NUDGE = 1e-4
"""Heeling lever [m] meanwhile, to the side she comes from: exactly centred she would stay upright
where that is unstable."""
HEIGHT_OF_SEA = "sea.height_m"


def slow_changes(
    plan: Plan, number: int, table: Equilibria, at_last: Loadings
) -> tuple[Floats, Floats]:
    """Value (TRACK,) and heel [degree] (SIDES, TRACK) while the key goes from its last value to
    its first and back: a correction, and what it was to cure coming again.

    In calm water, by the block engine, from the outermost stable heels at the last value, port
    first; missing where there is none, where events cannot change the key, where the case has
    events of its own, or where nothing damps her. `at_last` is her loading at the last value.
    """
    spec, c = plan.study.cases[number], plan.cases[number].coefficients
    share = np.abs(np.linspace(-1.0, 1.0, TRACK))
    value = table.from_ + share * (table.to - table.from_)
    heels = np.full((SIDES, TRACK), math.nan)
    at = rests(at_last)
    stable = at.heel[(at.kind == STABLE) & (np.abs(at.heel) < plan.cases[number].limits.capsize)]
    settable = table.key in SETTINGS and table.key != HEIGHT_OF_SEA and not spec.scenario.events
    if settable and stable.size and (c.linear or c.quadratic or c.cubic):
        for side, heel in enumerate(dict.fromkeys((stable.min(), stable.max()))):
            case = _changing(plan, spec, table, math.copysign(NUDGE, heel))
            made = make_here(case, run_list([0], (float(heel), 0.0)), histories=True)
            heels[side] = made.histories[0, 0]
    return value, heels


def _changing(plan: Plan, spec: CaseSpec, table: Equilibria, nudge: float) -> Case:
    """The case in calm water and steady wind, its key going from one end to the other and back."""
    changes = [
        {"kind": "change", "key": table.key, "to": to, "at_s": at, "over_s": SLOW}
        for to, at in ((table.from_, 0.0), (table.to, SLOW))
    ]
    lever = {"kind": "heeling-lever", "at_s": 0.0, "over_s": 0.0, "lever_m": nudge}
    clock = {"duration_s": 2.0 * SLOW, "output_step_s": 2.0 * SLOW / (TRACK - 1), "settle_s": 0.0}
    begun = VariedCase(plan.study, spec.index, [table.key]).scenario(table.to)
    calm: dict[str, Any] = {
        "events": (
            *(schema.ValueChange.model_validate(change) for change in changes),
            schema.HeelingLever.model_validate(lever),
        ),
        "sea": schema.CalmSea(kind="calm"),
        "run": begun.run.model_copy(update=clock | {"method": BLOCK}),
        "start": schema.Start(),
    }
    if begun.wind is not None:
        calm["wind"] = begun.wind.model_copy(update={"gust": (), "turbulence": None})
    builder = Builder(plan.study.base, plan.study.file)
    builder.add(replace(spec, scenario=begun.model_copy(update=calm)))
    builder.finish()
    return builder.cases[0]
