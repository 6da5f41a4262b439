"""The law of the greatest roll in tables, JSON and the picture of exceedance."""

from __future__ import annotations

import io
import json

import numpy as np
import pytest
import xarray as xr
from rich.console import Console
from scipy import stats
from show_samples import build, drawn

import rollsim.accessor  # noqa: F401
from rollsim.names import Outcome
from rollsim.show.figures.exceedance import result_exceedance
from rollsim.show.query.rolls import counted_roll, extremes_of
from rollsim.show.tables.extremes import extremes_row
from rollsim.show.tables.margins import margins_table
from rollsim.show.tables.programs import summary_json

RUNS = 60


def rolling(names: tuple[str, ...] = ("a", "b"), shape: float = -0.1) -> xr.Dataset:
    """Runs whose greatest rolls are of a known law; the 75 degrees of capsize are never near."""
    ds = build(names, realisations=RUNS)
    generator = np.random.default_rng(5)
    size = len(names), RUNS
    ds["roll_max"].values[:] = stats.genextreme.rvs(-shape, 15, 2, size, random_state=generator)
    ds["roll_min"].values[:] = -1.0
    ds["outcome"].values[:] = Outcome.SURVIVED
    return ds


def printed(ds: xr.Dataset, width: int = 220) -> str:
    console = Console(file=io.StringIO(), width=width)
    console.print(margins_table(ds, with_extremes=True))
    return console.file.getvalue()  # type: ignore[attr-defined, no-any-return]


def test_levels_in_the_table_are_those_of_the_law() -> None:
    ds = rolling()
    row = extremes_row(ds, 1)
    known = extremes_of(ds, 1)
    assert [level["once_in_runs"] for level in row["levels"]] == [10, 30, 100]
    level = known.levels[0]
    text = printed(ds)
    assert f"{level.value:.1f} [{level.lower:.1f}, {level.upper:.1f}]" in text
    assert "once in 10 [°]" in text
    assert "once in 30 [°]" not in text
    assert "no levels because" not in text
    assert "Anderson and Darling's test" in text


def test_why_there_are_no_levels_is_told() -> None:
    ds = rolling()
    ds["outcome"].values[1, 15:] = Outcome.CAPSIZED
    text = printed(ds)
    assert "fewer than 20 runs that" in text
    row = extremes_row(ds, 1)
    assert (row["runs"], row["capsized"], row["levels"]) == (RUNS, RUNS - 15, [])


def test_json_has_the_laws_where_requested_and_is_plain() -> None:
    ds = rolling()
    assert "extremes" not in summary_json(ds)
    said = json.loads(json.dumps(summary_json(ds, with_extremes=True), allow_nan=False))
    assert [row["shape"] for row in ds.rollsim.extremes()] == [
        row["shape"] for row in said["extremes"]
    ]
    first = said["extremes"][0]
    assert first["case"] == 0
    assert set(first["rivals"]) == {"weibull", "rayleigh"}
    assert first["rivals"]["rayleigh"]["shape"] is None
    assert first["no_levels_because"] is None


def test_a_case_without_chance_has_no_law() -> None:
    ds = rolling()
    ds["failure_probability"].values[0] = np.nan
    assert [row["case"] for row in summary_json(ds, with_extremes=True)["extremes"]] == [1]
    ds["failure_probability"].values[1] = np.nan
    assert "nothing is random, there is no law of it" in printed(ds)


def test_a_run_that_capsized_before_anything_counts_is_beyond_every_angle() -> None:
    ds = rolling()
    ds["outcome"].values[0, 0] = Outcome.CAPSIZED
    ds["roll_max"].values[0, 0] = ds["roll_min"].values[0, 0] = np.nan
    assert np.isinf(counted_roll(ds, 0)).sum() == 1
    assert extremes_of(ds, 0).capsized == 1
    assert extremes_of(ds, 0).runs == RUNS


@pytest.mark.parametrize(("names", "laws"), [(("a",), 3), (("a", "b"), 2)])
def test_the_picture_shows_each_law_as_far_as_its_runs_carry(
    names: tuple[str, ...], laws: int
) -> None:
    """Alone, Weibull and Rayleigh stand beside; bars are the levels, at once in N."""
    ds = rolling(names)
    axes = result_exceedance(ds).axes[0]
    dotted = [line for line in axes.get_lines() if line.get_linewidth() == 1.5]
    assert len(dotted) == laws
    law = extremes_of(ds, 0).law
    assert law is not None
    angle, share = drawn(dotted[0])
    assert share == pytest.approx(law.frozen.sf(angle), rel=1e-9)
    assert share.min() == pytest.approx(1.0 / 100.0)
    ends = sorted(float(np.asarray(bar.get_paths()[0].vertices)[0, 1]) for bar in axes.collections)
    expected = [1.0 / level.runs for i in range(len(names)) for level in extremes_of(ds, i).levels]
    assert ends == pytest.approx(sorted(expected))
    assert axes.get_ylim()[0] < 1.0 / 100.0


def test_what_is_not_random_has_no_curve() -> None:
    ds = rolling()
    ds["failure_probability"].values[0] = np.nan
    figure = result_exceedance(ds)
    labels = [text.get_text() for axes in figure.axes for legend in [axes.get_legend()] if legend
              for text in legend.get_texts()]  # fmt: skip
    assert "a" not in labels
    assert "b" in labels
