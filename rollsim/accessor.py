"""`ds.rollsim`: the margins, pictures and animations of a result, on the Dataset itself.

Importing this module registers the accessor with xarray.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import xarray as xr

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from rollsim.measures.outcome import Event
    from rollsim.show.animation.plan import FilmPlan

FilePath = str | os.PathLike[str]


@xr.register_dataset_accessor("rollsim")  # type: ignore[no-untyped-call]
class RollsimAccessor:
    """What can be drawn from a result, whether it was just run or read from a file.

    Cases and realisations are given by their number. Every picture comes back as a matplotlib
    Figure and is also written where `out` names a file (.png, .svg or .pdf).
    """

    def __init__(self, ds: xr.Dataset) -> None:
        self._ds = ds

    def margins(self) -> xr.Dataset:
        """Outcomes, margins, probabilities and rates of every case, names with units.

        `.to_dataframe()` turns it into a table.
        """
        from rollsim.show.tables.summary import case_row

        rows = [case_row(self._ds, case) for case in range(self._ds.sizes["case"])]
        table = {name: [row[name] for row in rows] for name in rows[0]}
        case = table.pop("case")
        return xr.Dataset(
            {name: ("case", _column(values)) for name, values in table.items()}, {"case": case}
        )

    def comparisons(self, of: Event | None = None) -> list[dict[str, Any]]:
        """The conditions compared two by two over the storms that both met, then neighbours.

        Neighbours are cases of one condition side by side along an axis of the ship.

        `of`: "capsize" or "failure", by default failure where a roll or flooding limit is set.
        """
        from rollsim.show.tables.pairs import comparisons

        pairs, neighbours, _ = comparisons(self._ds, of)
        return pairs + neighbours

    def extremes(self) -> list[dict[str, Any]]:
        """The law of the greatest roll in a run and its return levels, for every random case.

        It takes about a second a case.
        """
        from rollsim.show.tables.extremes import extremes_row, random_cases

        return [extremes_row(self._ds, case) for case in random_cases(self._ds)]

    def summary(self, width: int = 100, of: Event | None = None) -> str:
        """The table that `rollsim summary` prints, as text."""
        import io

        from rich.console import Console

        from rollsim.show.tables.margins import margins_table

        text = io.StringIO()
        table = margins_table(self._ds, event=of)
        Console(file=text, width=width, color_system=None).print(table)
        return text.getvalue()

    def plot_stability(
        self, cases: Sequence[int] | None = None, out: FilePath | None = None
    ) -> Figure:
        """GZ with the steady heeling lever, dynamical stability, the paths of B and M."""
        from rollsim.show.figures.stability import stability_figure

        return _saved(stability_figure(self._ds, cases), out)

    def plot_histories(
        self,
        cases: Sequence[int] | None = None,
        realisations: Sequence[int] | None = None,
        out: FilePath | None = None,
        *,
        own_scales: bool = False,
    ) -> Figure:
        """Roll in time with the waves and levers that drove it; many runs as a band.

        All panels have one scale unless `own_scales`.
        """
        from rollsim.show.figures.histories import histories_figure

        return _saved(histories_figure(self._ds, cases, realisations, own_scales=own_scales), out)

    def plot_phase(
        self, case: int = 0, realisation: int | None = None, out: FilePath | None = None
    ) -> Figure:
        """Roll rate over roll angle above the potential; the worst run where none is named."""
        from rollsim.show.figures.phase import phase_figure
        from rollsim.show.query.runs import worst_run

        run = worst_run(self._ds, [case]) if realisation is None else realisation
        return _saved(phase_figure(self._ds, case, run), out)

    def plot_margins(self, out: FilePath | None = None, of: Event | None = None) -> Figure:
        """Energy margin, extremes and probabilities over the sweep and the conditions."""
        from rollsim.show.figures.sweep import sweep_figure

        return _saved(sweep_figure(self._ds, of), out)

    def plot_exceedance(self, out: FilePath | None = None) -> Figure:
        """The probability that a run rolls beyond an angle, with its limits."""
        from rollsim.show.figures.exceedance import result_exceedance

        return _saved(result_exceedance(self._ds), out)

    def plot_severity(self, out: FilePath | None = None) -> Figure:
        """The distribution of the severity factors over storms, with its limits."""
        from rollsim.show.figures.severity import severity_figure

        return _saved(severity_figure(self._ds), out)

    def plot_fragility(self, out: FilePath | None = None) -> Figure:
        """The probability of failing over the significant height or the wind speed."""
        from rollsim.show.figures.severity import fragility_figure

        return _saved(fragility_figure(self._ds), out)

    def plot_sides(self, out: FilePath | None = None) -> Figure:
        """Changes of side of a ship with two lolls, time and mean stay on each, with limits."""
        from rollsim.show.figures.sides import sides_figure

        return _saved(sides_figure(self._ds), out)

    def severity(self) -> dict[str, Any] | None:
        """What was searched for, conditions compared by the ratio of their severity factors in
        common storms, and the weakest storms; None where the result holds no factors."""
        from rollsim.show.tables.severity import severity_json

        return severity_json(self._ds)

    def animate(
        self,
        out: FilePath,
        cases: Sequence[int] = (0,),
        realisation: int | None = None,
        **wishes: Any,
    ) -> FilmPlan:
        """Write an animation (.gif, or .mp4 with the video extra); what was drawn.

        Several cases stand side by side. The worst run where none is named; `wishes`: fps, size,
        speed, start, end, panels, as for `rollsim animate`.
        """
        from rollsim.show.animation.plan import Wishes
        from rollsim.show.animation.write import animate

        return animate(self._ds, Path(out), cases, realisation, Wishes(**wishes))

    def report(self, out: FilePath, of: Event | None = None) -> None:
        """Write the report on this result: one HTML file."""
        from rollsim.show.query.lineup import Source
        from rollsim.show.report.write import write_report

        write_report(Path(out), [Source(self._ds)], of)


def _column(values: list[Any]) -> list[Any]:
    """Missing numbers as NaN."""
    return [float("nan") if value is None else value for value in values]


def _saved(figure: Figure, out: FilePath | None) -> Figure:
    if out is not None:
        from rollsim.show.style import save

        save(figure, Path(out))
    return figure
