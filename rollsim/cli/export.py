"""`rollsim export RESULT`: one run as CSV."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from rollsim.cli import options

if TYPE_CHECKING:
    import xarray as xr


@click.command("export")
@options.result_file
@click.option("--case", "wanted", help="The case by number or as condition=light,kg=5.3.")
@click.option("--realisation", type=click.IntRange(min=0), help="The realisation.")
@options.out("The CSV file; <name of RESULT>-case-<number>-run-<number>.csv beside it if left out.")
@click.option("--notes", is_flag=True, help='Put cautions and origin first, in lines with "#".')
def command(
    result: Path, wanted: str | None, realisation: int | None, out: Path | None, notes: bool
) -> None:
    """Write one run of RESULT as CSV: time, roll, roll rate, wave slope, heeling lever, and G.

    The first line names the columns, each with its unit; every further line is one output time.
    """
    from rollsim.cautions import CAUTION
    from rollsim.errors import Fault, InputError
    from rollsim.show.tables.export import run_csv
    from rollsim.store.disk import replacing
    from rollsim.store.reading import open_result

    with open_result(result) as ds:
        case, run = _only(ds, wanted, realisation)
        path = out or options.beside(result, f"case-{case}-run-{run}", "csv")
        if path.exists() and path.samefile(result):
            fault = Fault("--out", "is the result itself", "give the CSV file a name of its own")
            raise InputError(str(path), [fault])
        text = run_csv(ds, case, run, notes=notes)
    with replacing(path) as part:
        part.write_text(text, encoding="utf-8", newline="\n")
    if not notes:
        click.echo(CAUTION, err=True)
    click.echo(str(path))


def _only(ds: xr.Dataset, wanted: str | None, realisation: int | None) -> tuple[int, int]:
    """The one run that is meant; where nothing is said there must be one only."""
    from rollsim.cli.selection import choose_case, choose_realisation
    from rollsim.errors import Fault, InputError

    faults = []
    for option, given, dimension in (
        ("--case", wanted, "case"), ("--realisation", realisation, "realisation"),
    ):  # fmt: skip
        if given is None and ds.sizes[dimension] > 1:
            count = ds.sizes[dimension]
            faults.append(Fault(option, "say which one", f"the result holds 0 to {count - 1}"))
    if faults:
        raise InputError("", faults)
    case = 0 if wanted is None else choose_case(ds, wanted)
    return case, 0 if realisation is None else choose_realisation(ds, realisation)
