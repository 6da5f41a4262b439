"""`rollsim criteria FILE`: the published static criteria on every loading condition."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from rollsim.cli import options
from rollsim.criteria.names import LIMITING, NAMES

if TYPE_CHECKING:
    from rollsim.study.criteria import Judged
    from rollsim.study.plan import Plan


@click.command("criteria")
@options.scenario_file
@click.option(
    "--rule", "rules", multiple=True, type=click.Choice(NAMES),
    help="A rule, given as often as there are; all where left out.",
)  # fmt: skip
@click.option("--case", "chosen", multiple=True, type=int, help="A case by its number.")
@click.option("--json", "as_json", is_flag=True, help="As JSON.")
@click.option("--csv", "as_csv", is_flag=True, help="As CSV, one line a requirement.")
@click.option("--greatest-kg", is_flag=True, help="The greatest KG that each rule allows;"
              f" {' and '.join(LIMITING)} where no --rule is given.")  # fmt: skip
@click.option(
    "--critical", type=click.Path(path_type=Path), metavar="RESULT",
    help="A result of rollsim critical over KG, drawn beside the greatest KG.",
)  # fmt: skip
@click.option(
    "--displacement", "displacements", nargs=3, type=(float, float, int),
    metavar="FROM TO STEPS",
    help="With --greatest-kg: the displacements in tonnes of the curve of a hull or of"
    " cross-curves; else the range of the curves, or that of the hull's conditions.",
)  # fmt: skip
@options.out("The picture; results/<name of FILE>-criteria.png (-greatest-kg.png) if left out.")
@click.option("--plots/--no-plots", default=True, help="Draw the picture.")
def command(file: Path, as_json: bool, as_csv: bool, plots: bool, **given: Any) -> None:
    """Judge the loading conditions of FILE by published static criteria, at rest, at t = 0.

    A criterion that fails is a result, not an error.
    """
    from rollsim.cli.criteria_kg import Asked, displacements_of, show_greatest_kg
    from rollsim.scenario.load import load
    from rollsim.study.criteria import judged
    from rollsim.study.plan import make_plan

    if as_json and as_csv:
        raise click.UsageError("--json and --csv at once: take one of them")
    form = "json" if as_json else "csv" if as_csv else "table"
    along = displacements_of(given["displacements"])
    drawn = plots and (given["out"] is not None or form == "table")
    plan = make_plan(load(file))
    cases = _chosen(plan, given["chosen"], form)
    critical, result = given["critical"], options.default_result(file)
    if given["greatest_kg"] or critical or along:
        path = given["out"] or options.beside(result, "greatest-kg")
        asked = Asked(given["rules"], along, critical)
        show_greatest_kg(plan, cases, asked, form, path if drawn else None)
        return
    each = list(judged(plan, given["rules"] or NAMES, cases))
    _print(plan, each, form)
    if drawn:
        _draw(plan, each, given["out"] or options.beside(result, "criteria"))


def _chosen(plan: Plan, chosen: tuple[int, ...], form: str) -> list[int]:
    """The cases that are wanted; of all of them a table has those that differ at rest.

    InputError for one that is not there.
    """
    from rollsim.errors import Fault, InputError
    from rollsim.study.criteria import distinct

    count = len(plan.cases)
    for case in chosen:
        if not 0 <= case < count:
            known = f"the study has cases 0 to {count - 1}" if count > 1 else "the study has case 0"
            raise InputError(plan.study.file, [Fault("--case", f"no such case: {case}", known)])
    if chosen:
        return sorted(set(chosen))
    return distinct(plan) if form == "table" else list(range(count))


def _print(plan: Plan, each: list[Judged], form: str) -> None:
    from rollsim.criteria.registry import RULES
    from rollsim.show.tables.criteria import criteria_table, rows_csv
    from rollsim.study.criteria import rows

    lines = [row for one in each for row in rows(one)]
    if form == "json":
        click.echo(json.dumps(lines, indent=2, ensure_ascii=False))
    elif form == "csv":
        click.echo(rows_csv(lines), nl=False)
    else:
        title = plan.study.base.title or Path(plan.study.file).stem
        texts = {name: rule.text for name, rule in RULES.items()}
        names = {one.case: one.name for one in each}
        loll = any(one.ship.gm <= 0.0 for one in each)
        options.console().print(criteria_table(title, lines, names, texts, loll=loll))


def _draw(plan: Plan, each: list[Judged], path: Path) -> None:
    from rollsim.errors import printable
    from rollsim.show.figures.criteria import Drawn, criteria_figure
    from rollsim.show.style import save

    title = plan.study.base.title or Path(plan.study.file).stem
    drawn = [Drawn(one.name, one.ship, one.by_rule) for one in each]
    loll = any(one.ship.gm <= 0.0 for one in each)
    save(criteria_figure(title, drawn, loll=loll), path)
    click.echo(f"drew {printable(str(path))}", err=True)
