"""Critical values as a picture and as a table: the numbers they were given, in words."""

from __future__ import annotations

import numpy as np
import xarray as xr
from critical_samples import critical_map
from matplotlib.axes import Axes
from matplotlib.container import ErrorbarContainer
from rich.console import Console

from rollsim.cautions import CAUTION
from rollsim.show.figures.critical import critical_figure
from rollsim.show.query import critical
from rollsim.show.tables.critical import critical_json, critical_table


def bars_of(axes: Axes) -> list[ErrorbarContainer]:
    """The lines with their limits."""
    return [bars for bars in axes.containers if isinstance(bars, ErrorbarContainer)]


def drawn_values(axes: Axes) -> list[np.ndarray]:
    """The heights of the lines."""
    return [np.asarray(bars.lines[0].get_ydata(), float) for bars in bars_of(axes)]


def test_a_line_for_each_condition() -> None:
    ds = critical_map()
    axes = critical_figure(ds).axes[0]
    first, second = drawn_values(axes)
    np.testing.assert_array_equal(first, ds.critical_value.values[:3])
    np.testing.assert_array_equal(second, ds.critical_value.values[3:])
    (bars,) = bars_of(axes)[0].lines[2]
    low, high = np.array([segment[:, 1] for segment in bars.get_segments()]).T
    np.testing.assert_allclose(low, ds.critical_value_lower.values[:3])
    np.testing.assert_allclose(high, ds.critical_value_upper.values[:3])
    assert axes.get_xlabel() == "significant height [m]"
    assert axes.get_ylabel() == "critical KG [m]"


def test_lines_differ_by_more_than_colour() -> None:
    axes = critical_figure(critical_map()).axes[0]
    lines = [bars.lines[0] for bars in bars_of(axes)]
    looks = {(line.get_marker(), line.get_linestyle()) for line in lines}
    assert len(looks) == 2


def test_a_case_without_a_value_is_a_gap_with_a_cross() -> None:
    figure = critical_figure(critical_map(unanswered=[5]))
    assert np.isnan(drawn_values(figure.axes[0])[1][2])
    crosses = [line for line in figure.axes[0].lines if line.get_marker() == "x"]
    assert [np.asarray(line.get_xdata()).tolist() for line in crosses] == [[8.0]]
    legend = figure.axes[1].get_legend()
    assert legend is not None
    labels = [text.get_text() for text in legend.get_texts()]
    assert labels == [
        "holds",
        "deck cargo",
        "KG in the scenario",
        "over the panel: no value, the table says why",
    ]


def test_over_conditions_alone() -> None:
    axes = critical_figure(critical_map(heights=())).axes[0]
    assert [tick.get_text() for tick in axes.get_xticklabels()] == ["0: holds", "1: deck cargo"]


def test_what_it_means() -> None:
    assert critical.meaning(critical_map()) == (
        "the KG (ship.gravity.kg_m) at which the probability of failure in one run of 600 s is 0.05"
    )
    assert critical.meaning(critical_map(probability=np.nan)) == (
        "the KG (ship.gravity.kg_m) at which failure first happens; nothing is random"
    )


def printed(ds: xr.Dataset) -> str:
    console = Console(width=100, record=True, file=None, quiet=False, force_terminal=False)
    with console.capture() as words:
        console.print(critical_table(ds))
    return " ".join(words.get().split())


def test_the_table() -> None:
    text = printed(critical_map(unanswered=[5]))
    assert "0 holds 4 5.600 [5.588, 5.614] 5.4 384" in text
    assert "5 deck cargo 8 – – 5.4 384" in text
    assert "case 5: the probability of failure is 0 at both ends: take a greater to" in text
    assert "The event is likelier above that value. Limits: 95 %," in text
    assert CAUTION in text


def test_as_json() -> None:
    table = critical_json(critical_map(unanswered=[5]))
    assert (table["key"], table["unit"], table["event"]) == ("ship.gravity.kg_m", "m", "failure")
    first, last = table["cases"][0], table["cases"][5]
    assert first["significant_height_m"] == 4.0
    assert first["critical_value"] == 5.6
    assert first["trials"][1] == {"value": 5.5, "runs": 256, "events": 13, "solved": 255}
    assert (last["critical_value"], last["search"]) == (None, "not_passed")
    assert (first["runs"], first["solved"]) == (384, 383)


def test_values_of_both_kinds_are_not_joined() -> None:
    # Of the first line the last value is one below which the event is likelier.
    ds = critical_map()
    ds["critical_rises"][2] = 0
    axes = critical_figure(ds).axes[0]
    joined, alone, other = bars_of(axes)
    value = ds.critical_value.values[:3]
    np.testing.assert_array_equal(drawn_values(axes)[0], [*value[:2], np.nan])
    np.testing.assert_array_equal(drawn_values(axes)[1], [np.nan, np.nan, value[2]])
    assert alone.lines[0].get_linestyle() == "None"
    assert len(drawn_values(axes)[2]) == 3
    assert other.lines[0].get_marker() != joined.lines[0].get_marker()
    text = printed(ds)
    assert "likelier" in text
    assert text.count("above") == 5
    assert text.count("below") == 1
