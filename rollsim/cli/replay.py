"""`rollsim replay RESULT`: make one run of a result again, with its histories."""

from __future__ import annotations

from pathlib import Path

import click

from rollsim.cli import options
from rollsim.cli.stopped import course


@click.command("replay")
@options.result_file
@click.option(
    "--case", "wanted",
    help="A case by number or as condition=light,kg=5.3; the first where left out.",
)  # fmt: skip
@click.option(
    "--realisation", type=click.IntRange(min=0),
    help="The realisation; the first where left out.",
)  # fmt: skip
@options.out("The file of the run; <RESULT>-<case>-<realisation>.nc beside it where left out.")
def command(result: Path, wanted: str | None, realisation: int | None, out: Path | None) -> None:
    """Run one run of RESULT again, bit for bit, into a file that plot and animate take."""
    from rollsim.cli.selection import choose_case, choose_realisation
    from rollsim.errors import Fault, InputError, printable
    from rollsim.show.query.cases import case_label, number_of
    from rollsim.show.query.runs import outcome_text
    from rollsim.store.disk import ELSEWHERE
    from rollsim.store.reading import open_result, require_replaceable
    from rollsim.study.replay import replay

    with open_result(result) as ds:
        case = 0 if wanted is None else choose_case(ds, wanted)
        run = 0 if realisation is None else choose_realisation(ds, realisation)
        numbers = f"{number_of(ds, 'case', case)}-{number_of(ds, 'realisation', run)}"
        path = out or result.with_name(f"{result.stem}-{numbers}.nc")
        if path.exists() and path.samefile(result):
            raise InputError(str(path), [Fault("", "is the result itself", "give another --out")])
        text = str(ds.attrs["scenario_text"])
        require_replaceable(path, text, replace=False, hint=ELSEWHERE)
        same = replay(ds, case, run, path)
    with open_result(path) as ds:
        label = case_label(ds, 0, [0])
        said = (
            f"case {label}, realisation {number_of(ds, 'realisation', 0)}: {outcome_text(ds, 0, 0)}"
        )
    click.echo(printable(said), err=True)
    course.wrote(path)
    if not same:
        click.echo(
            "warning: its numbers differ from those in the result: other versions of the "
            "libraries, or another kind of processor",
            err=True,
        )
