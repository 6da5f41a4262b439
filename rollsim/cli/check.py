"""`rollsim check FILE`: what is wrong with a scenario, or what will run and how long it takes."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

import click

from rollsim.cli import options

MUCH = 1e8
"""Stored points of histories from which their size is worth a word."""

MOST_CASES = 20_000
"""Cases up to which all are looked at: beyond, a look at so many says as much and comes soon."""

MANY = 24
"""Values of an axis from which only some are listed."""

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from rollsim.study.plan import Plan


@click.command("check")
@options.scenario_file
@click.option("--accuracy", is_flag=True, help="Run a few runs with half the step, and compare.")
def command(file: Path, accuracy: bool) -> None:
    """Read and validate FILE; say what it will run, and what looks doubtful.

    Runs nothing, but for --accuracy.
    """
    from rollsim.errors import printable
    from rollsim.scenario.load import load
    from rollsim.study.plan import make_plan
    from rollsim.study.warnings import (
        openings_of_hull,
        randomness,
        sea_cut,
        warnings,
        waves_from_hull,
    )

    plan = make_plan(load(file, MOST_CASES))
    _refuse_past_memory(plan)
    click.echo(printable(plan.study.base.title or file.stem))
    about = (randomness(plan), sea_cut(plan), openings_of_hull(plan), waves_from_hull(plan))
    for line in (*_cases(plan), *_costs(plan), *_maps(plan), *about):
        if line:
            click.echo(f"  {printable(line)}")
    if accuracy:
        _tell_accuracy(plan)
    for warning in warnings(plan):
        click.echo(f"warning: {warning}", err=True)


def _cases(plan: Plan) -> Iterator[str]:
    """What will run: cases, conditions and axes."""
    from rollsim.names import with_unit
    from rollsim.show.query.cases import whole_words

    cases = options.counted(plan.study.count, "case")
    realisations = options.counted(plan.realisations, "realisation")
    yield f"{cases} x {realisations} = {options.counted(plan.runs, 'run')}"
    if plan.until:
        yield (
            f"then more, up to {plan.most} of each case, until its probability of "
            f"{plan.event} is known within {100.0 * plan.until.relative_error:g} %"
        )
    if plan.search:
        on, of, first, last = plan.search
        yield (
            f"severity factors on the {on} from {first:g} to {last:g}: up to {plan.trials} more "
            f"for each run, ended at a {of}"
        )
    if len(plan.cases) < plan.study.count:
        yield (
            f"looked at {len(plan.cases)} of these cases, evenly spread; rollsim run looks at all "
            "before it starts"
        )
    names = list(dict.fromkeys(case.condition for case in plan.cases))
    if names != ["base"]:
        yield f"conditions: {_listed(names)}"
    for axis in plan.study.axes:
        words = whole_words(axis.name, offset=axis.offset, item=axis.item)
        yield f"{with_unit(words, axis.units)}: {_listed(axis.values)}"
    search = plan.study.base.critical
    if search is not None:
        yield (
            f"rollsim critical searches {search.key} from {search.from_:g} to {search.to:g}, "
            f"with at most {search.most} runs of each case"
        )


def _costs(plan: Plan) -> Iterator[str]:
    """How long it takes, and how much room."""
    run, cores = plan.study.base.run, os.cpu_count() or 1
    yield f"{run.duration_s:g} s each by {run.method}, {plan.hours:.3g} simulated hours"
    more = f", {_span(plan.wall(plan.most_seconds, cores))} at most" if plan.until else ""
    yield f"about {_span(plan.wall(plan.seconds, cores))} on this machine{more}"
    fewer = "; [output] histories keeps fewer" if _points(plan) > MUCH else ""
    yield f"up to {_size(plan.bytes)} of results{fewer}"


def _refuse_past_memory(plan: Plan) -> None:
    """InputError for a grid of starts that `rollsim basin` would refuse."""
    if plan.study.base.basin is not None:
        from rollsim.study.basin import basin_of

        basin_of(plan)


def _maps(plan: Plan) -> Iterator[str]:
    """What the commands of the tables of maps would make."""
    base, cases = plan.study.base, options.counted(plan.study.count, "case")
    if base.basin is not None:
        from rollsim.study.basin import EACH
        from rollsim.study.cost import seconds_of_starts

        starts = base.basin.roll_deg.steps * base.basin.roll_rate_deg_per_s.steps
        seconds = seconds_of_starts(plan.cases, starts, plan.typical_step) * plan.cases_for_one
        span = _span(plan.wall(seconds, os.cpu_count() or 1))
        count = starts * plan.study.count
        runs, size = options.counted(count, "run"), _size(count * EACH)
        yield (
            f"rollsim basin makes {cases} x {starts} starts = {runs}, about {span}, "
            f"up to {size} of results"
        )
    for name, table in (("equilibria", base.equilibria), ("response", base.response)):
        if table is not None:
            over = f"{table.key} from {table.from_:g} to {table.to:g}"
            yield f"rollsim {name} follows {cases} over {over}"


def _tell_accuracy(plan: Plan) -> None:
    """How far each case is from finer runs, a line a case."""
    from rollsim.engines.block.step import step_of
    from rollsim.study.accuracy import compare

    click.echo("Greatest difference of the roll from runs at an eighth of accuracy_deg:")
    for case in plan.cases:
        result = compare(case) if case.index not in plan.skipped else None
        if result is None:
            skipped = case.index in plan.skipped
            words = "not run" if skipped else "a scipy method, exact to its tolerances"
            click.echo(f"  case {case.index}: {words}")
            continue
        words = f"step {step_of(case):.3g} s, {result.roll:.2g}°, ends within {result.end:.2g} s"
        if result.outcomes:
            words += f", {result.outcomes} of {result.runs} runs end otherwise"
        if result.growing:
            words += (
                f" ({result.growing} of {result.runs} runs magnify a start disturbed by 1e-6 rad "
                "more than tenfold)"
            )
        click.echo(f"  case {case.index}: {words}")
    click.echo(f"  requested: {plan.study.base.run.accuracy_deg:g}°")


def _points(plan: Plan) -> float:
    """Stored points of histories at most."""
    return float(plan.most) * plan.study.count * plan.outputs


def _listed(values: Sequence[float | str]) -> str:
    """The values of an axis; of very many the first and the last."""
    texts = [value if isinstance(value, str) else f"{value:g}" for value in values]
    if len(texts) > MANY:
        texts[MANY // 2 : -2] = [f".. {len(texts)} values .."]
    return ", ".join(texts)


def _size(size: float) -> str:
    for unit, factor in (("TB", 1e12), ("GB", 1e9), ("MB", 1e6)):
        if size >= factor:
            return f"{size / factor:.2g} {unit}"
    return "1 MB"


def _span(seconds: float) -> str:
    if seconds < 90.0:
        return f"{max(1, round(seconds))} s"
    return f"{seconds / 60.0:.0f} min" if seconds < 5400.0 else f"{seconds / 3600.0:.1f} h"
