"""What a study costs before it is run: seconds of a processor, to plan by and to tell.

Measured on one processor of 2024; other machines differ by a factor, the parts hardly.
"""

from __future__ import annotations

from collections.abc import Sequence

from rollsim.engines.base import BLOCK, Case
from rollsim.engines.block.lanes import LANES

SECONDS_A_STUDY, SECONDS_AN_ENGINE, SECONDS_A_CASE = 1.2, 2e-3, 1e-3
"""For the whole, until an engine is ready, and for a case's own part of plan and result."""
SECONDS_A_BLOCK, SECONDS_A_BLOCK_HOUR = 1e-3, 3.6e-3
"""Of the block engine for a block of LANES runs, however short, and for each hour of it at STEP."""
SEARCHING = 0.4
"""What a trial of a search takes of a run: its storm is there, and it ends where she fails."""
STEP = 0.21
"""Step of the block engine [s] that the above holds for."""
HISTORIES = 1.8
"""By how much longer a block-hour takes with its histories."""
SECONDS_AN_HOUR = {"DOP853": 1.5, "RK45": 1.2, "LSODA": 2.5, "Radau": 12.0}
"""Of scipy's methods for an hour in irregular waves, at a relative tolerance of TOLERANCE."""
ORDERS = {"DOP853": 8, "RK45": 5, "LSODA": 6, "Radau": 5}
"""By which power of the step their errors go."""
TOLERANCE = 1e-8
CALM = 0.3
"""Share of that without irregular waves."""


def seconds_of(case: Case, runs: int, step: float = STEP, *, histories: bool = False) -> float:
    """CPU seconds of `runs` runs of one case, its engine ready; whole blocks are stepped."""
    hours = case.duration / 3600.0
    if case.method == BLOCK:
        each = SECONDS_A_BLOCK_HOUR * (STEP / step) * (HISTORIES if histories else 1.0)
        return -(-runs // LANES) * (SECONDS_A_BLOCK + each * hours)
    finer = float((TOLERANCE / case.tolerances.relative) ** (1.0 / ORDERS[case.method]))
    return runs * hours * SECONDS_AN_HOUR[case.method] * finer * (1.0 if case.random else CALM)


def seconds_of_starts(cases: Sequence[Case], starts: int, step: float) -> float:
    """CPU seconds of a study that makes one run from each of `starts` starts in every case."""
    runs = sum(seconds_of(case, starts, step) for case in cases)
    return SECONDS_A_STUDY + SECONDS_AN_ENGINE * len(cases) + runs


def seconds_a_run(case: Case) -> float:
    """CPU seconds of one run of `case` among many."""
    return seconds_of(case, LANES) / LANES
