"""From a plan to a finished result on disk, or in memory: nothing finished is ever dropped."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from rollsim.batch.result import Results
from rollsim.batch.study import Plan, run_plan
from rollsim.store.disk import require_space
from rollsim.store.lock import ResultLock
from rollsim.store.netcdf import AxisCoordinate, estimate_bytes, write_result
from rollsim.store.reading import require_replaceable


def run_to_file(
    plan: Plan,
    path: Path,
    *,
    replace: bool = False,
    workers: int | None = None,
    progress: Callable[[int], None] = lambda _: None,
) -> bool:
    """Run `plan` and write its result to `path`; whether it went to its end.

    `progress` hears the number of runs finished. False after an interruption: the finished runs
    are written all the same, the rest is `not_run`; so they are before any other error is passed
    on. Where nothing has finished, nothing is written. MachineError and InputError come before
    anything has run.
    """
    require_replaceable(path, plan.study.text, replace)
    size = estimate_bytes(len(plan.cases), plan.realisations, plan.times.size, plan.heel.size)
    require_space(path, size)
    results = Results(plan)
    with ResultLock(path):
        try:
            for chunk, runs in run_plan(plan, workers):
                results.take(chunk, runs)
                progress(results.done)
        except KeyboardInterrupt:
            if results.done == 0:
                raise
        finally:
            if results.done > 0:
                write(results, path)
    return results.done == plan.runs


def write(results: Results, path: Path) -> None:
    """Write the result's file in one step."""
    plan = results.plan
    write_result(path, results.variables(), axes(plan), attributes(plan), plan.study.text)


def axes(plan: Plan) -> list[AxisCoordinate]:
    """The sweep's axes as coordinates along the cases."""
    return [
        AxisCoordinate(
            axis.name, axis.key, axis.units, [case.coordinates[axis.name] for case in plan.cases]
        )
        for axis in plan.study.axes
    ]


def attributes(plan: Plan) -> dict[str, str | int | float]:
    """What the result says of itself besides what every file says."""
    run = plan.study.base.run
    return {
        "title": plan.study.base.title or Path(plan.study.file).stem,
        "scenario_file": Path(plan.study.file).name,
        "history": f"rollsim run {Path(plan.study.file).name}",
        "seed": run.seed,
        "method": run.method,
        "relative_tolerance": run.relative_tolerance,
        "absolute_tolerance_deg": run.absolute_tolerance_deg,
    }
