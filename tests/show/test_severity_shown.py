"""Severity factors shown: tables, JSON, CSV, pictures, report and page say what the file holds."""

from __future__ import annotations

import json
import math

import numpy as np
import pytest
import xarray as xr
from report_samples import Parts
from severity_samples import MEDIANS, TRIED, certain, with_factors
from show_samples import build, drawn
from test_tables import flat, printed

from rollsim.accessor import RollsimAccessor
from rollsim.errors import InputError
from rollsim.measures.severity import Ratio, extended, quantile
from rollsim.show.figures.severity import fragility_figure, measure_of, severity_figure
from rollsim.show.page.words import run_figures
from rollsim.show.query import severity
from rollsim.show.query.lineup import Source, line_up
from rollsim.show.report.write import report
from rollsim.show.tables.margins import margins_table
from rollsim.show.tables.programs import summary_csv, summary_json
from rollsim.show.tables.severity import severity_json
from rollsim.show.tables.summary import case_row


@pytest.fixture(scope="module")
def ds() -> xr.Dataset:
    """A study of 80 storms."""
    return with_factors()


def sample(ds: xr.Dataset, case: int) -> np.ndarray:
    """The factors of a case, ±inf beyond the range."""
    return extended(ds["severity_factor"].values[case], ds["severity_found"].values[case])


def test_the_table_leads_with_the_factors_and_their_limits(ds: xr.Dataset) -> None:
    text = printed(margins_table(ds), 140)
    for case in range(3):
        middle = quantile(sample(ds, case), 0.5)
        assert f"{middle.value:.2f} [{middle.lower:.2f}, {middle.upper:.2f}]" in text
    assert text.index("median severity") < text.index("survived")
    assert "Islands: factors above" in flat(text)
    assert "the waves of this very storm must be multiplied until she fails" in flat(text)
    assert text.count("stands more than") == 3


@pytest.mark.parametrize("width", [40, 80, 100, 160])
def test_no_line_is_wider_than_asked(ds: xr.Dataset, width: int) -> None:
    assert max(len(line) for line in printed(margins_table(ds), width).splitlines()) <= width


def test_sixteen_storms_have_no_lower_limit_of_the_twentieth() -> None:
    row = case_row(with_factors(16), 0)
    assert row["severity_5_percent_lower"] is None
    assert row["severity_5_percent_lower_beyond"] == ""
    assert ", " in severity.quantile_text(severity.low(with_factors(16), 0), TRIED)
    assert "[–, " in printed(margins_table(with_factors(16)), 140)


def test_numbers_for_programs_say_what_lies_beyond_the_range() -> None:
    ds = with_factors()
    ds["severity_found"][1] = 2
    ds["severity_factor"][1] = np.nan
    row = case_row(ds, 1)
    assert (row["severity_median"], row["severity_median_beyond"]) == (None, "above")
    assert row["severity_none_up_to"] == 80
    assert "> 2.5 [> 2.5, > 2.5]" in printed(margins_table(ds), 140)
    text = json.dumps(summary_json(ds), allow_nan=False)
    assert json.loads(text)["severity"]["on"] == "waves"
    header, first = (line.split(",") for line in summary_csv(ds).splitlines()[:2])
    assert float(first[header.index("severity_median")]) == pytest.approx(
        quantile(sample(ds, 0), 0.5).value
    )
    margins = RollsimAccessor(ds).margins()
    assert math.isnan(margins["severity_median"].values[1])


def test_the_weakest_storms_are_named(ds: xr.Dataset) -> None:
    told = severity_json(ds)
    assert told is not None
    for case in range(3):
        named = [run for run in told["weakest"] if run["case"] == case]
        order = np.argsort(sample(ds, case), kind="stable")[:3]
        assert [run["realisation"] for run in named] == order.tolist()


def test_ratios_are_those_of_common_storms(ds: xr.Dataset) -> None:
    told = severity_json(ds)
    assert told is not None
    ratios = {(pair["first"], pair["second"]): pair for pair in told["ratios"]}
    pair = ratios["light", "deck cargo"]
    assert pair["ratio_lower"] < MEDIANS["light"] / MEDIANS["deck cargo"] < pair["ratio_upper"]
    assert pair["ratio_upper"] - pair["ratio_lower"] < 0.1
    assert pair["shown"]
    assert pair["storms"] == 80


@pytest.mark.parametrize(
    ("ratio", "text"),
    [
        (Ratio(0.78, 0.68, 0.998, 0.78, 0.78, 20), "0.780 [0.680, 0.998]"),
        (Ratio(0.78, 0.68, 1.0, 0.78, 0.78, 20), "0.78 [0.68, 1.00]"),
        (Ratio(1.2, 1.0003, 1.4, 1.2, 1.2, 20), "1.2000 [1.0003, 1.4000]"),
        (Ratio(0.9, math.nan, 0.95, 0.9, 0.9, 4), "0.90 [–, 0.95]"),
        (Ratio(math.nan, 1.001, 1.5, 1.004, 1.3, 9), "1.004 to 1.300 [1.001, 1.500]"),
        (Ratio(math.nan, 1.1, 1.5, 1.2, math.inf, 9), "> 1.20 [1.10, 1.50]"),
        (Ratio(math.nan, math.nan, 0.8, 0.0, 0.7, 9), "< 0.70 [–, 0.80]"),
        (Ratio(math.nan, math.nan, math.nan, 0.0, math.inf, 9), "–"),
    ],
)
def test_a_ratio_is_written_so_that_its_side_of_one_is_seen(ratio: Ratio, text: str) -> None:
    assert severity.ratio_text(ratio) == text


def test_a_factor_is_written_so_that_its_side_of_one_is_seen() -> None:
    texts = [severity.text(value, TRIED) for value in (0.997, 1.0, 1.0004, 1.3)]
    assert texts == ["0.997", "1.00", "1.0004", "1.30"]


def test_where_nothing_is_random_a_factor_stands_alone() -> None:
    ds = certain(with_factors(4))
    text = printed(margins_table(ds), 140)
    assert "severity factor" in text
    assert "median severity" not in text
    assert "÷" not in text
    assert severity.sample(ds, 0).size == 1
    with pytest.raises(InputError, match="nothing is random here"):
        fragility_figure(ds)
    assert severity_figure(ds).axes


def test_a_result_without_factors_says_how_to_get_them() -> None:
    plain = build()
    assert severity.asked(plain) is None
    assert severity_json(plain) is None
    assert "severity" not in printed(margins_table(plain), 140)
    assert not any(name.startswith("severity") for name in case_row(plain, 0))
    with pytest.raises(InputError, match=r"holds no severity factors\n.*\[severity\]"):
        severity_figure(plain)


def test_a_picture_shows_the_share_of_storms_up_to_each_factor(ds: xr.Dataset) -> None:
    figure = severity_figure(ds)
    axes = figure.axes[0]
    lines = [drawn(line) for line in axes.lines if line.get_linewidth() == 2.4]
    assert len(lines) == 3
    for case, (x, share) in enumerate(lines):
        known = sample(ds, case)
        assert (x[0], x[-1]) == TRIED
        for at in (0.7, 1.0, 1.6):
            expected = np.mean(known <= at)
            assert share[np.searchsorted(x, at, side="right") - 1] == pytest.approx(expected)
    assert "In 3 of 240 runs" in flat(figure.texts[-1].get_text())


@pytest.mark.parametrize(
    ("on", "label", "unit"),
    [("waves", "significant height", 5.0), ("weather", "factor on waves and wind", 1.0)],
)
def test_fragility_stands_over_what_is_made_stronger(on: str, label: str, unit: float) -> None:
    ds = with_factors(on=on)
    figure = fragility_figure(ds)
    assert label in figure.axes[0].get_xlabel()
    x, _ = drawn(next(line for line in figure.axes[0].lines if line.get_linewidth() == 2.4))
    assert (x[0], x[-1]) == (unit * TRIED[0], unit * TRIED[1])


def test_fragility_over_the_wind_speed_and_over_a_swept_height() -> None:
    ds = with_factors(on="wind")
    ds.attrs["scenario_text"] += "[wind]\nspeed_mps = 22.0\n"
    measure = measure_of(line_up([Source(ds)]))
    assert "wind speed" in measure.label
    assert measure.of(line_up([Source(ds)])[0].loadings[0]) == 22.0
    heights = {"significant_height": ("m", (3.0, 6.0))}
    swept = with_factors(axes=heights)
    swept["significant_height"].attrs["scenario_key"] = "sea.significant_height_m"
    found = [measure_of([group]).of(group.loadings[0]) for group in line_up([Source(swept)])]
    assert found == [3.0, 6.0]


def test_the_report_leads_with_the_factors_and_names_the_weakest(ds: xr.Dataset) -> None:
    page = report([Source(ds, "study.nc")])
    text = flat(Parts(page).text)
    assert text.index("median severity factor") < text.index("Inputs")
    assert "light ÷ deck cargo: " in text
    assert "structural resurrection" in text
    assert "Vamvatsikos and Cornell" in text
    assert "3 weakest storms" in text
    assert "Severity factors" not in report([Source(build(), "plain.nc")])


def test_the_page_tells_the_factor_of_a_run(ds: xr.Dataset) -> None:
    figures = {name: value for name, value, _ in run_figures(ds, 0, 2)}
    assert figures["severity factor"] == f"{sample(ds, 0)[2]:.2f} × the waves"
    assert "severity factor" not in {name for name, _, _ in run_figures(build(), 0, 0)}
