"""A study ready to run: its cases as physics, what is kept, and how the work is cut up."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from rollsim.engines.base import BLOCK, Case, run_list
from rollsim.engines.block.lanes import LANES
from rollsim.engines.block.step import reach_of, step_of
from rollsim.engines.limits import output_times
from rollsim.engines.runs import HISTORIES
from rollsim.errors import Fault, InputError, MachineError
from rollsim.measures.outcome import Event, default_event
from rollsim.measures.severity import PARTS, REFINEMENTS, factors_tried
from rollsim.scenario.load import Study
from rollsim.scenario.schema import Strengthened, Until
from rollsim.scenario.text.positions import missing_place, positions
from rollsim.study import cost
from rollsim.study.build import Builder
from rollsim.study.runs import Chunk

Floats = NDArray[np.float64]

HEEL_STEP = 0.5
"""Spacing [degree] of the heels at which curves are stored."""
TASK_SECONDS = 0.3
TASK_BYTES = 1 << 26
"""A task lasts about so long and carries at most so many bytes of histories."""
LOOKED_AT = 24
"""Cases whose step is looked at to estimate the time of a study."""
MOST_BYTES = 1 << 42
"""Bytes of a result beyond which a study is refused before its cases are made."""


class Search(NamedTuple):
    """What the search for severity factors varies, of which event, from which factor to which."""

    on: Strengthened
    of: Event
    first: float
    last: float

    @property
    def trials(self) -> int:
        """Runs for each run of the study, as many as there may be."""
        tried = factors_tried(self.first, self.last)
        return int(np.count_nonzero(tried != 1.0)) + REFINEMENTS * (PARTS - 1)


@dataclass(frozen=True, eq=False)
class Plan:
    """A study ready to run: its cases as physics, output times [s], heels [degree] of curves.

    `leads` names for each case that whose engine serves for it: of all that differ in the start
    alone the one that starts most violently.
    `skipped` holds the cases that are not run for want of a static heel. `realisations` is the
    first batch of every case, `until` the rule for more.
    """

    study: Study
    cases: tuple[Case, ...]
    leads: tuple[int, ...]
    skipped: frozenset[int]
    realisations: int
    until: Until | None
    histories: str
    keep: int
    times: Floats
    heel: Floats

    @cached_property
    def groups(self) -> list[list[int]]:
        """The cases to be run, by the engine that serves them."""
        groups: dict[int, list[int]] = {}
        for case, lead in enumerate(self.leads):
            if case not in self.skipped:
                groups.setdefault(lead, []).append(case)
        return list(groups.values())

    @cached_property
    def starts(self) -> Floats:
        """Start roll [rad] and rate [rad/s] of every case, shape (cases, 2)."""
        return np.array([case.start for case in self.cases], dtype=np.float64)

    @cached_property
    def random(self) -> NDArray[np.bool_]:
        """Which cases are random, shape (cases,)."""
        which = np.array([case.random for case in (self.cases[i] for i in sorted(set(self.leads)))])
        _, lead = np.unique(self.leads, return_inverse=True)
        return np.asarray(which[lead])

    @cached_property
    def event(self) -> Event:
        """What the study is about, and counts until it is known."""
        return self.until.of if self.until and self.until.of else self._usual_event

    @cached_property
    def _usual_event(self) -> Event:
        """Failure where any case has a roll or flooding limit."""
        limits = [(case.limits.roll, case.limits.flooding) for case in self.cases]
        roll, flooding = np.where(np.isfinite(limits), limits, math.nan).T
        return default_event(roll, flooding)

    @cached_property
    def search(self) -> Search | None:
        """The search for severity factors, None where the scenario does not ask for it."""
        table = self.study.base.severity
        if table is None:
            return None
        return Search(table.on, table.of or self._usual_event, table.from_, table.to)

    @property
    def trials(self) -> int:
        """Runs of the search that a run of the study brings with it."""
        return self.search.trials if self.search else 0

    @cached_property
    def work(self) -> int:
        """Runs of the first batches, those of the search for them included."""
        each = [self.realisations if self.random[members[0]] else 1 for members in self.groups]
        ran = sum(len(members) * n for members, n in zip(self.groups, each, strict=True))
        return self.runs + self.trials * ran

    @property
    def runs(self) -> int:
        """Number of runs in the first batches."""
        ran = len(self.cases) - len(self.skipped)
        return round(ran * self.cases_for_one) * self.realisations

    @property
    def cases_for_one(self) -> float:
        """Cases of the study for each that is here: above 1 where only some were asked for."""
        return self.study.count / len(self.cases)

    @property
    def most(self) -> int:
        """Realisations that a case may come to."""
        return _most(self.study)

    @property
    def hours(self) -> float:
        """Simulated hours in the first batches."""
        return self.runs * self.cases[0].duration / 3600.0

    @property
    def seconds(self) -> float:
        """Rough CPU seconds of the first batches."""
        return self._seconds(self.realisations)

    @property
    def most_seconds(self) -> float:
        """Rough CPU seconds of all that the rule for more may ask for."""
        return self._seconds(self.most)

    def wall(self, seconds: float, cores: int) -> float:
        """Seconds on the wall of so many of a processor: the start is not shared out."""
        start = min(seconds, cost.SECONDS_A_STUDY)
        return start + (seconds - start) / cores

    @property
    def bytes(self) -> int:
        """Bytes of the result at most, before compression."""
        return _bytes(self.study, self.study.count, self.most, self.times.size, self.heel.size)

    @property
    def outputs(self) -> int:
        """Points of the histories that runs come with at once, 0 where none are kept of all."""
        return self.times.size if self.histories == "all" else 0

    def task_size(self, case: Case) -> int:
        """Runs of `case` that make one task."""
        size = TASK_SECONDS / cost.seconds_a_run(case)
        if self.outputs:
            size = min(size, TASK_BYTES / (4.0 * len(HISTORIES) * self.outputs))
        whole = max(1, round(size))
        return max(LANES, whole - whole % LANES) if case.method == BLOCK else whole

    def chunk(self, case: ArrayLike, realisation: ArrayLike) -> Chunk:
        """Runs of cases of one group, each from its own start, in waves and wind as they are."""
        of = np.asarray(case, dtype=np.int32)
        roll, rate = self.starts[of].T
        return Chunk(self.leads[int(of[0])], of, run_list(realisation, (roll, rate)))

    def _seconds(self, most: int) -> float:
        step, histories = self.typical_step, self.outputs > 0
        total = cost.SECONDS_A_CASE * len(self.cases)
        for members in self.groups:
            case = self.cases[members[0]]
            runs = len(members) * (most if case.random else 1)
            total += cost.SECONDS_AN_ENGINE
            total += cost.seconds_of(case, runs, step, histories=histories)
            total += cost.SEARCHING * self.trials * cost.seconds_of(case, runs, step)
        return cost.SECONDS_A_STUDY + self.cases_for_one * total

    @cached_property
    def typical_step(self) -> float:
        """Mean step of the block engine [s], over some of the cases."""
        leads = [self.cases[members[0]] for members in self.groups]
        block = [case for case in leads if case.method == BLOCK]
        some = block[:: 1 + len(block) // LOOKED_AT]
        return float(np.mean([step_of(case) for case in some])) if some else cost.STEP


def make_plan(study: Study) -> Plan:
    """Turn every case of `study` into physics; InputError with the faults of all cases at once."""
    run, output = study.base.run, study.base.output
    times = output_times(run.duration_s, run.output_step_s)
    require_possible(study, times.size)
    builder = Builder(study.base, study.file)
    for spec in study.cases:
        builder.add(spec)
    try:
        builder.finish()
    except InputError as error:
        faults = _located(list(dict.fromkeys(error.faults)), study.text)
        raise InputError(study.file, faults) from None
    return Plan(
        study=study,
        cases=tuple(builder.cases),
        leads=_leads(builder),
        skipped=frozenset(builder.skipped),
        realisations=run.realisations,
        until=run.until,
        histories=output.histories,
        keep=output.count,
        times=times,
        heel=_heels(builder.cases),
    )


def require_possible(study: Study, samples: int) -> None:
    """MachineError where no machine would hold the result; before any case is made."""
    cases, each = study.count, study.base.run.realisations
    size = _bytes(study, cases, each, samples, 0)
    if size > MOST_BYTES:
        raise MachineError(
            f"{cases} cases x {each} realisations come to {size / 1e9:.3g} GB of results\n"
            '  take fewer cases or realisations, or keep less: [output] histories = "none"'
        )


def _most(study: Study) -> int:
    """Realisations that a case may come to."""
    run = study.base.run
    return max(run.realisations, run.until.most) if run.until else run.realisations


def _bytes(study: Study, cases: int, most: int, samples: int, heels: int) -> int:
    """Bytes of a result of all that may be run, before compression."""
    from rollsim.store.netcdf import estimate_bytes

    output = study.base.output
    if output.histories == "all":
        return estimate_bytes(cases, most, samples, heels)
    kept = 0 if output.histories == "none" else cases * min(output.count, most)
    each = np.dtype(np.float32).itemsize * len(HISTORIES)
    path_of_gravity = 2 * np.dtype(np.float64).itemsize * cases * samples
    return estimate_bytes(cases, most, 0, heels) + path_of_gravity + kept * each * samples


def _leads(builder: Builder) -> tuple[int, ...]:
    """For each case the one of its kind that is run and whose start is the most violent."""
    kinds: dict[int, list[int]] = {}
    for i, kind in enumerate(builder.kinds):
        kinds.setdefault(kind, []).append(i)
    lead = {kind: _most_violent(builder, members) for kind, members in kinds.items()}
    return tuple(lead[kind] for kind in builder.kinds)


def _most_violent(builder: Builder, members: Sequence[int]) -> int:
    """Of cases that differ in their start alone the one that may come to the greatest rate."""
    if len(members) == 1:
        return members[0]
    per_roll = math.sqrt(reach_of(builder.cases[members[0]]).stiffness)

    def rate(i: int) -> float:
        roll, own = builder.cases[i].start
        return -1.0 if i in builder.skipped else abs(own) + per_roll * abs(roll)

    return max(members, key=rate)


def _located(faults: list[Fault], text: str) -> list[Fault]:
    """The faults with the line and column of their keys, or of the tables that should hold them."""
    known = positions(text)
    where = [missing_place(known, tuple(fault.key.split("."))) for fault in faults]
    return [
        replace(fault, line=position.line, column=position.column)
        for fault, position in zip(faults, where, strict=True)
    ]


def _heels(cases: Sequence[Case]) -> Floats:
    """The stored heels: multiples of HEEL_STEP within the widest range, and every range's ends."""
    levers = {id(case.levers): case.levers for case in cases}.values()
    ends = {math.degrees(end) for each in levers for end in (each.heel_min, each.heel_max)}
    inner = np.arange(math.ceil(min(ends) / HEEL_STEP), math.floor(max(ends) / HEEL_STEP) + 1)
    return np.unique(np.round(np.concatenate((inner * HEEL_STEP, sorted(ends))), 10))
