"""From a plan to a finished result on disk, or in memory: nothing finished is ever dropped."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import groupby
from pathlib import Path

from rollsim.engines.base import BLOCK
from rollsim.engines.block.step import step_of
from rollsim.store.disk import require_space
from rollsim.store.lock import ResultLock
from rollsim.store.netcdf import AxisCoordinate, write_result
from rollsim.store.reading import require_replaceable
from rollsim.store.unfinished import Unfinished
from rollsim.study import criteria
from rollsim.study.loading import stored
from rollsim.study.loop import run_plan, run_samplings
from rollsim.study.plan import Plan
from rollsim.study.result import Results
from rollsim.study.sampling import Listed
from rollsim.study.severity import searches
from rollsim.study.shards import Shards
from rollsim.study.workers import ALL_CORES, Where


def _silent(*_: object) -> None:
    return None


@dataclass(frozen=True)
class Listener:
    """Who hears how a study goes: runs finished so far, and words worth telling."""

    progress: Callable[[int], None] = _silent
    tell: Callable[[str], None] = _silent


NOBODY = Listener()
"""Nobody hears."""


def run_to_file(
    plan: Plan,
    path: Path,
    *,
    replace: bool = False,
    where: Where = ALL_CORES,
    listener: Listener = NOBODY,
) -> bool:
    """Run `plan` and write its result to `path`; whether it went to its end.

    Finished tasks are on the disk at once; what an earlier, broken run of the same scenario has
    left there is taken over. False after an interruption: the finished runs are written to the
    result all the same, the rest is `not_run`, and the next call goes on from there; but a result
    that was finished before is only replaced by a whole one. MachineError and InputError come
    before anything has run.
    """
    require_replaceable(path, plan.study.text, replace)
    require_space(path, plan.bytes)
    with ResultLock(path), Unfinished(path, anew=replace) as folder:
        shards = Shards(folder, plan)
        if shards.resumed:
            listener.tell(f"going on with the unfinished runs in {folder.path}")
        # A finished result stands until another is whole: what is interrupted lies in the shards.
        stands = path.exists() and not shards.resumed
        results = Results(plan, folder.path)
        whole = False
        try:
            for chunk, runs in run_plan(plan, where, shards):
                results.take(chunk, runs)
                listener.progress(results.done)
            _search(results, where, shards, listener)
            _keep(results, where)
            whole = True
        except KeyboardInterrupt:
            if results.done == 0:
                raise
        finally:
            if whole or (results.done > 0 and not stands):
                write(results, path)
        if whole:
            folder.remove()
    return whole


def _search(results: Results, where: Where, shards: Shards, listener: Listener) -> None:
    """Search for the severity factors of all runs, where the scenario asks for them.

    After an interruption those that are finished are there.
    """
    if results.plan.search is None:
        return
    asked = searches(results.plan, results.runs["outcome"])
    most = results.plan.trials * sum(search.realisations.size for search in asked)
    tried = 0
    try:
        for chunk, _ in run_samplings(results.plan, asked, where, shards, histories=False):
            tried += len(chunk)
            listener.progress(results.done + tried)
        listener.progress(results.done + most)
    finally:
        results.take_severity(search for search in asked if search.finished)


def _keep(results: Results, where: Where) -> None:
    """Run the failed or worst runs once more, bit for bit the same, for their histories."""
    wanted, plan = results.wanted_histories(), results.plan
    chunks = [
        plan.chunk([case] * len(pairs), [realisation for _, realisation in pairs])
        for case, group in groupby(wanted, key=lambda pair: pair[0])
        for pairs in [list(group)]
    ]
    if chunks:
        results.keep(wanted, run_samplings(plan, [Listed(chunks)], where, histories=True))


def write(results: Results, path: Path) -> None:
    """Write the result's file in one step."""
    plan = results.plan
    write_result(path, results.variables(), axes(plan), attributes(plan), plan.study.text)


def axes(plan: Plan) -> list[AxisCoordinate]:
    """The sweep's axes as coordinates along the cases."""
    return [
        AxisCoordinate(
            axis.name,
            axis.key,
            axis.units,
            [case.coordinates[axis.name] for case in plan.cases],
            axis.offset,
            axis.item,
        )
        for axis in plan.study.axes
    ]


def attributes(plan: Plan) -> dict[str, str | int | float]:
    """What the result says of itself besides what every file says."""
    run = plan.study.base.run
    block = [plan.cases[i] for i in sorted(set(plan.leads)) if plan.cases[i].method == BLOCK]
    step = {"block_step_s": min(step_of(case) for case in block)} if block else {}
    return {
        "title": plan.study.base.title or Path(plan.study.file).stem,
        "scenario_file": Path(plan.study.file).name,
        "history": f"rollsim run {Path(plan.study.file).name}",
        "seed": run.seed,
        "method": run.method,
        "accuracy_deg": run.accuracy_deg,
        **step,
        **stored(plan.study),
        "relative_tolerance": run.relative_tolerance,
        "absolute_tolerance_deg": run.absolute_tolerance_deg,
        "histories": plan.histories,
        **searched(plan),
        **criteria.attribute(plan),
    }


def searched(plan: Plan) -> dict[str, str | float]:
    """What the severity factors of a result are of, where it has any."""
    if plan.search is None:
        return {}
    on, of, first, last = plan.search
    return {
        "severity_on": on,
        "severity_of": of,
        "severity_from": first,
        "severity_to": last,
    }
