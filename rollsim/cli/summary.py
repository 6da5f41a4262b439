"""`rollsim summary RESULT`: the margins table of a result, for people or for programs."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from rollsim.cli import maps, options

if TYPE_CHECKING:
    from rollsim.measures.outcome import Event


@click.command("summary")
@options.result_file
@click.option("--json", "as_json", is_flag=True, help="As JSON.")
@click.option("--csv", "as_csv", is_flag=True, help="As CSV, one line a case.")
@options.event
@click.option("--all", "all_rows", is_flag=True, help="Every case, however many.")
@click.option(
    "--extremes", is_flag=True,
    help="Also the law of the greatest roll in a run, with return levels; not with --csv.",
)  # fmt: skip
def command(
    result: Path,
    as_json: bool,
    as_csv: bool,
    event: Event | None,
    all_rows: bool,
    extremes: bool,
) -> None:
    """Print the margins of RESULT: outcomes, probabilities with limits, conditions compared.

    Of the file of a search or a map: the table that the command printed.
    """
    from rollsim.show.tables import margins, programs
    from rollsim.store.reading import open_result

    if as_json and as_csv:
        raise click.UsageError("--json and --csv at once: take one of them")
    if extremes and as_csv:
        raise click.UsageError("--extremes and --csv at once: take --json, a law is no line")
    if search := maps.command_of(result):
        given = {"--csv": as_csv, "--of": event, "--all": all_rows, "--extremes": extremes}
        maps.refuse(search, given)
        maps.tell(result, search, as_json=as_json)
        return
    with open_result(result) as ds:
        if as_json:
            whole = programs.summary_json(ds, event, with_extremes=extremes)
            click.echo(json.dumps(whole, indent=2, ensure_ascii=False))
        elif as_csv:
            click.echo(programs.summary_csv(ds), nl=False)
        else:
            table = margins.margins_table(
                ds, event=event, all_rows=all_rows, with_extremes=extremes
            )
            options.console().print(table)
