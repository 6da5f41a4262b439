"""`rollsim response FILE`: the steady responses of the ship to a regular sea."""

from __future__ import annotations

from pathlib import Path

import click

from rollsim.cli import mapping, maps
from rollsim.errors import EXIT_DONE


@click.command("response")
@mapping.map_options("response")
def command(
    file: Path, out: Path | None, replace: bool, workers: int | None, as_json: bool, plots: bool
) -> int:
    """Follow the steady responses of the ship of FILE to its regular sea, by its table [response]:
    stable or not, through folds and flips."""
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
    if code == EXIT_DONE:
        maps.show(path, "response", as_json=as_json, plots=plots)
    return code
