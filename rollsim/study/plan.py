"""A study ready to run: its cases as physics, what is kept, and how the work is cut up."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from rollsim.engines.base import BLOCK, Case
from rollsim.engines.block.lanes import LANES
from rollsim.engines.runs import HISTORIES
from rollsim.engines.limits import output_times
from rollsim.errors import Fault, InputError
from rollsim.scenario.load import Study
from rollsim.scenario.positions import missing_place, positions
from rollsim.scenario.schema import Until
from rollsim.study.build import build_case

Floats = NDArray[np.float64]

HEEL_STEP = 0.5
"""Spacing [degree] of the heels at which curves are stored."""
SECONDS_AN_HOUR = {BLOCK: 4e-4, "DOP853": 2.0, "RK45": 4.0, "LSODA": 4.0, "Radau": 40.0}
"""Rough CPU seconds for an hour in irregular waves, to plan by."""
TASK_SECONDS = 1.0
TASK_BYTES = 1 << 26
"""A task lasts about so long and carries at most so many bytes of histories."""


class Chunk(NamedTuple):
    """Some realisations of one case: [first, last)."""

    case: int
    first: int
    last: int


@dataclass(frozen=True, eq=False)
class Plan:
    """A study ready to run: its cases as physics, output times [s], heels [degree] of curves.

    `realisations` is the first batch of every case, `until` the rule for more.
    """

    study: Study
    cases: tuple[Case, ...]
    realisations: int
    until: Until | None
    histories: str
    keep: int
    times: Floats
    heel: Floats

    @property
    def runs(self) -> int:
        """Number of runs in the first batches."""
        return len(self.cases) * self.realisations

    @property
    def most(self) -> int:
        """Realisations that a case may come to."""
        return max(self.realisations, self.until.most) if self.until else self.realisations

    @property
    def hours(self) -> float:
        """Simulated hours in the first batches."""
        return self.runs * self.cases[0].duration / 3600.0

    @property
    def seconds(self) -> float:
        """Rough CPU seconds of the first batches."""
        return self.realisations * sum(seconds_a_run(case) for case in self.cases)

    @property
    def most_seconds(self) -> float:
        """Rough CPU seconds of all that the rule for more may ask for."""
        return self.seconds * self.most / self.realisations

    @property
    def bytes(self) -> int:
        """Bytes of the result at most, before compression."""
        from rollsim.store.netcdf import estimate_bytes

        samples = self.times.size if self.histories == "all" else 0
        return estimate_bytes(len(self.cases), self.most, samples, self.heel.size)

    def chunks(self, case: Case, first: int, last: int) -> list[Chunk]:
        """Realisations [first, last) of `case` cut into tasks; runs all alike stay together."""
        if not case.random:
            return [Chunk(case.index, first, last)]
        size = _task_size(case, self.times.size if self.histories == "all" else 0)
        # Cut at whole multiples: a chunk is the same whatever was asked for before.
        cuts = [first, *range(size * (first // size + 1), last, size), last]
        return [Chunk(case.index, a, b) for a, b in pairwise(cuts)]


def seconds_a_run(case: Case) -> float:
    """Rough CPU seconds of one run of `case`."""
    return SECONDS_AN_HOUR[case.method] * case.duration / 3600.0


def _task_size(case: Case, outputs: int) -> int:
    size = TASK_SECONDS / seconds_a_run(case)
    if outputs:
        size = min(size, TASK_BYTES / (4.0 * len(HISTORIES) * outputs))
    whole = max(1, round(size))
    return max(LANES, whole - whole % LANES) if case.method == BLOCK else whole


def make_plan(study: Study) -> Plan:
    """Turn every case of `study` into physics; InputError with the faults of all cases at once."""
    cases: list[Case] = []
    faults: list[Fault] = []
    for spec in study.cases:
        try:
            cases.append(build_case(spec, study.base, study.file))
        except InputError as error:
            faults.extend(error.faults)
    if faults:
        raise InputError(study.file, _placed(list(dict.fromkeys(faults)), study.text))
    run, output = study.base.run, study.base.output
    return Plan(
        study=study,
        cases=tuple(cases),
        realisations=run.realisations,
        until=run.until,
        histories=output.histories,
        keep=output.count,
        times=output_times(run.duration_s, run.output_step_s),
        heel=_heels(cases),
    )


def _placed(faults: list[Fault], text: str) -> list[Fault]:
    """The faults with the line and column of their keys, or of the tables that should hold them."""
    places = positions(text)
    found = [missing_place(places, tuple(fault.key.split("."))) for fault in faults]
    return [
        replace(fault, line=place.line, column=place.column)
        for fault, place in zip(faults, found, strict=True)
    ]


def _heels(cases: Sequence[Case]) -> Floats:
    """The stored heels: multiples of HEEL_STEP within the widest range, and every range's ends."""
    levers = [case.levers for case in cases]
    ends = {math.degrees(end) for held in levers for end in (held.heel_min, held.heel_max)}
    inner = np.arange(math.ceil(min(ends) / HEEL_STEP), math.floor(max(ends) / HEEL_STEP) + 1)
    return np.unique(np.round(np.concatenate((inner * HEEL_STEP, sorted(ends))), 10))
