"""The tables and pictures of the files that searches and maps write, from those files alone."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import click

from rollsim.cli import options
from rollsim.errors import printable

if TYPE_CHECKING:
    import xarray as xr
    from matplotlib.figure import Figure


class Shown(NamedTuple):
    """What is shown of a file: its numbers for JSON, the parts of its table, its pictures by what
    stands behind the file's name in theirs, "" for the map itself."""

    numbers: Callable[[xr.Dataset], Any]
    parts: Callable[[xr.Dataset], list[Any]]
    pictures: Callable[[xr.Dataset], dict[str, Callable[[], Figure]]]


def tell(path: Path, command: str, *, as_json: bool) -> None:
    """Print the file that `rollsim <command>` wrote as its table or as JSON."""
    from rollsim.store.maps import open_map

    shown = SHOWN[command]()
    with open_map(path, command) as ds:
        if as_json:
            click.echo(json.dumps(shown.numbers(ds), indent=2, ensure_ascii=False))
        else:
            for part in shown.parts(ds):
                options.console().print(part)


def draw(path: Path, command: str, base: Path, suffix: str = "png") -> Iterator[Path]:
    """Draw the pictures of such a file beside `base`, yielding their paths."""
    from rollsim.show.style import save
    from rollsim.store.maps import open_map

    with open_map(path, command) as ds:
        for name, make in SHOWN[command]().pictures(ds).items():
            plain = base.with_suffix(f".{suffix}")
            picture = options.beside(base, name, suffix) if name else plain
            save(make(), picture)
            yield picture


def show(path: Path, command: str, *, as_json: bool, plots: bool) -> None:
    """Print the table of a file just written and draw its pictures beside it."""
    tell(path, command, as_json=as_json)
    for picture in draw(path, command, path) if plots else ():
        click.echo(f"drew {printable(str(picture))}", err=True)


def command_of(path: Path) -> str:
    """The search or map whose file `path` is, nothing for a result of `rollsim run`."""
    from rollsim.store.attributes import MAP
    from rollsim.store.reading import require_ours

    command = str(require_ours(path).get(MAP, ""))
    return command if command in SHOWN else ""


def refuse(command: str, given: Mapping[str, object]) -> None:
    """UsageError where options that belong to results of `rollsim run` are given with a map."""
    for option, value in given.items():
        if value:
            raise click.UsageError(
                f"{option} belongs to results of rollsim run; this is the file of rollsim {command}"
            )


def _basin() -> Shown:
    from rollsim.show.figures.basin import basin_figure
    from rollsim.show.figures.integrity import integrity_figure
    from rollsim.show.query.basins import number_axes
    from rollsim.show.tables.basin import basin_json, basin_table

    def pictures(ds: xr.Dataset) -> dict[str, Callable[[], Figure]]:
        several = number_axes(ds)
        made: dict[str, Callable[[], Figure]] = {"": lambda: basin_figure(ds)}
        for axis in several:
            name = f"integrity-{axis.replace('_', '-')}" if len(several) > 1 else "integrity"
            made[name] = lambda axis=axis: integrity_figure(ds, axis)  # type: ignore[misc]
        return made

    return Shown(basin_json, lambda ds: [basin_table(ds)], pictures)


def _critical() -> Shown:
    from rollsim.show.figures.critical import critical_figure
    from rollsim.show.tables.critical import critical_json, critical_table

    return _one(critical_json, critical_table, critical_figure)


def _equilibria() -> Shown:
    from rollsim.show.figures.equilibria import equilibria_figure
    from rollsim.show.tables.equilibria import equilibria_json, equilibria_table

    return _one(equilibria_json, equilibria_table, equilibria_figure)


def _hull() -> Shown:
    from rollsim.show.figures.hull import hull_figure
    from rollsim.show.tables.hull import hull_json, hull_tables

    return Shown(
        hull_json, lambda ds: list(hull_tables(ds)), lambda ds: {"": lambda: hull_figure(ds)}
    )


def _response() -> Shown:
    from rollsim.show.figures.response import response_figure
    from rollsim.show.tables.response import response_json, response_table

    return _one(response_json, response_table, response_figure)


def _one(
    numbers: Callable[[xr.Dataset], Any],
    table: Callable[[xr.Dataset], Any],
    figure: Callable[[xr.Dataset], Figure],
) -> Shown:
    """One table, one picture."""
    return Shown(numbers, lambda ds: [table(ds)], lambda ds: {"": lambda: figure(ds)})


SHOWN: dict[str, Callable[[], Shown]] = {
    "basin": _basin,
    "critical": _critical,
    "equilibria": _equilibria,
    "hull": _hull,
    "response": _response,
}
