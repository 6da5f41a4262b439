"""`rollsim critical FILE`: the value of one key at which an event has a set probability."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click
import numpy as np

from rollsim.cli import mapping, options
from rollsim.errors import EXIT_DONE, EXIT_NOT_SOLVED, printable

if TYPE_CHECKING:
    import xarray as xr


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
    with open_map(path, "critical") as ds:
        _tell(ds, as_json=as_json)
        if plots:
            _draw(ds, path.with_suffix(".png"))
        unsolved = int(np.sum(ds["trial_runs"].values - ds["trial_solved"].values))
    if unsolved:
        runs = options.counted(unsolved, "run")
        click.echo(f"{runs} not solved: they count as no outcome", err=True)
        return EXIT_NOT_SOLVED
    return code


def _tell(ds: xr.Dataset, *, as_json: bool) -> None:
    from rollsim.show.tables.critical import critical_json, critical_table

    if as_json:
        click.echo(json.dumps(critical_json(ds), indent=2, ensure_ascii=False))
    else:
        options.console().print(critical_table(ds))


def _draw(ds: xr.Dataset, picture: Path) -> None:
    from rollsim.show.figures.critical import critical_figure
    from rollsim.show.style import save

    save(critical_figure(ds), picture)
    click.echo(f"drew {printable(str(picture))}", err=True)
