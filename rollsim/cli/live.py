"""`rollsim live FILE`: a page with the ship of a scenario that answers while it is touched."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from rollsim.cli import options

if TYPE_CHECKING:
    from rollsim.scenario.load import Study

MOST_CASES = 24
"""Cases that a page takes; of a sweep of more the first ones."""
SEEDS = (1, 2, 3)
"""Seeds of the wave trains to choose from."""


@click.command("live")
@options.scenario_file
@options.out("The page; results/<name of FILE>-live.html where left out.")
@click.option(
    "--realisation", default=0, type=click.IntRange(min=0),
    help="The storm of irregular weather, counted from 0.",
)  # fmt: skip
def command(file: Path, out: Path | None, realisation: int) -> None:
    """Make a page of FILE's ship that computes as it is used: one HTML file that loads nothing."""
    from rollsim.errors import Fault, InputError, printable
    from rollsim.scenario.load import load
    from rollsim.show.live.write import write_live

    path = out or options.beside(options.default_result(file), "live", "html")
    if path.suffix.lower() not in (".html", ".htm"):
        raise InputError(str(path), [Fault("", "is no page: its name must end in .html")])
    study = load(file)
    write_live(path, page_data(study, file.name, realisation))
    if len(study.cases) > MOST_CASES:
        click.echo(f"the page holds the first {MOST_CASES} of {len(study.cases)} cases", err=True)
    click.echo(printable(str(path)))


def page_data(study: Study, name: str, realisation: int = 0) -> dict[str, Any]:
    """All that the page of a study holds."""
    from rollsim.show.live.data import Entry, HullShape, Sampling, live_data
    from rollsim.study import live
    from rollsim.study.live_hulls import others
    from rollsim.study.plan import make_plan

    plan = make_plan(study)
    cases = live.live_cases(plan, realisation)[:MOST_CASES]
    entries = []
    for case in cases:
        own = HullShape(
            kind="own",
            table=case.file["ship"]["levers"],
            levers=case.levers,
            kb=case.kb,
            form=case.form,
            section=case.section,
            flooding=case.flooding,
            waves=case.waves,
            filling=case.filling,
        )
        shapes = others(plan.study.cases[case.index].scenario.ship)
        entries.append(
            Entry(
                label=case.label,
                file=case.file,
                hulls=[own, *(HullShape(h.kind, h.table, h.levers, h.kb) for h in shapes)],
                channels=case.channels,
                windage_assumed=case.windage_assumed,
                tanks=case.tanks,
                stowed=case.stowed,
                papers=case.papers,
            )
        )
    return live_data(
        study.base.title or name,
        entries,
        _steps(study, name, [case.condition for case in cases]),
        live.wave_trains(plan.cases[cases[0].index], SEEDS),
        Sampling(live.SAMPLE_STEP, live.SPARE),
        live.notes(cases),
    )


def _steps(study: Study, name: str, conditions: list[str]) -> list[dict[str, Any]]:
    """The steps of the exercise, conditions as numbers of cases; -1 where none is named."""
    from rollsim.errors import Fault, InputError

    steps = study.base.lesson.steps if study.base.lesson else ()
    made, faults = [], []
    for index, step in enumerate(steps):
        plain = step.model_dump(mode="json", exclude_none=True)
        for key in ("condition", "beside"):
            named = plain[key]
            if named and named not in conditions:
                held = ", ".join(f'"{each}"' for each in dict.fromkeys(conditions))
                problem = f'must name a condition that the page holds, got "{named}"'
                faults.append(Fault(f"lesson.steps.{index}.{key}", problem, f"there are {held}"))
            plain[key] = conditions.index(named) if named in conditions else -1
        made.append(plain)
    if faults:
        raise InputError(name, faults)
    return made
