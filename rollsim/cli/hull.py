"""`rollsim hull FILE`: what a hull is, from its stations: hydrostatics, KN, openings, waves."""

from __future__ import annotations

import dataclasses
from pathlib import Path
from typing import TYPE_CHECKING

import click

from rollsim.cli import maps, options
from rollsim.cli.stopped import course

if TYPE_CHECKING:
    from rollsim.study.hull import Arrays, Wanted

MOST = 200
"""Displacements of one call."""


@click.command("hull")
@options.scenario_file
@click.option(
    "--displacement", "displacements", type=click.FloatRange(min=0.0, min_open=True), multiple=True,
    metavar="T", help="A displacement in tonnes; may be given again. Even draughts where left out.",
)  # fmt: skip
@click.option(
    "--heel-step", type=click.FloatRange(0.1, 15.0), help="Distance of heels in degrees; 2.5."
)
@click.option("--heel-max", type=click.FloatRange(1.0, 180.0), help="Last heel in degrees; 90.")
@click.option("--trim", type=click.Choice(("free", "fixed")), help="Whether she trims; free.")
@options.out("The file of results; results/<name of FILE>-hull.nc where left out.")
@click.option("--replace", is_flag=True, help="Replace what another hull has given.")
@click.option("--json", "as_json", is_flag=True, help="Print the numbers as JSON.")
@click.option("--plots/--no-plots", default=True, help="Draw the picture beside it.")
def command(
    file: Path,
    displacements: tuple[float, ...],
    heel_step: float | None,
    heel_max: float | None,
    trim: str | None,
    out: Path | None,
    replace: bool,
    as_json: bool,
    plots: bool,
) -> None:
    """Print and draw the hull of FILE, a hull file or a scenario with one.

    Hydrostatics and KN at constant displacement, the heels at which the deck edge and the openings
    come under water, and KN on a wave of her length.
    """
    from rollsim.store.maps import require_replaceable_map, write_map
    from rollsim.study.hull import hull_from

    wanted = hull_from(file)
    wanted = wanted._replace(
        displacement=tuple(sorted(set(displacements))) or wanted.displacement,
        heel_step=heel_step or wanted.heel_step,
        heel_max=heel_max or wanted.heel_max,
        trim=wanted.trim if trim is None else dataclasses.replace(wanted.trim, free=trim == "free"),
    )
    path = out or Path("results") / f"{file.stem.removesuffix('-hull')}-hull.nc"
    require_replaceable_map(path, "hull", wanted.text, replace)
    arrays = _arrays(file, wanted)
    title = wanted.hull.name or file.stem
    attributes = {
        "title": title,
        "history": f"rollsim hull {file.name}",
        "trim_of_levers": "free" if wanted.trim.free else "fixed",
        "length_m": wanted.hull.length,
    }
    write_map(path, "hull", arrays, [], attributes, wanted.text)
    course.wrote(path)
    maps.show(path, "hull", as_json=as_json, plots=plots)


def _arrays(file: Path, wanted: Wanted) -> Arrays:
    """The numbers of the hull; the reason as a fault of the file where she does not float."""
    from rollsim.errors import Fault, InputError
    from rollsim.ship.hull.form import UnfloatableError
    from rollsim.study.hull import hull_arrays

    if len(wanted.displacement) > MOST:
        raise click.UsageError(f"more than {MOST} displacements at once")
    try:
        return hull_arrays(wanted)
    except UnfloatableError as error:
        raise InputError(str(file), [Fault("", error.problem, error.hint)]) from None
