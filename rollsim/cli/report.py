"""`rollsim report RESULT [RESULT ..]`: one HTML file that compares loading conditions."""

from __future__ import annotations

from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING

import click

from rollsim.cli import options

if TYPE_CHECKING:
    from rollsim.measures.outcome import Event

SUFFIXES = (".html", ".htm")


@click.command("report")
@click.argument(
    "results", metavar="RESULT...", nargs=-1, required=True, type=click.Path(path_type=Path)
)
@options.out("The report's file; <name of the first RESULT>-report.html beside it if left out.")
@options.event
@click.option("--loadings", is_flag=True, help="Draw the loading sheets as well.")
def command(
    results: tuple[Path, ...], out: Path | None, event: Event | None, loadings: bool
) -> None:
    """Compare the loading conditions of one or several RESULTs in one HTML file.

    It holds everything, fetches nothing, and prints well on paper.
    """
    from rollsim.errors import Fault, InputError
    from rollsim.show.report.write import source_of, write_report
    from rollsim.store.reading import open_result

    path = out or options.beside(results[0], "report", "html")
    if path.suffix.lower() not in SUFFIXES:
        hint = "a report is an HTML file: give it a name that ends in .html"
        raise InputError(str(path), [Fault("--out", "is no name of a report", hint)])
    with ExitStack() as stack:
        opened = [(file, stack.enter_context(open_result(file))) for file in results]
        sources = [source_of(file, ds) for file, ds in opened]
        write_report(path, sources, event, loadings=loadings)
    click.echo(str(path))
