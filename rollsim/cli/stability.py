"""`rollsim stability FILE`: what holds the ship at rest, as a table and a picture."""

from __future__ import annotations

from pathlib import Path

import click

from rollsim.cli import options

MOST_COLUMNS = 12
"""Cases in the printed table; a sweep of more is better read in its result."""


@click.command("stability")
@options.scenario_file
@options.out("The picture; results/<name of FILE>-stability.png where left out.")
@click.option("--json", "as_json", is_flag=True, help="As JSON, every case; draws with --out.")
@click.option("--csv", "as_csv", is_flag=True, help="As CSV, one line a case; draws with --out.")
def command(file: Path, out: Path | None, as_json: bool, as_csv: bool) -> None:
    """Print and draw the statics of FILE: GM, loll, vanishing angle, GZ, the moving metacentre."""
    from rollsim.errors import printable
    from rollsim.scenario.load import load
    from rollsim.show.figures.stability import stability_figure
    from rollsim.show.query.cases import case_label, has_loll
    from rollsim.show.style import save
    from rollsim.show.tables import at_rest, programs
    from rollsim.show.tables.margins import static_table
    from rollsim.study.plan import make_plan
    from rollsim.study.stability import resting_places, static_dataset

    if as_json and as_csv:
        raise click.UsageError("--json and --csv at once: take one of them")
    plan = make_plan(load(file))
    ds = static_dataset(plan)
    count = len(plan.cases)
    shown = range(min(count, MOST_COLUMNS))
    path = out or options.beside(options.default_result(file), "stability")
    if out or not (as_json or as_csv):
        save(stability_figure(ds, list(shown)), path)
        click.echo(f"drew {printable(str(path))}", err=True)
    places = [resting_places(case) for case in plan.cases]
    if as_json:
        click.echo(programs.static_json(ds, places))
    elif as_csv:
        click.echo(programs.static_csv(ds), nl=False)
    else:
        labels = [case_label(ds, i, range(count)) for i in shown]
        click.echo(printable(str(ds.attrs["title"])))
        click.echo("Equilibria under mean wind:")
        for label, rests in zip(labels, places, strict=False):
            words = ", ".join(f"{heel:+.2f}° {kind}" for heel, kind in rests)
            click.echo(f"  {printable(label)}: {words or 'none'}")
        click.echo()
        rows = [at_rest.rest_row(ds, case) for case in shown]
        table = static_table(at_rest.columns(rows), labels, loll=has_loll(ds, shown))
        options.console().print(table)
        if count > len(labels):
            click.echo(f"and {count - len(labels)} more cases: --csv writes all")
