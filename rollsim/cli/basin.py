"""`rollsim basin FILE`: what becomes of the ship from every start of a grid."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from rollsim.cli import mapping, options
from rollsim.errors import EXIT_DONE, EXIT_NOT_SOLVED, printable
from rollsim.names import Outcome

if TYPE_CHECKING:
    import xarray as xr


@click.command("basin")
@mapping.map_options("basin")
def command(
    file: Path, out: Path | None, replace: bool, workers: int | None, as_json: bool, plots: bool
) -> int:
    """Map what becomes of the ship of FILE over start roll and roll rate, by its table [basin]."""
    from rollsim.show.tables.basin import basin_json, basin_table
    from rollsim.store.maps import open_map
    from rollsim.study.basin import basin_of, basin_to_file, pieces_of
    from rollsim.study.workers import Where

    plan = mapping.loaded_plan(file)
    pieces = len(plan.cases) * pieces_of(basin_of(plan))
    path = out or mapping.default_map(file, "basin")
    whole = mapping.with_progress(
        lambda listener: basin_to_file(
            plan, path, replace=replace, where=Where(workers), listener=listener
        ),
        pieces,
        "pieces",
    )
    code = mapping.ended(whole, path)
    if code != EXIT_DONE:
        return code
    with open_map(path, "basin") as ds:
        if as_json:
            click.echo(json.dumps(basin_json(ds), indent=2, ensure_ascii=False))
        else:
            options.console().print(basin_table(ds))
        for picture in _draw(ds, path) if plots else ():
            click.echo(f"drew {printable(str(picture))}", err=True)
        unsolved = int((ds["outcome"].values == Outcome.NOT_SOLVED).sum())
    if unsolved:
        click.echo(f"{options.counted(unsolved, 'start')} not solved", err=True)
        return EXIT_NOT_SOLVED
    return code


def _draw(ds: xr.Dataset, path: Path) -> Iterator[Path]:
    """The maps, and the integrity profile over every sweep axis of numbers."""
    from rollsim.show.figures.basin import basin_figure
    from rollsim.show.figures.integrity import integrity_figure
    from rollsim.show.query.basins import number_axes
    from rollsim.show.style import save

    picture = path.with_suffix(".png")
    save(basin_figure(ds), picture)
    yield picture
    several = number_axes(ds)
    for axis in several:
        name = f"integrity-{axis.replace('_', '-')}" if len(several) > 1 else "integrity"
        picture = options.beside(path, name)
        save(integrity_figure(ds, axis), picture)
        yield picture
