"""`rollsim critical FILE`: the value of one key at which an event has a set probability."""

from __future__ import annotations

from pathlib import Path

import click
import numpy as np

from rollsim.cli import mapping, maps, options
from rollsim.errors import EXIT_DONE, EXIT_NOT_SOLVED


@click.command("critical")
@mapping.map_options("critical")
def command(
    file: Path, out: Path | None, replace: bool, workers: int | None, as_json: bool, plots: bool
) -> int:
    """Search for the value that [critical] in FILE wants, in every case; draw the limiting curve.

    The value of one key at which an event has a set probability in one run or, where nothing is
    random, at which it first happens, with 95 % limits; all values are tried in the same storms.
    """
    from rollsim.store.maps import open_map
    from rollsim.study.critical.study import critical_to_file
    from rollsim.study.workers import Where

    plan = mapping.loaded_plan(file)
    path = out or mapping.default_map(file, "critical")
    whole = mapping.with_progress(
        lambda listener: critical_to_file(
            plan, path, replace=replace, where=Where(workers), listener=listener
        ),
        None,
        "runs",
    )
    code = mapping.ended(whole, path)
    if code != EXIT_DONE:
        return code
    maps.show(path, "critical", as_json=as_json, plots=plots)
    with open_map(path, "critical") as ds:
        unsolved = int(np.sum(ds["trial_runs"].values - ds["trial_solved"].values))
    if unsolved:
        runs = options.counted(unsolved, "run")
        click.echo(f"{runs} not solved: they count as no outcome", err=True)
        return EXIT_NOT_SOLVED
    return code
