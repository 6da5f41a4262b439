"""What the commands of searches and maps share: their options, their progress, how they end."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from rollsim.cli import options
from rollsim.cli.stopped import course
from rollsim.errors import EXIT_DONE, EXIT_INTERRUPTED

if TYPE_CHECKING:
    from rollsim.study.plan import Plan
    from rollsim.study.run import Listener

F = TypeVar("F", bound=Callable[..., Any])


def map_options(command: str) -> Callable[[F], F]:
    """FILE, --out, --replace, --workers, --json and --plots of a search or map."""
    decorators = (
        options.scenario_file,
        options.out(f"The file of results; results/<name of FILE>-{command}.nc where left out."),
        click.option("--replace", is_flag=True, help="Replace what another scenario has given."),
        click.option(
            "--workers", type=click.IntRange(min=1), help="Threads; every core where left out."
        ),
        click.option("--json", "as_json", is_flag=True, help="Print the table as JSON."),
        click.option("--plots/--no-plots", default=True, help="Draw the picture beside it."),
    )

    def decorated(function: F) -> F:
        for decorator in reversed(decorators):
            function = decorator(function)
        return function

    return decorated


def default_map(file: Path, command: str) -> Path:
    """Where a search or map of a scenario goes: `results/<stem>-<command>.nc`."""
    return Path("results") / f"{file.stem}-{command}.nc"


def loaded_plan(file: Path) -> Plan:
    """The plan of a scenario file, its warnings told."""
    from rollsim.scenario.load import load
    from rollsim.study.plan import make_plan
    from rollsim.study.warnings import warnings

    plan = make_plan(load(file))
    for warning in warnings(plan):
        click.echo(f"warning: {warning}", err=True)
    return plan


def with_progress(work: Callable[[Listener], bool], total: int | None, noun: str) -> bool:
    """Do `work` under a bar that counts to `total`, where known; whether it went to its end."""
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

    from rollsim.study.run import Listener

    console = options.console(error=True)
    bar = Progress(
        TextColumn(noun),
        BarColumn(),
        MofNCompleteColumn(),
        console=console,
        disable=not console.is_terminal,
    )
    with bar:
        task = bar.add_task(noun, total=total)
        return work(
            Listener(
                progress=lambda done: bar.update(task, completed=done),
                tell=lambda words: console.print(words, markup=False),
            )
        )


def ended(whole: bool, path: Path) -> int:
    """Say what was written; the exit code."""
    if not whole:
        return EXIT_INTERRUPTED
    course.wrote(path)
    return EXIT_DONE
