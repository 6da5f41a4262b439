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
def command(file: Path, out: Path | None) -> None:
    """Print and draw the statics of FILE: GM, loll, vanishing angle, GZ, the moving metacentre."""
    from rollsim.errors import printable
    from rollsim.scenario.load import load
    from rollsim.show.figures.stability import stability_figure
    from rollsim.show.query.cases import case_label, has_loll
    from rollsim.show.style import save
    from rollsim.show.tables.margins import static_table
    from rollsim.study.plan import make_plan
    from rollsim.study.stability import equilibrium_lines, static_dataset, static_rows

    plan = make_plan(load(file))
    path = out or options.beside(options.default_result(file), "stability")
    ds = static_dataset(plan)
    shown = range(min(len(plan.cases), MOST_COLUMNS))
    labels = [case_label(ds, i, range(len(plan.cases))) for i in shown]
    cases = plan.cases[: len(labels)]
    save(stability_figure(ds, list(shown)), path)
    click.echo(printable(str(ds.attrs["title"])))
    click.echo("Equilibria under mean wind:")
    for line in equilibrium_lines(cases, labels):
        click.echo(f"  {printable(line)}")
    click.echo()
    table = static_table(static_rows(cases), labels, loll=has_loll(ds, shown))
    options.console().print(table)
    if len(plan.cases) > len(labels):
        click.echo(f"and {len(plan.cases) - len(labels)} more cases")
    click.echo(f"drew {printable(str(path))}", err=True)
