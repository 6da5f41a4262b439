"""Exceedance curves and storms, read back from the drawn data; pictures as parts of a page."""

from __future__ import annotations

import numpy as np
import pytest
import xarray as xr
from matplotlib.figure import Figure
from show_samples import Make, build, drawn

from rollsim.cautions import CAUTION
from rollsim.measures.extremes.counted import exceedance, greatest_roll
from rollsim.names import Outcome
from rollsim.show import style
from rollsim.show.figures.exceedance import exceedance_figure
from rollsim.show.figures.storms import storm_figure
from rollsim.show.query.lineup import Group, Source, line_up
from rollsim.show.query.runs import history, thinned
from rollsim.show.report.svg import picture

HIGH = {"significant_height": ("m", (7.0,))}


def group(ds: xr.Dataset) -> Group:
    """The one group of a study."""
    return line_up([Source(ds)])[0]


def test_curves_are_those_of_the_measure(make: Make) -> None:
    ds = make(realisations=12, axes=HIGH)
    axes = exceedance_figure([group(ds)]).axes[0]
    for case in range(3):
        angle = drawn(axes.get_lines()[4 * case])[0]
        solved = ds["outcome"].values[case] <= Outcome.CAPSIZED
        found = exceedance(
            greatest_roll(ds["roll_max"][case], ds["roll_min"][case], ds["outcome"][case] == 4)[
                solved
            ],
            angle,
        )
        share, lower, upper = (drawn(line)[1] for line in axes.get_lines()[4 * case : 4 * case + 3])
        assert np.array_equal(
            share[found.probability > 0], found.probability[found.probability > 0]
        )
        assert np.isnan(share[found.probability == 0]).all()
        assert np.array_equal(upper, found.upper)
        assert np.array_equal(lower[found.lower > 0], found.lower[found.lower > 0])


def test_runs_without_a_result_are_in_no_curve(make: Make) -> None:
    ds = make(["a"], realisations=8)
    ds["outcome"].values[0, :4] = Outcome.NOT_SOLVED
    ds["roll_max"].values[0, :4] = 80.0
    axes = exceedance_figure([group(ds)]).axes[0]
    assert np.nanmax(drawn(axes.get_lines()[0])[0]) < 80.0
    assert drawn(axes.get_lines()[0])[1][0] == 1.0


def test_a_small_multiple_for_each_circumstance_on_one_scale(make: Make) -> None:
    ds = make(realisations=4, axes={"significant_height": ("m", tuple(np.arange(2.0, 10.0)))})
    figure = exceedance_figure(line_up([Source(ds)]))
    panels = [axes for axes in figure.axes if axes.get_xlabel()]
    titles = [axes.get_title(loc="left") for axes in panels]
    assert titles == [f"significant height {height} m" for height in range(2, 8)]
    assert len({axes.get_xlim() for axes in panels}) == 1
    assert "Shown: the first 6 of 8 circumstances." in words(figure)


def words(figure: Figure) -> str:
    """The small print of a picture."""
    return " ".join(" ".join(text.get_text() for text in figure.texts).split())


def test_a_storm_holds_every_loading_and_the_waves(make: Make) -> None:
    ds = make(realisations=12, axes=HIGH)
    run = int(np.flatnonzero((ds["outcome"].values == Outcome.CAPSIZED).any(axis=0))[0])
    figure = storm_figure(group(ds), run)
    assert figure is not None
    roll, slope = figure.axes[:2]
    for case in range(3):
        held = ds["roll_angle"].values[case, run]
        lines = [drawn(line)[1] for line in roll.get_lines()]
        assert any(np.array_equal(line, held, equal_nan=True) for line in lines)
    assert np.array_equal(
        drawn(slope.get_lines()[1])[1], ds["wave_slope"].values[0, run], equal_nan=True
    )
    crosses = [line for line in roll.get_lines() if line.get_marker() == "X"]
    ends = ds["end_time"].values[ds["outcome"].values[:, run] == Outcome.CAPSIZED, run]
    assert [float(drawn(line)[0][0]) for line in crosses] == list(ends)


@pytest.mark.parametrize(
    ("outcome", "time", "window"),
    [(Outcome.CAPSIZED, 500.0, (300.0, 600.0)), (Outcome.ROLL_LIMIT, 700.0, (500.0, 800.0)),
     (Outcome.FLOODED, 50.0, (0.0, 300.0)), (Outcome.CAPSIZED, 990.0, (700.0, 1000.0))],
)  # fmt: skip
def test_a_long_storm_is_shown_around_its_worst_moment(
    make: Make, outcome: Outcome, time: float, window: tuple[float, float]
) -> None:
    ds = make(["a"], realisations=1, duration=1000.0)
    ds["outcome"].values[0, 0] = outcome
    ds["failure_time"].values[0, 0] = 20.0 if outcome == Outcome.CAPSIZED else time
    ds["end_time"].values[0, 0] = time
    figure = storm_figure(group(ds), 0)
    assert figure is not None
    assert figure.axes[0].get_xlim() == window
    assert f"Shown: {window[0]:g} to {window[1]:g} s of 0 to 1000 s" in words(figure)


def test_kept_histories_are_found_and_others_are_not_made_up(make: Make) -> None:
    ds = make(realisations=4)
    one = ds["roll_angle"].values[2, 3]
    kept = ds.drop_vars("roll_angle").assign(
        roll_angle=(("kept", "t"), [one]), kept_case=("kept", [2]), kept_realisation=("kept", [3])
    )
    found = history(kept, "roll_angle", 2, 3)
    assert found is not None
    assert np.array_equal(found, one)
    assert history(kept, "roll_angle", 2, 2) is None
    assert history(ds.drop_vars("wave_slope"), "wave_slope", 0, 0) is None
    figure = storm_figure(group(kept), 3)
    assert figure is not None
    assert "Shown: 1 of 3 loadings" in words(figure)
    assert storm_figure(group(kept), 0) is None


def test_thinning_loses_no_peak_and_keeps_gaps() -> None:
    t = np.arange(50_000.0)
    y = np.sin(0.01 * t)
    y[[777, 31_234]] = 7.0, -9.0
    y[40_000:] = np.nan
    at, kept = thinned(t, y)
    assert at.size <= 2000
    assert (np.nanmax(kept), np.nanmin(kept)) == (7.0, -9.0)
    assert (np.diff(at) > 0).all()
    assert np.isnan(kept[at > 40_000]).all()
    assert np.isin(kept[~np.isnan(kept)], y).all()
    assert thinned(t[:2000], y[:2000])[0].size == 2000


def test_a_picture_on_a_page_has_its_notes_in_the_caption_and_no_caution_of_its_own() -> None:
    ds = build(realisations=6)
    figure = exceedance_figure([group(ds)], "a $title$")
    height = figure.get_figheight()
    made = picture(figure, "name", "A caption <b>.")
    caption, drawn_ = made.caption, made.svg
    assert "A capsized run counts as beyond every angle." in caption
    assert "A caption <b>." in caption
    assert CAUTION not in caption
    assert figure.get_figheight() < height
    assert figure.get_figwidth() == style.WIDTH
    assert "style=" not in drawn_
