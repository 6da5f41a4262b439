"""`rollsim heel-cause FILE`: whether a heel that is seen comes of a list, a loll or both."""

from __future__ import annotations

import json
from pathlib import Path

import click

from rollsim.cli import mapping, options
from rollsim.errors import printable


@click.command("heel-cause")
@options.scenario_file
@options.out("The picture; results/<name of FILE>-heel-cause.png where left out.")
@click.option("--json", "as_json", is_flag=True, help="Print the table as JSON.")
@click.option("--plots/--no-plots", default=True, help="Draw the picture.")
def command(file: Path, out: Path | None, as_json: bool, plots: bool) -> None:
    """Say how likely list, loll or both are for the ship of FILE, from its table [observed]:
    probabilities, never an order to act."""
    from rollsim.show.figures.heel_cause import heel_cause_figure
    from rollsim.show.style import save
    from rollsim.show.tables.heel_cause import heel_cause_table
    from rollsim.store.disk import prepare_folder
    from rollsim.study.heel_cause import causes, lies_upright, rows

    plan = mapping.loaded_plan(file)
    made = causes(plan)
    found = rows(plan, made)
    title = plan.study.base.title or file.stem
    if as_json:
        click.echo(json.dumps(found, indent=2, ensure_ascii=False))
    else:
        options.console().print(heel_cause_table(title, found, upright=lies_upright(plan)))
    if plots:
        picture = out or Path("results") / f"{file.stem}-heel-cause.png"
        prepare_folder(picture)
        save(heel_cause_figure(title, found, [cause.states for cause in made]), picture)
        click.echo(f"drew {printable(str(picture))}", err=True)
