"""`rollsim response FILE`: the steady responses of the ship to a regular sea."""

from __future__ import annotations

import json
from pathlib import Path

import click

from rollsim.cli import mapping, options
from rollsim.errors import EXIT_DONE, printable


@click.command("response")
@mapping.map_options("response")
def command(
    file: Path, out: Path | None, replace: bool, workers: int | None, as_json: bool, plots: bool
) -> int:
    """Follow the steady responses of the ship of FILE to its regular sea, by its table [response]:
    stable or not, through folds and flips."""
    from rollsim.show.figures.response import response_figure
    from rollsim.show.style import save
    from rollsim.show.tables.response import response_json, response_table
    from rollsim.store.maps import open_map
    from rollsim.study.response import response_of, response_to_file
    from rollsim.study.workers import Where

    plan = mapping.loaded_plan(file)
    response_of(plan)
    path = out or mapping.default_map(file, "response")
    whole = mapping.with_progress(
        lambda listener: response_to_file(
            plan, path, replace=replace, where=Where(workers), listener=listener
        ),
        len(plan.cases),
        "cases",
    )
    code = mapping.ended(whole, path)
    if code != EXIT_DONE:
        return code
    with open_map(path, "response") as ds:
        if as_json:
            click.echo(json.dumps(response_json(ds), indent=2, ensure_ascii=False))
        else:
            options.console().print(response_table(ds))
        if plots:
            picture = path.with_suffix(".png")
            save(response_figure(ds), picture)
            click.echo(f"drew {printable(str(picture))}", err=True)
    return code
