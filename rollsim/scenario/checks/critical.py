"""Cross-checks of what [critical] searches for, but for its key (`expand/searched.py`)."""

from __future__ import annotations

from rollsim.scenario.checks.base import Check, Findings
from rollsim.scenario.checks.parts import Parts, split
from rollsim.scenario.text.faults import Finding

LEAST_SHARE = 1e-9
"""Tolerance ÷ range below which no two values of the key would be told apart."""


def range_rises(parts: Parts) -> Findings:
    """The search goes from a lower value to a higher one, in steps that numbers can hold."""
    critical = parts("critical")
    if critical is None:
        return
    first, last = critical.from_, critical.to
    if not last > first:
        problem = f"must be above from ({first:g}), got {last:g}"
        hint = "the search goes upwards: put the lower value into from"
        yield Finding(split("critical.to"), problem, hint, (split("critical.from"),))
    elif critical.tolerance is not None and critical.tolerance < LEAST_SHARE * (last - first):
        least = LEAST_SHARE * (last - first)
        problem = f"must be at least {least:.3g} (1e-9 of the range), got {critical.tolerance:g}"
        hint = "a tolerance of 1/200 of the range is usual"
        causes = (split("critical.from"), split("critical.to"))
        yield Finding(split("critical.tolerance"), problem, hint, causes)


def limit_to_fail_at(parts: Parts) -> Findings:
    """Without a roll or flooding limit a failure is a capsize, and is called so."""
    critical = parts("critical")
    if critical is None or critical.of != "failure" or critical.key.startswith("limits."):
        return
    limits = parts("limits")
    if limits.roll_deg is None and limits.flooding_deg is None:
        problem = '"failure" needs roll_deg or flooding_deg in [limits], got neither'
        hint = 'set one of these limits, or search for of = "capsize"'
        yield Finding(split("critical.of"), problem, hint, (split("limits"),))


CRITICAL_CHECKS: tuple[Check, ...] = (range_rises, limit_to_fail_at)
