"""A certain capsize is no hole in a map, and what is not random is no probability."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
import xarray as xr
from matplotlib.axes import Axes
from show_samples import Make
from test_tables import flat, printed

from rollsim.measures.probability import clopper_pearson
from rollsim.names import Outcome
from rollsim.show.figures.sweep import sweep_figure
from rollsim.show.tables.margins import margins_table

HEIGHTS = {"significant_height": ("m", (3.0, 5.0, 7.0))}
GRID = HEIGHTS | {"kg": ("m", (5.3, 5.5))}


def lost(ds: xr.Dataset, case: int) -> xr.Dataset:
    """Every run of a case capsized before anything counts; at no moment was anything stable."""
    count = ds.sizes["realisation"]
    ds["outcome"].values[case], ds["failed_before_settle"].values[case] = Outcome.CAPSIZED, 1
    for name in ("roll_max", "roll_min", "energy_margin"):
        ds[name].values[case] = np.nan
    low, high = clopper_pearson(count, count)
    for event in ("capsize", "failure"):
        for part, value in (("", 1.0), ("_lower", low), ("_upper", high)):
            ds[f"{event}_probability{part}"].values[case] = value
    return ds


def shades(axes: Axes) -> Any:
    """What the cells of a map are shaded by, masked where there is nothing."""
    return np.ma.asarray(axes.collections[0].get_array())


def test_a_certain_capsize_is_one_with_its_lower_limit_and_a_word_for_the_roll(make: Make) -> None:
    """Clopper and Pearson: 12 of 12, lower limit 0.025^(1/12) = 0.735."""
    text = printed(margins_table(lost(make(["base"], 12, HEIGHTS), 1)), 220)
    line = next(line for line in text.splitlines() if line.startswith("   1"))
    assert line.count("1.000 [0.735, 1.000]") == 2
    assert "capsized" in line


def test_a_certain_capsize_has_a_number_in_every_map(make: Make) -> None:
    figure = sweep_figure(lost(make(["base"], 12, GRID), 3))
    panels = [axes for axes in figure.axes if axes.texts]
    assert len(panels) == 3
    for axes in panels:
        assert "–" not in {text.get_text() for text in axes.texts}
        assert not np.ma.getmaskarray(shades(axes)).any()
    assert "nothing\nstable" in {text.get_text() for text in panels[0].texts}
    assert "1\n[0.74, 1.00]" in {text.get_text() for text in panels[1].texts}


def test_without_chance_the_map_of_rolls_names_the_capsize(make: Make) -> None:
    ds = lost(make(["base"], 1, GRID), 3)
    for name in ("capsize_probability", "failure_probability"):
        ds[name] = ds[name] * np.nan
    figure = sweep_figure(ds)
    words = {text.get_text() for text in figure.axes[1].texts}
    assert "capsized" in words
    assert figure.axes[1].get_title(loc="left") == "greatest roll [°]"
    filled = shades(figure.axes[1])
    assert not np.ma.getmaskarray(filled).any()
    assert filled.max() == filled.ravel()[3]


def test_over_one_axis_a_mark_at_the_edge_stands_for_the_roll(make: Make) -> None:
    figure = sweep_figure(lost(make(["base"], 12, HEIGHTS), 2))
    marks = [line for line in figure.axes[1].get_lines() if line.get_marker() == "^"]
    assert [list(np.asarray(line.get_xdata())) for line in marks] == [[7.0]]
    legend = figure.axes[-1].get_legend()
    assert legend is not None
    labels = [text.get_text() for text in legend.get_texts()]
    assert "capsized before settle_s, every run" in labels
    ends = [axes.get_xlim() for axes in figure.axes[:4]]
    assert ends == [pytest.approx(ends[0], abs=0.1)] * 4


def test_what_is_not_random_has_a_dash_and_a_word(make: Make) -> None:
    ds = make(["a", "b"], 12)
    assert "nothing is random there" not in printed(margins_table(ds))
    for event in ("capsize", "failure"):
        for part in ("", "_lower", "_upper"):
            ds[f"{event}_probability{part}"].values[1] = np.nan
    text = flat(printed(margins_table(ds)))
    assert "No probability: nothing is random there, one run stands for all." in text


def test_tables_name_the_event_and_its_limits(make: Make) -> None:
    ds = make(["a", "b"], 12)
    text = flat(printed(margins_table(ds)))
    assert "a failure is the passing of any limit: roll limit 40°, capsize 75°." in text
    assert "which condition failed (roll limit 40°, capsize 75°)" in text
    text = flat(printed(margins_table(ds, event="capsize")))
    assert "a capsize counts at 75°." in text
    assert "which condition capsized (capsize 75°)" in text
