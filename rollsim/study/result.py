"""The arrays of a result: filled as runs finish, then measured and completed for the file."""

from __future__ import annotations

import math
import os
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from rollsim.engines.runs import HISTORIES, NUMBERS, Runs
from rollsim.errors import MachineError
from rollsim.measures.outcome import EVENTS, failed, severity
from rollsim.measures.probability import chance
from rollsim.measures.rates import exposure, hourly
from rollsim.names import SEARCHED, VARIABLES, Outcome
from rollsim.store.disk import room_on_disk
from rollsim.study.at_rest import Arrays, of_cases
from rollsim.study.plan import Plan
from rollsim.study.runs import Chunk
from rollsim.study.severity import SeveritySearch

IN_MEMORY = 1 << 28
"""Histories up to so many bytes are gathered in memory, larger ones in a file aside."""
NO_HEEL = "not run: no static heel to start from"


class Results:
    """All runs of a plan in the units of the result; what is not run stays `not_run` and NaN."""

    def __init__(self, plan: Plan, folder: Path | None = None) -> None:
        self.plan = plan
        self.done = 0
        shape = (len(plan.cases), plan.realisations)
        _require_memory(plan, sum(_empty(name, (1, 1)).nbytes for name in NUMBERS))
        self.runs: Arrays = {name: _empty(name, shape) for name in NUMBERS}
        self.runs["message"][sorted(plan.skipped)] = NO_HEEL
        self.severity: Arrays = {}
        self.histories: Arrays = {}
        if plan.histories == "all":
            self.histories = _histories((len(plan.cases), plan.most, plan.times.size), folder)
        self.kept: list[tuple[int, int]] = []

    def take(self, chunk: Chunk, runs: Runs) -> None:
        """Put the runs of a finished chunk in their places."""
        if self.plan.random[chunk.lead]:
            where = chunk.case, chunk.runs.realisation.astype(np.intp)
            self._widen(int(where[1].max()) + 1)
            self.done += len(runs)
        else:  # one run serves for all realisations
            where = chunk.case[:, None], np.arange(self.plan.realisations)
            self.done += len(runs) * self.plan.realisations
        spread = (slice(None),) if self.plan.random[chunk.lead] else (slice(None), None)
        for name, values in runs.numbers.items():
            self.runs[name][where] = values[spread]
        if self.plan.histories == "all":
            for name, values in zip(HISTORIES, runs.histories, strict=True):
                self.histories[name][where] = values[spread]

    def take_severity(self, done: Iterable[SeveritySearch]) -> None:
        """Put the answers of finished searches in their places."""
        shape = self.runs["outcome"].shape
        self.severity = {name: _empty(name, shape) for name in SEARCHED}
        for search in done:
            random = self.plan.random[search.case]
            where = search.case, search.realisations if random else slice(None)
            answers = search.factor, search.found, search.islands
            for name, values in zip(SEARCHED, answers, strict=True):
                self.severity[name][where] = values

    def _widen(self, realisations: int) -> None:
        """Room for so many realisations, and some more: nobody knows where a counting ends."""
        cases, width = self.runs["outcome"].shape
        if realisations > width:
            more = cases, min(max(realisations, 2 * width), self.plan.most) - width
            for name, values in self.runs.items():
                self.runs[name] = np.concatenate((values, _empty(name, more)), axis=1)

    def wanted_histories(self) -> list[tuple[int, int]]:
        """Case and realisation of the runs whose histories are to be kept, in order."""
        if self.plan.histories not in ("failed", "worst"):
            return []
        return [
            (case, int(realisation))
            for case in range(len(self.plan.cases))
            for realisation in sorted(self._worst(case)[: self.plan.keep])
        ]

    def keep(self, wanted: list[tuple[int, int]], made: Iterable[tuple[Chunk, Runs]]) -> None:
        """Take over the histories of the wanted runs, which were made again for them."""
        row = {run: i for i, run in enumerate(wanted)}
        shape = len(wanted), self.plan.times.size
        kept = {name: np.full(shape, math.nan, dtype=np.float32) for name in HISTORIES}
        for chunk, runs in made:
            pairs = zip(chunk.case.tolist(), chunk.runs.realisation.tolist(), strict=True)
            rows = [row[pair] for pair in pairs]
            for name, values in zip(HISTORIES, runs.histories, strict=True):
                kept[name][rows] = values
        self.kept, self.histories = wanted, kept

    def _worst(self, case: int) -> NDArray[np.intp]:
        """Realisations of a case by severity, the gravest outcome first; of failed runs alone.

        Where every run is alike the first stands for all.
        """
        outcome = self.runs["outcome"][case]
        roll = np.fmax(self.runs["roll_max"][case], -self.runs["roll_min"][case])
        failure, end = (self.runs[name][case] for name in ("failure_time", "end_time"))
        order = severity(outcome, failure, end, roll)
        return order[failed(outcome)[order]] if self.plan.histories == "failed" else order

    def variables(self) -> Arrays:
        """Every variable of the result's file, measures included."""
        plan = self.plan
        variables = of_cases(plan, range(len(plan.cases)))
        variables |= {name: values[:, : self._width()] for name, values in self.runs.items()}
        variables |= {name: values[:, : self._width()] for name, values in self.severity.items()}
        if plan.histories == "all":
            variables |= {
                name: values[:, : self._width()] for name, values in self.histories.items()
            }
        elif self.kept:
            variables |= self.histories
            variables["kept_case"], variables["kept_realisation"] = np.array(self.kept).T
        variables["message"] = variables["message"].astype(np.str_)
        variables |= probabilities(variables, plan.random)
        variables |= rates(variables, plan.random, plan.cases[0].settle)
        return variables

    def _width(self) -> int:
        """Realisations of the result: up to the last that any case has come to."""
        ran = np.flatnonzero((self.runs["outcome"] != Outcome.NOT_RUN).any(axis=0))
        return max(self.plan.realisations, int(ran[-1]) + 1 if ran.size else 1)


def single(plan: Plan, case: int, runs: Runs) -> Arrays:
    """Every variable of a result of the first of `runs` alone, which is one of `case`."""
    variables = of_cases(plan, [case])
    variables |= {name: _empty(name, (1, 1)) for name in NUMBERS}
    variables |= {name: values[None, :1] for name, values in runs.numbers.items()}
    variables["message"] = variables["message"].astype(np.str_)
    variables |= dict(zip(HISTORIES, runs.histories[:, None, :1], strict=True))
    alone = np.array([False])
    return (
        variables
        | probabilities(variables, alone)
        | rates(variables, alone, plan.cases[case].settle)
    )


def _histories(shape: tuple[int, int, int], folder: Path | None) -> Arrays:
    """Room for all histories, NaN where not run; on the disk where they are large."""
    size = len(HISTORIES) * math.prod(shape) * np.dtype(np.float32).itemsize
    if folder is not None and size > IN_MEMORY:
        return {name: room_on_disk(shape, folder) for name in HISTORIES}
    if size > _memory():
        raise MachineError(
            f"{shape[0] * shape[1]} runs of {shape[2]} points do not fit in memory\n"
            '  keep fewer: [output] histories = "worst" or "none", or a larger output_step_s'
        )
    return {name: np.full(shape, math.nan, dtype=np.float32) for name in HISTORIES}


def _memory() -> int:
    """Bytes of memory of this machine."""
    return os.sysconf("SC_PHYS_PAGES") * os.sysconf("SC_PAGE_SIZE")


def _require_memory(plan: Plan, each: int) -> None:
    """MachineError where the numbers of all runs, `each` bytes a run, do not fit in memory."""
    runs = len(plan.cases) * plan.realisations
    if plan.histories != "all" and runs * each > _memory():
        raise MachineError(
            f"the numbers of {runs} runs do not fit in memory\n"
            "  take fewer cases or realisations, in several studies"
        )


def _empty(name: str, shape: tuple[int, int]) -> NDArray[Any]:
    kind = VARIABLES[name].dtype
    if kind == "str":
        return np.full(shape, "", dtype=object)
    return np.full(shape, math.nan if kind.startswith("f") else 0, dtype=kind)


def probabilities(runs: Arrays, random: NDArray[np.bool_]) -> Arrays:
    """Capsize and failure probabilities with their 95 % limits, missing where nothing is random."""
    numbers: Arrays = {}
    for event in EVENTS:
        parts = chance(runs["outcome"], event, random)
        for part, values in zip(("", "_lower", "_upper"), parts, strict=True):
            numbers[f"{event}_probability{part}"] = values
    return numbers


def rates(runs: Arrays, random: NDArray[np.bool_], settle: float) -> Arrays:
    """Capsizes and failures per hour from `settle` [s] on, missing where nothing is random."""
    early, failure, end = (
        runs[name] for name in ("failed_before_settle", "failure_time", "end_time")
    )
    numbers: Arrays = {}
    for event in EVENTS:
        exposed = exposure(event, runs["outcome"], early, failure, end, settle)
        for part, values in zip(("", "_lower", "_upper"), hourly(exposed, random), strict=True):
            numbers[f"{event}_rate{part}"] = values
    return numbers
