"""`rollsim run FILE`: run a scenario, write its result, print the margins."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click
import numpy as np

from rollsim.cli import options
from rollsim.cli.stopped import course
from rollsim.errors import EXIT_DONE, EXIT_INTERRUPTED, EXIT_NOT_SOLVED, printable
from rollsim.names import Outcome

if TYPE_CHECKING:
    import xarray as xr

    from rollsim.study.plan import Plan
    from rollsim.study.workers import Where


@click.command("run")
@options.scenario_file
@options.out("The result's file; results/<name of FILE>.nc where left out.")
@click.option("--replace", is_flag=True, help="Replace a result of another scenario.")
@click.option(
    "--workers",
    type=click.IntRange(min=1),
    help="Workers: threads, or processes for scipy's methods; every core where left out.",
)
@click.option("--scheduler", help="Run on the cluster whose dask scheduler is at this address.")
@click.option("--plots/--no-plots", default=True, help="Draw pictures beside the result.")
def command(
    file: Path,
    out: Path | None,
    replace: bool,
    workers: int | None,
    scheduler: str | None,
    plots: bool,
) -> int:
    """Run FILE, write the result and its pictures, print the margins."""
    from rollsim.scenario.load import load
    from rollsim.store.reading import open_result
    from rollsim.study.plan import make_plan
    from rollsim.study.warnings import warnings
    from rollsim.study.workers import Where

    plan = make_plan(load(file))
    for warning in warnings(plan):
        click.echo(f"warning: {warning}", err=True)
    path = out or options.default_result(file)
    whole = _run(plan, path, replace, Where(workers, scheduler))
    course.wrote(path, whole=whole)
    with open_result(path) as result:
        _tell(result)
        unsolved = int(np.count_nonzero(result["outcome"].values == Outcome.NOT_SOLVED))
        if plots and whole:
            from rollsim.cli.plot import KINDS, draw
            from rollsim.show.query.cases import random

            searched = ("severity",) if "severity_factor" in result and random(result) else ()
            for picture in draw(result, path, (*KINDS, *searched)):
                click.echo(f"drew {printable(str(picture))}", err=True)
    if not whole:
        return EXIT_INTERRUPTED
    if unsolved:
        runs = options.counted(unsolved, "run")
        click.echo(f"{runs} not solved; the messages stand in the result", err=True)
        return EXIT_NOT_SOLVED
    return EXIT_DONE


def _run(plan: Plan, path: Path, replace: bool, where: Where) -> bool:
    from rich.progress import (
        BarColumn,
        MofNCompleteColumn,
        Progress,
        TextColumn,
        TimeRemainingColumn,
    )

    from rollsim.study.run import Listener, run_to_file

    console = options.console(error=True)
    bar = Progress(
        TextColumn("runs"),
        BarColumn(),
        MofNCompleteColumn(),
        TimeRemainingColumn(),
        console=console,
        disable=not console.is_terminal,
    )
    with bar:
        task = bar.add_task("runs", total=plan.work)
        return run_to_file(
            plan,
            path,
            replace=replace,
            where=where,
            listener=Listener(
                progress=lambda done: bar.update(task, completed=done, total=max(plan.work, done)),
                tell=lambda words: console.print(words, markup=False),
            ),
        )


def _tell(result: xr.Dataset) -> None:
    from rollsim.show.tables.margins import margins_table

    options.console().print(margins_table(result))
