"""Which runs a case wants: realisation, start and factors of each, by the case's own scenario."""

from __future__ import annotations

import numpy as np

from rollsim.engines.base import Case, Engine, RunList, run_list
from rollsim.engines.registry import engine_for
from rollsim.engines.runs import Runs


def of_case(case: Case, first: int, last: int) -> RunList:
    """Realisations [first, last) of `case` from its own start, with waves and wind as they are."""
    return run_list(np.arange(first, last, dtype=np.uint64), case.start)


def make(
    case: Case, first: int, last: int, *, histories: bool = True, engine: Engine | None = None
) -> Runs:
    """Realisations [first, last); where nothing is random, one run serves for all."""
    engine = engine or engine_for(case)
    if case.random:
        return engine.run(of_case(case, first, last), histories=histories)
    return engine.run(of_case(case, first, first + 1), histories=histories).repeated(last - first)
