"""Cross-checks: what two or more values of a scenario make wrong together, or doubtful.

They run over whatever did parse (a check that needs a faulty part is left out), for the base file
and for every case.
"""

from __future__ import annotations

from contextlib import suppress

from rollsim.scenario.checks.base import Check
from rollsim.scenario.checks.critical import CRITICAL_CHECKS
from rollsim.scenario.checks.curves import CURVE_CHECKS
from rollsim.scenario.checks.hull import HULL_CHECKS, HULL_DOUBTS
from rollsim.scenario.checks.lesson import LESSON_CHECKS
from rollsim.scenario.checks.loading import LOADING_CHECKS, LOADING_DOUBTS
from rollsim.scenario.checks.maps import MAP_CHECKS
from rollsim.scenario.checks.parts import Parts, UnparsedError
from rollsim.scenario.checks.plausible import DOUBTS
from rollsim.scenario.checks.severity import SEVERITY_CHECKS
from rollsim.scenario.checks.ship import SHIP_CHECKS, metacentric_height
from rollsim.scenario.checks.tanks import TANK_CHECKS, TANK_DOUBTS
from rollsim.scenario.checks.time import TIME_CHECKS, TIME_WARNINGS
from rollsim.scenario.checks.weather import WEATHER_CHECKS
from rollsim.scenario.text.faults import Finding

CHECKS: tuple[Check, ...] = (
    *CURVE_CHECKS,
    *LOADING_CHECKS,
    *TANK_CHECKS,
    *HULL_CHECKS,
    *SHIP_CHECKS,
    *WEATHER_CHECKS,
    *TIME_CHECKS,
    *LESSON_CHECKS,
    *MAP_CHECKS,
    *CRITICAL_CHECKS,
    *SEVERITY_CHECKS,
)
"""What refuses a file or a case."""

WARNINGS: tuple[Check, ...] = (*TIME_WARNINGS, *LOADING_DOUBTS, *TANK_DOUBTS, *DOUBTS, *HULL_DOUBTS)
"""What is allowed and yet likely not meant."""


def findings_of(check: Check, parts: Parts) -> tuple[Finding, ...]:
    """What one check finds; nothing where it needs a part that did not parse."""
    findings: list[Finding] = []
    with suppress(UnparsedError):
        findings.extend(check(parts))
    return tuple(findings)


def gm_known(parts: Parts) -> float | None:
    """GM [m], None where levers or gravity have faults."""
    try:
        return metacentric_height(parts)
    except UnparsedError:
        return None
