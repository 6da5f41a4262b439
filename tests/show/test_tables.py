"""The tables at every width, and the same numbers as JSON and CSV."""

from __future__ import annotations

import csv
import io
import json

import numpy as np
import pytest
import xarray as xr
from rich.console import Console, RenderableType
from show_samples import Make

from rollsim.cautions import CAUTION, LOLL_WARNING
from rollsim.names import Outcome
from rollsim.show.tables.cells import chance
from rollsim.show.tables.margins import margins_table, static_table
from rollsim.show.tables.summary import summary_csv, summary_json

AXES = {"significant_height": ("m", (3.0, 5.0, 7.0))}


def printed(what: RenderableType, width: int = 100) -> str:
    """What a pipe of a width receives."""
    console = Console(file=io.StringIO(), width=width)
    console.print(what)
    return console.file.getvalue()  # type: ignore[attr-defined, no-any-return]


def flat(text: str) -> str:
    """The text without its line breaks."""
    return " ".join(text.split())


@pytest.mark.parametrize("width", [40, 80, 100, 160])
def test_no_line_is_wider_than_asked_and_no_number_is_broken(make: Make, width: int) -> None:
    text = printed(margins_table(make(realisations=12, axes=AXES)), width)
    assert max(len(line) for line in text.splitlines()) <= width
    assert "\x1b" not in text
    assert "…" not in text
    assert "-15.0 / 15.0" in text
    assert "0.000 [0.000, 0.265]" in text
    assert CAUTION in flat(text)
    assert LOLL_WARNING in flat(text)


def test_a_wide_terminal_gets_one_table_a_narrow_one_four(make: Make) -> None:
    ds = make(realisations=12, axes=AXES)
    rules = [printed(margins_table(ds), width).count("\ncase  condition") for width in (80, 220)]
    assert rules == [4, 1]


@pytest.mark.parametrize(
    ("numbers", "text"),
    [
        ((0.25, 0.07, 0.5), "0.250 [0.070, 0.500]"),
        ((0.1, 0.0025, 0.445), "0.1000 [0.0025, 0.4450]"),
        ((0.012004, 0.011791, 0.012219), "0.01200 [0.01179, 0.01222]"),
        ((1e-5, 4.8e-6, 1.84e-5), "1.0e-05 [4.8e-06, 1.8e-05]"),
        ((1e-3, 9.8e-4, 1.02e-3), "1.000e-03 [9.800e-04, 1.020e-03]"),
        ((0.0, 0.0, 0.0012), "0.0000 [0.0000, 0.0012]"),
        ((-1e-4, -0.00028, 5.7e-4), "-0.00010 [-0.00028, 0.00057]"),
        ((1.0, 0.8, 1.0), "1.000 [0.800, 1.000]"),
    ],
)
def test_a_probability_and_its_limits_are_written_alike(
    numbers: tuple[float, float, float], text: str
) -> None:
    row = dict(zip(("p", "p_lower", "p_upper"), numbers, strict=True))
    assert chance([row], "", "p").cells == [text]


def test_a_probability_never_stands_alone(make: Make) -> None:
    ds = make(realisations=12, axes=AXES)
    text = printed(margins_table(ds), 220)
    rows = [line for line in text.splitlines() if line.strip()[:1].isdigit()]
    assert all(line.count("[") == 4 for line in rows)
    assert len(rows) == 9


def test_without_chance_there_are_no_probabilities_and_no_pairs(make: Make) -> None:
    ds = make(realisations=1)
    for name in ("capsize_probability", "failure_probability"):
        ds[name] = ds[name] * np.nan
    text = printed(margins_table(ds))
    assert "probability" not in text
    assert "Common storms" not in text
    assert "Left out" not in text


def test_runs_that_failed_before_settling_are_counted_apart(study: xr.Dataset) -> None:
    assert "settle" not in printed(margins_table(study))
    study["failed_before_settle"].values[1, 0] = 1
    text = flat(printed(margins_table(study)))
    assert "Runs that failed before settling are counted apart" in text
    assert summary_json(study)["cases"][1]["failed_before_settle"] == 1
    assert summary_json(study)["pairs"][0]["left_out"] == 2


def test_pairs_compare_the_same_storms(make: Make) -> None:
    ds = make(("a", "b"), realisations=4, axes=AXES)
    ds["outcome"].values[:] = Outcome.SURVIVED
    ds["outcome"].values[1] = [4, 4, 1, 5]
    ds["outcome"].values[4] = [1, 2, 3, 1]
    found = summary_json(ds)["pairs"]
    assert [pair["significant_height_m"] for pair in found] == [3.0, 5.0, 7.0]
    want = {"only_a": 1, "only_b": 1, "both": 1, "neither": 0, "left_out": 1}
    assert want.items() <= found[1].items()


def test_pairs_say_the_difference_its_limits_and_the_exact_test(make: Make) -> None:
    """By hand: of 8 storms A fails in 6 that B survives; p = 2 / 2^6."""
    ds = make(("a", "b"), realisations=8)
    ds["outcome"].values[:] = [[4, 4, 2, 3, 4, 4, 1, 1], [1] * 8]
    (pair,) = summary_json(ds)["pairs"]
    assert pair["difference"] == 0.75
    assert pair["difference_lower"] < 0.75 < pair["difference_upper"]
    assert pair["p_value"] == pytest.approx(2.0 / 2.0**6)
    assert "0.750 [" in printed(margins_table(ds), 160)
    assert "0.031" in printed(margins_table(ds), 160)


def test_failure_rate_counts_the_time_at_risk(make: Make) -> None:
    """By hand: 3 runs of 240 s from settle_s = 40 s on, one failing after 100 s: 460 s at risk."""
    ds = make(("a", "b"), realisations=3)
    ds.attrs["scenario_text"] = "[run]\nsettle_s = 40.0\n"
    ds["outcome"].values[:] = [[1, 2, 1], [1, 1, 1]]
    ds["failure_time"].values[:] = [[np.nan, 100.0, np.nan], [np.nan] * 3]
    ds["end_time"].values[:] = 240.0
    first, second = summary_json(ds)["cases"]
    assert first["time_at_risk_h"] == pytest.approx(460.0 / 3600.0)
    assert first["failure_rate_per_h"] == pytest.approx(3600.0 / 460.0)
    assert first["mean_time_to_failure_h"] == pytest.approx(460.0 / 3600.0)
    assert second["failure_rate_per_h"] == 0.0
    assert second["mean_time_to_failure_h"] is None
    assert second["mean_time_to_failure_h_lower"] == pytest.approx(0.16667 / 3.688879, rel=1e-4)
    assert "– [0.0452, ∞]" in printed(margins_table(ds), 220)


def test_texts_of_the_file_are_shown_and_never_obeyed(make: Make) -> None:
    ds = make(("[red]x[/red]", "b\x1b[31m"), title="[link=x]title\x07")
    text = printed(margins_table(ds))
    assert "[link=x]title\\x07" in text
    assert "[red]x[/red]" in text
    assert "b\\x1b[31m" in text


def test_many_cases_are_cut_and_the_way_to_all_is_said(make: Make) -> None:
    ds = make(("a", "b"), axes={"kg": ("m", tuple(np.linspace(5.0, 5.6, 25)))})
    short, whole = printed(margins_table(ds), 200), printed(margins_table(ds, all_rows=True), 200)
    assert "and 10 more cases: --all shows them" in short
    assert "--all" not in whole
    assert "\n  49  b" in whole
    assert "\n  49  b" not in short


def test_base_alone_needs_no_column_for_its_name(make: Make) -> None:
    assert "condition" not in printed(margins_table(make(["base"])))


def test_json_is_plain_and_missing_is_null(make: Make) -> None:
    ds = make(realisations=3)
    said = json.loads(json.dumps(summary_json(ds), allow_nan=False))
    assert said["cases"][0]["loll_angle_deg"] is None
    assert said["cases"][2]["loll_angle_deg"] == 15.0
    assert said["cases"][0]["not_solved"] == 1
    assert said["caution"] == CAUTION
    assert said["loll_warning"] == LOLL_WARNING
    assert said["cases"][1]["least_energy_margin"] == pytest.approx(
        float(ds["energy_margin"][1].min())
    )


def test_csv_says_the_same_with_units_in_the_header(make: Make) -> None:
    ds = make(realisations=3, axes=AXES)
    rows = list(csv.DictReader(io.StringIO(summary_csv(ds))))
    for row, held in zip(rows, summary_json(ds)["cases"], strict=True):
        assert {name: "" if value is None else str(value) for name, value in held.items()} == {
            name: value for name, value in row.items() if name != "caution"
        }
        assert row["caution"].startswith(CAUTION)
    assert {"gm_m", "significant_height_m", "static_heel_deg"} <= rows[0].keys()


@pytest.mark.parametrize("name", ["=1+1", "+1", "-1", "@x", "\t=1", " =1"])
def test_csv_holds_no_formula(make: Make, name: str) -> None:
    row = next(csv.DictReader(io.StringIO(summary_csv(make([name])))))
    assert row["condition"] == ("'" + name if name.isprintable() else "\\t=1")
    assert row["loll_angle_deg"] == ""


def test_static_table_splits_and_formats_by_unit() -> None:
    rows = [
        ("GM", "m", [0.3592] * 9),
        ("loll", "°", [float("nan")] * 9),
        ("area to 30°", "m·rad", [0.05123] * 9),
    ]
    labels = [f"{i}: [b]loading[/b]" for i in range(9)]
    text = printed(static_table(rows, labels, loll=True), 80)
    assert max(len(line) for line in text.splitlines()) <= 80
    assert text.count("GM [m]") > 1
    assert text.count("0.359") == 9
    assert "0.0512" in text
    assert "–" in text
    assert "[b]loading[/b]" in text
    assert CAUTION in flat(text)
    assert LOLL_WARNING in flat(text)
