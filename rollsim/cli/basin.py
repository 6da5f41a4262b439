"""`rollsim basin FILE`: what becomes of the ship from every start of a grid."""

from __future__ import annotations

from pathlib import Path

import click

from rollsim.cli import mapping, maps, options
from rollsim.errors import EXIT_DONE, EXIT_NOT_SOLVED
from rollsim.names import Outcome


@click.command("basin")
@mapping.map_options("basin")
def command(
    file: Path, out: Path | None, replace: bool, workers: int | None, as_json: bool, plots: bool
) -> int:
    """Map what becomes of the ship of FILE over start roll and roll rate, by its table [basin]."""
    from rollsim.store.maps import open_map
    from rollsim.study.basin import basin_of, basin_to_file, pieces_of
    from rollsim.study.workers import Where

    plan = mapping.loaded_plan(file)
    pieces = len(plan.cases) * pieces_of(basin_of(plan))
    path = out or mapping.default_map(file, "basin")
    whole = mapping.with_progress(
        lambda listener: basin_to_file(
            plan, path, replace=replace, where=Where(workers), listener=listener
        ),
        pieces,
        "pieces",
    )
    code = mapping.ended(whole, path)
    if code != EXIT_DONE:
        return code
    maps.show(path, "basin", as_json=as_json, plots=plots)
    with open_map(path, "basin") as ds:
        unsolved = int((ds["outcome"].values == Outcome.NOT_SOLVED).sum())
    if unsolved:
        click.echo(f"{options.counted(unsolved, 'start')} not solved", err=True)
        return EXIT_NOT_SOLVED
    return code
