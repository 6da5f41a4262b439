"""The severity factors of many storms, against the plain study of the same storms."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from rollsim.measures.severity import PARTS, REFINEMENTS
from rollsim.names import SeverityFound
from rollsim.scenario.load import loads
from rollsim.study.loop import run_plan, run_samplings
from rollsim.study.plan import Plan, make_plan
from rollsim.study.result import Results
from rollsim.study.severity import SeveritySearch, searches
from rollsim.study.workers import Engines, Where
from tests.bench.study import SHIP
from tests.bench.table import Row, in_turn

STORMS = 1000
RUN = f"[run]\nduration_s = 900.0\nrealisations = {STORMS}\nseed = 3\n"
ASKED = '[severity]\non = "waves"\n'
HERE = Where(workers=1)
PER_FACTOR, IN_ALL = 0.8, 32.0
"""What the search may take of the plain study's CPU, for each factor tried and in all."""


def plain(plan: Plan) -> Results:
    """The plain study."""
    results = Results(plan)
    for chunk, runs in run_plan(plan, HERE):
        results.take(chunk, runs)
    return results


def searched(plan: Plan, results: Results) -> list[SeveritySearch]:
    """The search after it."""
    asked = searches(plan, results.runs["outcome"])
    for _ in run_samplings(plan, asked, HERE, histories=False, engines=Engines(plan)):
        pass
    return asked


def rows() -> Iterator[Row]:
    """Ratios of CPU time, and how fine the answers are."""
    plan = make_plan(loads(SHIP.replace("= 9.0", "= 6.0") + RUN + ASKED, "bench"))
    results = plain(plan)
    asked = searched(plan, results)
    seconds = in_turn({"plain": lambda: plain(plan), "search": lambda: searched(plan, results)}, 4)
    found = np.concatenate([search.found for search in asked])
    inside = found == SeverityFound.FOUND
    tried = sum(search.tried for search in asked) / STORMS
    ratio = seconds["search"] / seconds["plain"]
    grid = asked[0].grid
    finest = float(np.max(grid[1:] / grid[:-1])) ** (PARTS**-REFINEMENTS) - 1.0
    yield Row("share of storms with a factor within the range", float(inside.mean()))
    yield Row("runs tried for each storm", tried)
    yield Row("how fine a factor is", 100.0 * finest, "%", most=0.3)
    yield Row("CPU for each factor tried, of the plain study's", ratio / tried, "", most=PER_FACTOR)
    yield Row("CPU of the search, in plain studies", ratio, "", most=IN_ALL)
