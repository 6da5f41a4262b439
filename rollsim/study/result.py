"""The arrays of a result: filled as runs finish, then measured and completed for the file."""

from __future__ import annotations

import math
import os
import tempfile
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from rollsim.engines.base import Case
from rollsim.engines.runs import HISTORIES, NUMBERS, Runs
from rollsim.errors import MachineError
from rollsim.measures.outcome import EVENTS, failed, severity
from rollsim.measures.probability import chance
from rollsim.measures.rates import exposure, hourly
from rollsim.motion.timeline import loading_at
from rollsim.names import VARIABLES, Outcome
from rollsim.store.disk import refusal_of
from rollsim.study.at_rest import curves, statics
from rollsim.study.plan import Chunk, Plan

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
        failure, end = (self.runs[name][case] for name in ("failure_time", "end_time"))
        order = severity(outcome, failure, end, roll)
        return order[failed(outcome)[order]] if self.plan.histories == "failed" else order

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
        random = np.array([case.random for case in plan.cases])
        found |= probabilities(found, random) | rates(found, random, plan.cases[0].settle)
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
        return {name: _on_disk(shape, folder) for name in HISTORIES}
    if size > os.sysconf("SC_PHYS_PAGES") * os.sysconf("SC_PAGE_SIZE"):
        raise MachineError(
            f"{shape[0] * shape[1]} runs of {shape[2]} points do not fit in memory\n"
            '  keep fewer: [output] histories = "worst" or "none", or a larger output_step_s'
        )
    return {name: np.full(shape, math.nan, dtype=np.float32) for name in HISTORIES}


def _on_disk(shape: tuple[int, int, int], folder: Path) -> NDArray[np.float32]:
    """An array in a file without a name, gone with the process however that ends."""
    size = math.prod(shape) * np.dtype(np.float32).itemsize
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=folder) as file:
            # Without this a full disk would kill the process when a page is first written.
            os.posix_fallocate(file.fileno(), 0, size)
            array = np.memmap(file, dtype=np.float32, mode="w+", shape=shape)
    except OSError as error:
        raise refusal_of(folder, error) from error
    for case in array:
        case[...] = math.nan
    return array


def _empty(name: str, shape: tuple[int, int]) -> NDArray[Any]:
    kind = VARIABLES[name].dtype
    if kind == "str":
        return np.full(shape, "", dtype=object)
    return np.full(shape, math.nan if kind.startswith("f") else 0, dtype=kind)


def of_case(case: Case, plan: Plan) -> dict[str, Any]:
    """What a case has besides its runs: numbers at rest, curves, the path of G."""
    loading = loading_at(plan.times, case.segments)
    return {
        **statics(case),
        **curves(case, plan.heel),
        "centre_of_gravity_y": loading[:, 2],
        "centre_of_gravity_z": loading[:, 1],
    }


def probabilities(runs: Arrays, random: NDArray[np.bool_]) -> Arrays:
    """Capsize and failure probabilities with their 95 % limits, missing where nothing is random."""
    found: Arrays = {}
    for event in EVENTS:
        numbers = chance(runs["outcome"], event, random)
        for part, values in zip(("", "_lower", "_upper"), numbers, strict=True):
            found[f"{event}_probability{part}"] = values
    return found


def rates(runs: Arrays, random: NDArray[np.bool_], settle: float) -> Arrays:
    """Capsizes and failures per hour from `settle` [s] on, missing where nothing is random."""
    early, failure, end = (
        runs[name] for name in ("failed_before_settle", "failure_time", "end_time")
    )
    found: Arrays = {}
    for event in EVENTS:
        exposed = exposure(event, runs["outcome"], early, failure, end, settle)
        for part, values in zip(("", "_lower", "_upper"), hourly(exposed, random), strict=True):
            found[f"{event}_rate{part}"] = values
    return found
