"""List or loll, for every case of a study, from what its file says is observed."""

from __future__ import annotations

import math
from typing import Any

from rollsim.constants import GRAVITY
from rollsim.engines.base import Case
from rollsim.errors import Fault, InputError
from rollsim.scenario.schema import Observed
from rollsim.scenario.text.faults import Finding, located
from rollsim.ship.heel_cause import Cause, UnexplainedError, cause_of
from rollsim.ship.heel_states import Normal, Observation, Ship
from rollsim.study.plan import Plan

LEAST_BITS = 1e-3
"""Information [bit] below which an observation separates nothing more."""
EXAMPLE = (
    "add the table [observed] with heel_deg, heel_sd_deg, kg_m, kg_sd_m and off_centre_sd_m; "
    "`rollsim keys observed` lists its keys"
)


def observation_of(plan: Plan) -> Observation:
    """What is observed, in SI and radians; InputError where the file does not say."""
    table = plan.study.base.observed
    if table is None:
        raise InputError(plan.study.file, [Fault("observed", "is missing", EXAMPLE)])
    period = None
    if table.roll_period_s is not None and table.roll_period_sd_s is not None:
        period = Normal(table.roll_period_s, table.roll_period_sd_s)
    return Observation(
        Normal(math.radians(table.heel_deg), math.radians(table.heel_sd_deg)),
        Normal(table.kg_m, table.kg_sd_m),
        Normal(table.off_centre_m, table.off_centre_sd_m),
        Normal(table.free_surface_m, table.free_surface_sd_m or 0.0),
        period,
        table.lies_on_both_sides,
    )


def causes(plan: Plan) -> list[Cause]:
    """The posterior of every case; InputError where no state of a ship explains what is seen."""
    seen = observation_of(plan)
    table = plan.study.base.observed
    assert table is not None
    made = []
    for case in plan.cases:
        try:
            made.append(cause_of(_ship(case, table), seen))
        except UnexplainedError as error:
            findings = [_unexplained(case, error.nearest)]
            raise InputError(plan.study.file, located(findings, plan.study.text)) from None
    return made


def lies_upright(plan: Plan) -> bool:
    """Whether the heel that is observed is none within twice its standard deviation."""
    heel = observation_of(plan).heel
    return abs(heel.mean) <= 2.0 * heel.sd


def _ship(case: Case, table: Observed) -> Ship:
    gyradius = math.sqrt(case.coefficients.inertia * GRAVITY)
    share = (table.gyradius_sd_m or 0.0) / gyradius
    return Ship(case.levers, case.heeling, case.coefficients.inertia, share)


def _unexplained(case: Case, nearest: dict[str, float]) -> Finding:
    problem = f"no state of the ship explains what is observed (case {case.index})"
    if not nearest:
        hint = "nowhere near that heel does she rest at all: look at the heel, and at the wind"
    else:
        hint = (
            f"the nearest lies at {math.degrees(nearest['heel']):.1f} deg with GM "
            f"{nearest['gm']:.3f} m, G {nearest['off_centre']:.3f} m off the centreline and a roll "
            f"period of {nearest['period']:.1f} s: look at kg_m, the deviations and the wind"
        )
    return Finding(("observed",), problem, hint)


def rows(plan: Plan, made: list[Cause]) -> list[dict[str, Any]]:
    """A row for each case, as JSON has it."""
    result = []
    for case, cause in zip(plan.cases, made, strict=True):
        best = next(iter(cause.bits), None)
        row: dict[str, Any] = {"case": case.index, "condition": case.condition, **case.coordinates}
        row |= dict(zip(("list", "loll", "both"), cause.probability, strict=True))
        for name, of in (("gm_m", cause.gm), ("off_centre_m", cause.off_centre)):
            row |= {name: of.median, f"{name}_lower": of.lower, f"{name}_upper": of.upper}
        row["separating"] = best if best is not None and cause.bits[best] > LEAST_BITS else None
        row["observations"] = [
            {"observation": name, "bits": bits} for name, bits in cause.bits.items()
        ]
        result.append(row)
    return result
