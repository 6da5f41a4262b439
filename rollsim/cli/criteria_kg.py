"""`rollsim criteria FILE --greatest-kg`: what the rules allow, and beside it what storms allow."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import click

from rollsim.cli import options
from rollsim.criteria.names import LIMITING

if TYPE_CHECKING:
    from rollsim.study.plan import Plan

DETAILED = 6
"""Cases whose lines are printed."""


MOST_STEPS = 200


class Asked(NamedTuple):
    """What is looked for: rules, the displacements of the curve [t], a result of the storms."""

    rules: Sequence[str]
    displacements: Sequence[float]
    critical: Path | None


def displacements_of(given: tuple[float, float, int] | None) -> tuple[float, ...]:
    """The displacements [t] of --displacement FROM TO STEPS; none where it is left out."""
    if given is None:
        return ()
    least, most, steps = given
    if not (0.0 < least < most < float("inf") and 2 <= steps <= MOST_STEPS):
        hint = f"FROM above 0, TO above FROM, STEPS from 2 to {MOST_STEPS}: 3000 4400 8"
        raise click.UsageError(f"--displacement: no range of displacements; {hint}")
    width = (most - least) / (steps - 1)
    return (*(least + i * width for i in range(steps - 1)), most)


def show_greatest_kg(
    plan: Plan, cases: Sequence[int], asked: Asked, form: str, picture: Path | None
) -> None:
    """Print and draw the greatest KG of the cases, and over displacement where that is known."""
    from rollsim.show.tables.criteria import rows_csv
    from rollsim.show.tables.greatest_kg import greatest_kg_table
    from rollsim.study.greatest_kg import allowed, from_critical, rows

    every = list(allowed(plan, cases, asked.rules or LIMITING, asked.displacements))
    lines = [row | {"on_curve": each.on_curve} for each in every for row in rows(each)]
    storms, event = from_critical(asked.critical) if asked.critical else ([], "")
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
        curve = _curve_in_words([line for line in lines if line["on_curve"]])
        words = [f"Storms allow ({event}):", *map(_words, heard)] if heard else []
        options.console().print(greatest_kg_table(title, own, shown, [*curve, *words]))
    if picture:
        _draw(picture, title, lines, names, heard, event)


def _curve_in_words(lines: Sequence[dict[str, Any]]) -> list[str]:
    """Where the curve over displacement stands, if there is one."""
    known = sorted({float(line["displacement_t"]) for line in lines})
    if not known:
        return []
    spans = f"{len(known)} displacements from {known[0]:.6g} t to {known[-1]:.6g} t"
    return [f"Curve over {spans}: in the picture, with --json and --csv."]


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
