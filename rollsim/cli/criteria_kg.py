"""`rollsim criteria FILE --greatest-kg`: what the rules allow, and beside it what storms allow."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from rollsim.cli import options
from rollsim.criteria.names import LIMITING

if TYPE_CHECKING:
    from rollsim.study.plan import Plan

DETAILED = 6
"""Cases whose lines are printed."""


def show_greatest_kg(
    plan: Plan,
    cases: Sequence[int],
    rules: Sequence[str],
    form: str,
    picture: Path | None,
    critical: Path | None,
) -> None:
    """Print and draw the greatest KG of the cases; with the storms' where `critical` is given."""
    from rollsim.show.tables.criteria import rows_csv
    from rollsim.show.tables.greatest_kg import greatest_kg_table
    from rollsim.study.greatest_kg import allowed, from_critical, rows

    every = list(allowed(plan, cases, rules or LIMITING))
    lines = [row | {"on_curve": each.on_curve} for each in every for row in rows(each)]
    storms, asked = from_critical(critical) if critical else ([], "")
    heard = [asdict(each) for each in storms]
    title = plan.study.base.title or Path(plan.study.file).stem
    names: dict[int, str] = {}
    for each in every:
        names.setdefault(each.case, each.name)
    if form == "json":
        click.echo(json.dumps(lines, indent=2, ensure_ascii=False))
    elif form == "csv":
        click.echo(rows_csv(lines), nl=False)
    else:
        shown = dict(list(names.items())[:DETAILED])
        own = [line for line in lines if not line["on_curve"]]
        words = [f"Storms allow ({asked}):", *map(_words, heard)] if heard else []
        options.console().print(greatest_kg_table(title, own, shown, words))
    if picture:
        _draw(picture, title, lines, names, heard, asked)


def _words(storm: dict[str, Any]) -> str:
    """The storms' answer for one case."""
    from rollsim.show.tables.cells import number

    value, lower, upper = (number(storm[name], 3) for name in ("kg", "lower", "upper"))
    where = ", ".join(part for part in (storm["condition"], storm["place"]) if part)
    return f"  {where}, {storm['displacement']:g} t: KG {value} m [{lower}, {upper}]"


def _draw(
    picture: Path,
    title: str,
    lines: list[dict[str, Any]],
    names: dict[int, str],
    heard: list[dict[str, Any]],
    asked: str,
) -> None:
    from rollsim.errors import printable
    from rollsim.show.figures.greatest_kg import greatest_kg_figure
    from rollsim.show.style import save

    if not lines:
        return
    shown = dict(list(names.items())[:DETAILED])
    save(greatest_kg_figure(title, lines, shown, heard, asked), picture)
    click.echo(f"drew {printable(str(picture))}", err=True)
