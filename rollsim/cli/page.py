"""`rollsim page RESULT ..`: a classroom page of one file that plays the runs of results."""

from __future__ import annotations

from contextlib import ExitStack
from pathlib import Path

import click

from rollsim.cli import options


@click.command("page")
@click.argument(
    "results", metavar="RESULT...", nargs=-1, required=True, type=click.Path(path_type=Path)
)
@options.out("The page; <name of RESULT>-page.html beside it where left out.")
@click.option(
    "--case", "wanted", multiple=True,
    help="A case by number or as condition=light,kg=5.3; may be repeated; all where left out.",
)  # fmt: skip
@click.option(
    "--realisation", "storms", multiple=True, type=click.IntRange(min=0),
    help="A realisation; may be repeated; where left out, the worst of these cases.",
)  # fmt: skip
def command(
    results: tuple[Path, ...], out: Path | None, wanted: tuple[str, ...], storms: tuple[int, ...]
) -> None:
    """Make a page for the classroom of one or several RESULTs: one HTML file that loads nothing."""
    from rollsim.cli.selection import choose_cases, choose_realisation
    from rollsim.errors import Fault, InputError, printable
    from rollsim.show.page.data import Chosen
    from rollsim.show.page.write import write_page
    from rollsim.show.query.runs import worst_run
    from rollsim.store.reading import open_result

    path = out or options.beside(results[0], "page", "html")
    if path.suffix.lower() not in (".html", ".htm"):
        raise InputError(str(path), [Fault("", "is no page: its name must end in .html")])
    chosen = []
    with ExitStack() as stack:
        for result in results:
            ds = stack.enter_context(open_result(result))
            named = [case for name in wanted or [None] for case in choose_cases(ds, name)]
            cases = list(dict.fromkeys(named))
            runs = [choose_realisation(ds, storm) for storm in dict.fromkeys(storms)]
            why = "" if runs or ds.sizes["realisation"] == 1 else ", the worst of these cases"
            runs = runs or [worst_run(ds, cases)]
            chosen.append(Chosen(result.name, ds, cases, runs, why))
        write_page(path, chosen)
    click.echo(printable(str(path)))
