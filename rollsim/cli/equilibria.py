"""`rollsim equilibria FILE`: every heel at which the ship rests, over one key."""

from __future__ import annotations

import json
from pathlib import Path

import click

from rollsim.cli import mapping, options
from rollsim.errors import EXIT_DONE, printable


@click.command("equilibria")
@mapping.map_options("equilibria")
def command(
    file: Path, out: Path | None, replace: bool, workers: int | None, as_json: bool, plots: bool
) -> int:
    """Follow every heel at which the ship of FILE rests over the key of its table [equilibria],
    through folds and crossings, stable or not."""
    from rollsim.show.figures.equilibria import equilibria_figure
    from rollsim.show.style import save
    from rollsim.show.tables.equilibria import equilibria_json, equilibria_table
    from rollsim.store.maps import open_map
    from rollsim.study.equilibria import equilibria_of, equilibria_to_file
    from rollsim.study.workers import Where

    plan = mapping.loaded_plan(file)
    equilibria_of(plan)
    path = out or mapping.default_map(file, "equilibria")
    whole = mapping.with_progress(
        lambda listener: equilibria_to_file(
            plan, path, replace=replace, where=Where(workers), listener=listener
        ),
        len(plan.cases),
        "cases",
    )
    code = mapping.ended(whole, path)
    if code != EXIT_DONE:
        return code
    with open_map(path, "equilibria") as ds:
        if as_json:
            click.echo(json.dumps(equilibria_json(ds), indent=2, ensure_ascii=False))
        else:
            options.console().print(equilibria_table(ds))
        if plots:
            picture = path.with_suffix(".png")
            save(equilibria_figure(ds), picture)
            click.echo(f"drew {printable(str(picture))}", err=True)
    return code
