"""What asks for runs: the loop serves anything of that form and knows no rule."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest
from batch_samples import STORM, plan_of

from rollsim.engines.base import run_list
from rollsim.engines.runs import Runs
from rollsim.errors import MachineError
from rollsim.names import Outcome
from rollsim.study import plan as plan_module
from rollsim.study.loop import run_list as run_list_of
from rollsim.study.loop import run_samplings
from rollsim.study.plan import Plan
from rollsim.study.runs import Chunk, cut
from rollsim.study.workers import Where

HARD = STORM.replace("3.0", "6.0")
TABLES = {
    "sea": HARD,
    "run": "duration_s = 30.0\noutput_step_s = 1.0\nseed = 5",
    "limits": "roll_deg = 12.0\ncapsize_deg = 60.0",
    "ship.damping": "linear_per_s = 0.1",
}


class Bisection:
    """Halves, storm by storm, the factor on the waves at which the roll limit is first passed."""

    def __init__(self, plan: Plan, storms: int, rounds: int) -> None:
        self.plan, self.rounds = plan, rounds
        self.low, self.high = np.zeros(storms), np.full(storms, 4.0)
        self.asked: list[int] = []

    def batch(self) -> Iterator[Chunk] | None:
        """Every storm at the middle of what is left."""
        if len(self.asked) == self.rounds:
            return None
        self.asked.append(self.low.size)
        middle = 0.5 * (self.low + self.high)
        runs = run_list(np.arange(self.low.size), self.plan.cases[0].start, middle)
        size = self.plan.task_size(self.plan.cases[0])
        pieces = [slice(a, b) for a, b in cut(0, self.low.size, size)]
        of = np.zeros(self.low.size, dtype=np.int32)
        return iter([Chunk(0, of[piece], runs.part(piece)) for piece in pieces])

    def take(self, chunk: Chunk, runs: Runs) -> None:
        """Keep the half in which the limit is passed."""
        storm = chunk.runs.realisation.astype(int)
        failed = runs.numbers["outcome"] >= Outcome.ROLL_LIMIT
        self.high[storm[failed]] = chunk.runs.waves[failed]
        self.low[storm[~failed]] = chunk.runs.waves[~failed]


@pytest.mark.parametrize("workers", [1, 2])
def test_a_search_over_factors_goes_through_the_same_loop(
    workers: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(plan_module, "TASK_SECONDS", 1e-9)
    plan = plan_of(TABLES)
    search = Bisection(plan, 70, 6)
    chunks = list(run_samplings(plan, [search], Where(workers)))
    assert search.asked == [70] * 6
    assert sum(len(chunk) for chunk, _ in chunks) == 420
    np.testing.assert_array_equal(search.high - search.low, 4.0 / 64.0)
    ends = np.concatenate((search.low, search.high))
    runs = run_list(np.tile(np.arange(70), 2), plan.cases[0].start, ends)
    outcome = run_list_of(plan, 0, runs).numbers["outcome"]
    tried = (search.low > 0.0) & (search.high < 4.0)
    assert tried.any()
    assert np.all(outcome[:70][tried] == Outcome.SURVIVED)
    assert np.all(outcome[70:][tried] >= Outcome.ROLL_LIMIT)


def test_pieces_end_at_whole_multiples_of_their_size() -> None:
    assert list(cut(0, 10, 4)) == [(0, 4), (4, 8), (8, 10)]
    assert list(cut(3, 10, 4)) == [(3, 4), (4, 8), (8, 10)]
    assert list(cut(8, 9, 4)) == [(8, 9)]
    assert list(cut(5, 5, 4)) == []


def test_a_piece_has_a_name_of_its_own() -> None:
    plan = plan_of(TABLES, '[sweep]\n"start.roll_deg" = [0.0, 5.0]\n')
    chunks = [
        plan.chunk([0, 0], [0, 1]),
        plan.chunk([0, 0], [0, 2]),
        plan.chunk([0, 1], [0, 1]),
        plan.chunk([0], [0]),
    ]
    names = [chunk.name for chunk in chunks]
    assert len(set(names)) == 4
    assert plan.chunk([0, 0], [0, 1]).name == names[0]
    factor = run_list([0, 1], plan.cases[0].start, waves=1.1)
    assert Chunk(plan.leads[0], np.zeros(2, dtype=np.int32), factor).name not in names


def test_what_no_machine_can_hold_is_refused_before_its_cases_are_made(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(plan_module, "Builder", None)
    run = "duration_s = 3600.0\nrealisations = 1000000"
    axes = (
        '[sweep]\n"ship.gravity.kg_m" = { from = 4.0, to = 5.0, steps = 10 }\n'
        '"sea.significant_height_m" = { from = 1.0, to = 5.0, steps = 10 }\n'
    )
    with pytest.raises(MachineError, match=r"100 cases x 1000000 real.* GB of results\n.*\"none\""):
        plan_of(TABLES | {"run": run}, axes)
