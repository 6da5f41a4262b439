"""`rollsim loading FILE`: the loading sheet of every case, as a table and a picture."""

from __future__ import annotations

import json
from pathlib import Path

import click

from rollsim.cli import options


@click.command("loading")
@options.scenario_file
@click.option("--json", "as_json", is_flag=True, help="As JSON, a record a case.")
@click.option("--csv", "as_csv", is_flag=True, help="As CSV, a line an item.")
@options.out("The picture; results/<name of FILE>-loading.png where left out.")
@click.option("--plots/--no-plots", default=True, help="Draw the picture.")
def command(file: Path, as_json: bool, as_csv: bool, out: Path | None, plots: bool) -> None:
    """Print and draw the loading sheets of FILE: items, moments, free surfaces, GM, draughts."""
    from rollsim.errors import printable
    from rollsim.scenario.load import load
    from rollsim.show.figures.loading import loading_figure
    from rollsim.show.style import save
    from rollsim.show.tables.loading import sheets_csv, sheets_table
    from rollsim.study.loading import as_records, sheets

    if as_json and as_csv:
        raise click.UsageError("--json and --csv at once: take one of them")
    study = load(file)
    for line in study.warnings:
        click.echo(f"warning: {printable(line)}", err=True)
    records = as_records(sheets(study))
    title = study.base.title or file.stem
    if as_json:
        click.echo(json.dumps(records, indent=2, ensure_ascii=False))
    elif as_csv:
        click.echo(sheets_csv(records), nl=False)
    else:
        options.console().print(sheets_table(records, title))
    if (plots and not (as_json or as_csv)) or out is not None:
        path = out or options.beside(options.default_result(file), "loading")
        save(loading_figure(records, title), path)
        click.echo(f"drew {printable(str(path))}", err=True)
