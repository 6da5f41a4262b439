"""`rollsim equilibria FILE`: every heel at which the ship rests, over one key."""

from __future__ import annotations

from pathlib import Path

import click

from rollsim.cli import mapping, maps
from rollsim.errors import EXIT_DONE


@click.command("equilibria")
@mapping.map_options("equilibria")
def command(
    file: Path, out: Path | None, replace: bool, workers: int | None, as_json: bool, plots: bool
) -> int:
    """Follow every heel at which the ship of FILE rests over the key of its table [equilibria],
    through folds and crossings, stable or not."""
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
    if code == EXIT_DONE:
        maps.show(path, "equilibria", as_json=as_json, plots=plots)
    return code
