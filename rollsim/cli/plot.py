"""`rollsim plot RESULT`: histories, phase portrait, margins over the sweep, the static picture."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from rollsim.cli import maps, options
from rollsim.errors import REPLAY, Fault, InputError, printable

if TYPE_CHECKING:
    import xarray as xr

    from rollsim.measures.outcome import Event

KINDS = ("stability", "histories", "phase", "margins")
NOT_KEPT = Fault("", "holds no history of these runs", REPLAY)
REQUESTED = ("exceedance", "severity", "fragility", "sides")
"""Drawn where requested by name."""


@click.command("plot")
@options.result_file
@options.out("Folder for the pictures; that of RESULT where left out.")
@click.option(
    "--what", type=click.Choice((*KINDS, *REQUESTED)), multiple=True, help="Draw these only."
)
@click.option(
    "--case", "wanted", multiple=True,
    help="A case by number or as condition=light,kg=5.3; may be repeated; all where left out.",
)  # fmt: skip
@click.option("--realisation", type=click.IntRange(min=0), help="One realisation.")
@options.event
@click.option("--own-scale", "own_scales", is_flag=True, help="Histories: each its own scale.")
@click.option("--format", "suffix", type=click.Choice(options.PICTURES), default="png")
def command(
    result: Path,
    out: Path | None,
    what: tuple[str, ...],
    wanted: tuple[str, ...],
    realisation: int | None,
    event: Event | None,
    own_scales: bool,
    suffix: str,
) -> None:
    """Draw RESULT: histories, phase portrait over the potential, margins over the sweep.

    Of the file of a search or a map: the pictures that the command drew.
    """
    from rollsim.cli.selection import choose_cases, choose_realisation
    from rollsim.show.query.cases import number_of
    from rollsim.show.query.runs import with_history
    from rollsim.store.reading import open_result

    if search := maps.command_of(result):
        given = {"--what": what, "--case": wanted, "--realisation": realisation is not None}
        maps.refuse(search, given | {"--of": event, "--own-scale": own_scales})
        for path in maps.draw(result, search, (out / result.name) if out else result, suffix):
            click.echo(printable(str(path)))
        return
    with open_result(result) as ds:
        cases = [case for name in wanted or [None] for case in choose_cases(ds, name)]
        run = None if realisation is None else choose_realisation(ds, realisation)
        if run is not None and not any(with_history(ds, case, [run]) for case in cases):
            raise InputError(str(result), [NOT_KEPT])
        base = (out / result.name) if out else result
        numbers = [number_of(ds, "case", case) for case in dict.fromkeys(cases)] if wanted else []
        base = base.with_name(f"{base.stem}{_chosen(numbers, realisation)}{base.suffix}")
        drawn = 0
        chosen = list(dict.fromkeys(cases))
        for path in draw(ds, base, what or KINDS, chosen, run, suffix, event, own_scales):
            click.echo(printable(str(path)))
            drawn += 1
    if drawn < len(what):
        raise InputError(str(result), [NOT_KEPT])


def _chosen(cases: Sequence[int], realisation: int | None) -> str:
    """What sets the pictures of some runs apart from those of all, in their names."""
    parts = ["-case", *(f"-{case}" for case in cases)] if cases else []
    return "".join(parts) + ("" if realisation is None else f"-realisation-{realisation}")


def draw(
    ds: xr.Dataset,
    base: Path,
    what: Sequence[str] = KINDS,
    cases: Sequence[int] | None = None,
    realisation: int | None = None,
    suffix: str = "png",
    event: Event | None = None,
    own_scales: bool = False,
) -> Iterator[Path]:
    """Draw and save the pictures of `what`, yielding their paths; the worst run has the phase."""
    from rollsim.show.figures.exceedance import result_exceedance
    from rollsim.show.figures.histories import histories_figure
    from rollsim.show.figures.phase import phase_figure
    from rollsim.show.figures.severity import fragility_figure, severity_figure
    from rollsim.show.figures.sides import sides_figure
    from rollsim.show.figures.stability import stability_figure
    from rollsim.show.figures.sweep import sweep_figure
    from rollsim.show.query.runs import with_history
    from rollsim.show.style import save

    chosen = list(range(ds.sizes["case"])) if cases is None else list(cases)
    runs = list(range(ds.sizes["realisation"])) if realisation is None else [realisation]
    kept = [case for case in chosen if with_history(ds, case, runs)]
    makers = {
        "stability": lambda: stability_figure(ds, chosen),
        "histories": lambda: histories_figure(ds, kept, runs, own_scales=own_scales),
        "phase": lambda: phase_figure(ds, *_worst(ds, kept, runs)),
        "margins": lambda: sweep_figure(ds, event),
        "exceedance": lambda: result_exceedance(ds),
        "severity": lambda: severity_figure(ds),
        "fragility": lambda: fragility_figure(ds),
        "sides": lambda: sides_figure(ds),
    }
    if not kept:
        # No history is kept of these runs: `rollsim replay` makes any of them again.
        what = [kind for kind in what if kind not in ("histories", "phase")]
    for kind in what:
        path = options.beside(base, kind, suffix)
        save(makers[kind](), path)
        yield path


def _worst(ds: xr.Dataset, cases: Sequence[int], realisations: Sequence[int]) -> tuple[int, int]:
    """Case and realisation of the worst run whose history is there."""
    from rollsim.show.query.runs import by_severity, with_history, worst_cases

    case = worst_cases(ds, cases, 1)[0]
    kept = with_history(ds, case, realisations)
    return case, (by_severity(ds, case, kept) or kept)[0]
