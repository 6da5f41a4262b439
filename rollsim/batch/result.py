"""The arrays of a result: filled as runs finish, then measured and completed for the file."""

from __future__ import annotations

import math
import os
from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from rollsim.batch.build import Case
from rollsim.batch.case import HISTORIES, CaseRunner, RunResult, curves, statics
from rollsim.batch.study import Chunk, Plan
from rollsim.errors import MachineError
from rollsim.measures.probability import clopper_pearson
from rollsim.names import RUN, VARIABLES, Outcome

Arrays = dict[str, NDArray[Any]]


class Results:
    """All runs of a plan in the units of the result; what is not run stays `not_run` and NaN."""

    def __init__(self, plan: Plan) -> None:
        _require_memory(plan)
        self.plan = plan
        self.done = 0
        shape = (len(plan.cases), plan.realisations)
        self.runs: Arrays = {name: _empty(name, shape) for name in _names(RUN)}
        self.histories = {
            name: np.full((*shape, plan.times.size), math.nan, dtype=np.float32)
            for name in HISTORIES
        }

    def take(self, chunk: Chunk, results: Sequence[RunResult]) -> None:
        """Put the runs of a finished chunk in their places."""
        self.done += len(results)
        for realisation, result in enumerate(results, chunk.first):
            place = chunk.case, realisation
            self.runs["failed_before_settle"][place] = result.early
            for name in self.runs.keys() - {"failed_before_settle"}:
                self.runs[name][place] = getattr(result, name)
            for history, values in zip(self.histories.values(), result.histories, strict=True):
                history[place] = values

    def variables(self) -> Arrays:
        """Every variable of the result's file, measures included."""
        plan = self.plan
        rest = [_of_case(case, plan) for case in plan.cases]
        found: Arrays = {name: np.array([row[name] for row in rest]) for name in rest[0]}
        found |= self.histories | self.runs
        found["message"] = self.runs["message"].astype(np.str_)
        found |= _probabilities(self.runs, np.array([case.random for case in plan.cases]))
        found["condition"] = np.array([case.condition for case in plan.cases])
        found["t"], found["heel"] = plan.times, plan.heel
        return found


def _require_memory(plan: Plan) -> None:
    """Refuse histories larger than the memory: the system would kill them, not refuse them."""
    size = len(HISTORIES) * plan.runs * plan.times.size * np.dtype(np.float32).itemsize
    if size > os.sysconf("SC_PHYS_PAGES") * os.sysconf("SC_PAGE_SIZE"):
        raise MachineError(
            f"{plan.runs} runs of {plan.times.size} points do not fit in memory\n"
            "  take a larger output_step_s, fewer realisations or fewer cases"
        )


def _names(dims: tuple[str, ...]) -> list[str]:
    return [name for name, variable in VARIABLES.items() if variable.dims == dims]


def _empty(name: str, shape: tuple[int, int]) -> NDArray[Any]:
    kind = VARIABLES[name].dtype
    if kind == "str":
        return np.full(shape, "", dtype=object)
    return np.full(shape, math.nan if kind.startswith("f") else 0, dtype=kind)


def _of_case(case: Case, plan: Plan) -> dict[str, Any]:
    """What a case has besides its runs: numbers at rest, curves, the path of G."""
    loading = CaseRunner(case).loading
    return {
        **statics(case),
        **curves(case, plan.heel),
        "centre_of_gravity_y": loading[:, 2],
        "centre_of_gravity_z": loading[:, 1],
    }


def _probabilities(runs: Arrays, random: NDArray[np.bool_]) -> Arrays:
    """Capsize and failure probabilities with their 95 % limits, missing where nothing is random.

    Of the solved runs that passed no limit before settle.
    """
    outcome = runs["outcome"]
    counted = (
        (outcome >= Outcome.SURVIVED)
        & (outcome <= Outcome.CAPSIZED)
        & (runs["failed_before_settle"] == 0)
    )
    total = np.where(random, counted.sum(axis=1), 0)
    found: Arrays = {}
    for name, least in (("capsize", Outcome.CAPSIZED), ("failure", Outcome.ROLL_LIMIT)):
        hits = np.where(random, (counted & (outcome >= least)).sum(axis=1), 0)
        lower, upper = clopper_pearson(hits, total)
        with np.errstate(invalid="ignore"):
            found[f"{name}_probability"] = hits / np.where(total > 0, total, math.nan)
        found[f"{name}_probability_lower"] = lower
        found[f"{name}_probability_upper"] = upper
    return found
