"""The arrays of a result: filled as runs finish, then measured and completed for the file."""

from __future__ import annotations

import math
import os
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from rollsim.batch.atrest import curves, statics
from rollsim.batch.build import Case
from rollsim.batch.case import CaseRunner
from rollsim.batch.plan import Chunk, Plan
from rollsim.batch.runs import HISTORIES, NUMBERS, Runs
from rollsim.errors import MachineError
from rollsim.measures.probability import clopper_pearson, counted
from rollsim.names import VARIABLES, Outcome
from rollsim.store.disk import room_on_disk

Arrays = dict[str, NDArray[Any]]

IN_MEMORY = 1 << 28
"""Histories up to so many bytes are gathered in memory, larger ones in a file aside."""


class Results:
    """All runs of a plan in the units of the result; what is not run stays `not_run` and NaN."""

    def __init__(self, plan: Plan, folder: Path | None = None) -> None:
        self.plan = plan
        self.done = 0
        shape = (len(plan.cases), plan.most)
        self.runs: Arrays = {name: _empty(name, shape) for name in NUMBERS}
        self.histories: Arrays = {}
        if plan.histories == "all":
            self.histories = _histories((*shape, plan.times.size), folder)
        self.kept: list[tuple[int, int]] = []

    def take(self, chunk: Chunk, runs: Runs) -> None:
        """Put the runs of a finished chunk in their places."""
        self.done += len(runs)
        place = chunk.case, slice(chunk.first, chunk.last)
        for name, values in runs.numbers.items():
            self.runs[name][place] = values
        if self.plan.histories == "all":
            for name, values in zip(HISTORIES, runs.histories, strict=True):
                self.histories[name][place] = values

    def wanted_histories(self) -> list[tuple[int, int]]:
        """Case and realisation of the runs whose histories are to be kept, in order."""
        if self.plan.histories not in ("failed", "worst"):
            return []
        return [
            (case, int(realisation))
            for case in range(len(self.plan.cases))
            for realisation in sorted(self._worst(case)[: self.plan.keep])
        ]

    def keep(self, runs: dict[tuple[int, int], Runs]) -> None:
        """Take over the histories of single runs that were run again for them."""
        self.kept = list(runs)
        for i, name in enumerate(HISTORIES):
            rows = [found.histories[i, 0] for found in runs.values()]
            self.histories[name] = np.array(rows).reshape(len(rows), self.plan.times.size)

    def _worst(self, case: int) -> NDArray[np.intp]:
        """Realisations of a case by severity, the gravest outcome first.

        Of capsizes the first, of other failures the first to pass a limit, then the greatest roll.
        """
        outcome = self.runs["outcome"][case]
        roll = np.fmax(self.runs["roll_max"][case], -self.runs["roll_min"][case])
        failed = (outcome >= Outcome.ROLL_LIMIT) & (outcome <= Outcome.CAPSIZED)
        solved = failed | (outcome == Outcome.SURVIVED)
        when = np.where(failed, self.runs["failure_time"][case], math.inf)
        when = np.where(outcome == Outcome.CAPSIZED, self.runs["end_time"][case], when)
        order = np.lexsort((-np.nan_to_num(roll), when, -outcome * failed))
        chosen = failed if self.plan.histories == "failed" else solved
        return np.asarray(order[chosen[order]])

    def variables(self) -> Arrays:
        """Every variable of the result's file, measures included."""
        plan = self.plan
        rest = [of_case(case, plan) for case in plan.cases]
        found: Arrays = {name: np.array([row[name] for row in rest]) for name in rest[0]}
        found |= {name: values[:, : self._width()] for name, values in self.runs.items()}
        if plan.histories == "all":
            found |= {name: values[:, : self._width()] for name, values in self.histories.items()}
        elif self.kept:
            found |= self.histories
            found["kept_case"], found["kept_realisation"] = np.array(self.kept).T
        found["message"] = found["message"].astype(np.str_)
        found |= probabilities(found, np.array([case.random for case in plan.cases]))
        found["condition"] = np.array([case.condition for case in plan.cases])
        found["t"], found["heel"] = plan.times, plan.heel
        return found

    def _width(self) -> int:
        """Realisations of the result: up to the last that any case has come to."""
        ran = np.flatnonzero((self.runs["outcome"] != Outcome.NOT_RUN).any(axis=0))
        return max(self.plan.realisations, int(ran[-1]) + 1 if ran.size else 1)


def _histories(shape: tuple[int, int, int], folder: Path | None) -> Arrays:
    """Room for all histories, NaN where not run; on the disk where they are large."""
    size = len(HISTORIES) * math.prod(shape) * np.dtype(np.float32).itemsize
    if folder is not None and size > IN_MEMORY:
        return {name: room_on_disk(shape, folder) for name in HISTORIES}
    if size > os.sysconf("SC_PHYS_PAGES") * os.sysconf("SC_PAGE_SIZE"):
        raise MachineError(
            f"{shape[0] * shape[1]} runs of {shape[2]} points do not fit in memory\n"
            '  keep fewer: [output] histories = "worst" or "none", or a larger output_step_s'
        )
    return {name: np.full(shape, math.nan, dtype=np.float32) for name in HISTORIES}


def _empty(name: str, shape: tuple[int, int]) -> NDArray[Any]:
    kind = VARIABLES[name].dtype
    if kind == "str":
        return np.full(shape, "", dtype=object)
    return np.full(shape, math.nan if kind.startswith("f") else 0, dtype=kind)


def of_case(case: Case, plan: Plan) -> dict[str, Any]:
    """What a case has besides its runs: numbers at rest, curves, the path of G."""
    loading = CaseRunner(case).loading
    return {
        **statics(case),
        **curves(case, plan.heel),
        "centre_of_gravity_y": loading[:, 2],
        "centre_of_gravity_z": loading[:, 1],
    }


def probabilities(runs: Arrays, random: NDArray[np.bool_]) -> Arrays:
    """Capsize and failure probabilities with their 95 % limits, missing where nothing is random.

    Of the solved runs that passed no limit before settle.
    """
    outcome = runs["outcome"]
    which = counted(outcome, runs["failed_before_settle"])
    total = np.where(random, which.sum(axis=1), 0)
    found: Arrays = {}
    for name, least in (("capsize", Outcome.CAPSIZED), ("failure", Outcome.ROLL_LIMIT)):
        hits = np.where(random, (which & (outcome >= least)).sum(axis=1), 0)
        lower, upper = clopper_pearson(hits, total)
        with np.errstate(invalid="ignore"):
            found[f"{name}_probability"] = hits / np.where(total > 0, total, math.nan)
        found[f"{name}_probability_lower"] = lower
        found[f"{name}_probability_upper"] = upper
    return found
