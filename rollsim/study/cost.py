"""What a study costs before it is run: seconds of a processor, and bytes of the result."""

from __future__ import annotations

from rollsim.engines.base import BLOCK, Case
from rollsim.engines.block.lanes import LANES

SECONDS_AN_HOUR = {BLOCK: 1.5e-4, "DOP853": 2.0, "RK45": 4.0, "LSODA": 4.0, "Radau": 40.0}
"""Rough CPU seconds for an hour in irregular waves, to plan by."""
SECONDS_A_STUDY, SECONDS_AN_ENGINE, SECONDS_A_CASE = 0.5, 0.01, 0.001
"""Rough CPU seconds besides the runs: for a study, until an engine is ready, and for the part of
the result that a case has."""


def seconds_a_run(case: Case) -> float:
    """Rough CPU seconds of one run of `case` among many."""
    return SECONDS_AN_HOUR[case.method] * case.duration / 3600.0


def seconds_of(case: Case, runs: int) -> float:
    """Rough CPU seconds of `runs` runs of one case, its engine ready: whole blocks are stepped."""
    whole = -(-runs // LANES) * LANES if case.method == BLOCK else runs
    return whole * seconds_a_run(case)
