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
from rollsim.measures.outcome import EVENTS
from rollsim.names import Outcome
from rollsim.show.tables.cells import chance, margin
from rollsim.show.tables.columns import Column
from rollsim.show.tables.margins import margins_table, static_table
from rollsim.show.tables.programs import summary_csv, summary_json

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


@pytest.mark.parametrize(
    ("value", "text"),
    [(0.314, "0.31"), (0.003, "0.003"), (-0.0004, "-0.0004"), (0.0, "0.00"), (-1.25, "-1.25"),
     (None, "–"), (-1e-9, "0.000000")],
)  # fmt: skip
def test_a_margin_is_written_so_that_its_side_of_the_limit_is_seen(
    value: float | None, text: str
) -> None:
    assert margin(value) == text


def test_where_nothing_is_random_the_one_run_is_counted_once(make: Make) -> None:
    ds = make(["calm", "gale"], realisations=5)
    for part in ("", "_lower", "_upper"):
        ds[f"failure_probability{part}"].values[0] = np.nan
        ds[f"capsize_probability{part}"].values[0] = np.nan
    dims = ("case", "realisation")
    ds["outcome"].values[:] = Outcome.FLOODED
    ds["failed_before_settle"].values[:] = 1
    ds["upcrossings"] = (dims, np.full((2, 5), 11.0))
    ds["flooding_time"] = (dims, np.full((2, 5), 30.0))
    calm, gale = summary_json(ds)["cases"]
    names = ("runs", "flooded", "failed_before_settle", "upcrossings", "passed_flooding")
    assert [calm[name] for name in names] == [1, 1, 1, 11, 1]
    assert [gale[name] for name in names] == [5, 5, 5, 55, 5]


def test_runs_that_failed_before_settling_stay_in_every_count(study: xr.Dataset) -> None:
    assert "before settling" not in printed(margins_table(study))
    before = summary_json(study)
    study["failed_before_settle"].values[1, 0] = 1
    text = flat(printed(margins_table(study)))
    assert "Runs that passed a limit before settle_s stay in every count." in text
    after = summary_json(study)
    assert after["cases"][1]["failed_before_settle"] == 1
    assert after["pairs"] == before["pairs"]
    assert after["cases"][1]["survived"] == before["cases"][1]["survived"]


@pytest.mark.parametrize(("early", "warned"), [(2, False), (3, True)])
def test_more_than_one_early_failure_in_twenty_is_warned_of(
    make: Make, early: int, warned: bool
) -> None:
    ds = make(["a"], realisations=40)
    ds["outcome"].values[:] = Outcome.ROLL_LIMIT
    ds["failed_before_settle"].values[0, :early] = 1
    assert bool(summary_json(ds)["warnings"]) is warned
    said = "Warning: more than 1 run in 20 passed a limit before settle_s in case 0 (7.5 %)."
    assert (said in flat(printed(margins_table(ds)))) is warned


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


def test_rates_are_those_of_the_file_and_the_mean_time_their_inverse(make: Make) -> None:
    ds = make(("a", "b"), realisations=3)
    ds["failure_rate"].values[:] = [2.0, 0.0]
    ds["failure_rate_lower"].values[:] = [0.5, 0.0]
    ds["failure_rate_upper"].values[:] = [8.0, 4.0]
    first, second = summary_json(ds)["cases"]
    assert first["failure_rate_per_h"] == 2.0
    assert first["mean_time_to_failure_h"] == 0.5
    assert first["mean_time_to_failure_h_lower"] == 0.125
    assert first["mean_time_to_failure_h_upper"] == 2.0
    assert second["mean_time_to_failure_h"] is None
    assert second["mean_time_to_failure_h_lower"] == 0.25
    text = printed(margins_table(ds), 240)
    assert "2 [0.5, 8]" in text
    assert "– [0.25, ∞]" in text


def test_the_event_chooses_rates_and_pairs(make: Make) -> None:
    ds = make(("a", "b"), realisations=8)
    ds["outcome"].values[:] = [[4, 2, 2, 2, 1, 1, 1, 1], [4, 4, 4, 1, 1, 1, 1, 1]]
    assert summary_json(ds)["of"] == "failure"
    (failure,), (capsize,) = (summary_json(ds, of)["pairs"] for of in EVENTS[::-1])
    assert (failure["only_a"], failure["only_b"]) == (1, 0)
    assert (capsize["only_a"], capsize["only_b"]) == (0, 2)
    text = flat(printed(margins_table(ds, event="capsize"), 240))
    assert "Capsize rate: events per hour" in text
    assert "which condition capsized" in text
    assert "failure" not in text
    ds["roll_limit"] = ds["roll_limit"] * np.nan
    assert summary_json(ds)["of"] == "capsize"


def test_files_of_an_older_program_have_no_column_for_what_they_lack(make: Make) -> None:
    ds = make(("a", "b"), realisations=4)
    old = ds.drop_vars(
        [name for name in ds.data_vars if "_rate" in str(name) and name != "roll_rate"]
    )
    text = flat(printed(margins_table(old), 240))
    assert "rate" not in text.replace("separate", "")
    assert "failure_rate_per_h" not in summary_json(old)["cases"][0]
    assert "failure probability" in text


def test_what_newer_files_hold_is_shown(make: Make) -> None:
    ds = make(("a", "b"), realisations=4)
    ones = np.ones((2, 4))
    for name, size in (("roll_mean", 2.0), ("roll_std", 3.0), ("side_changes", 1.0)):
        ds[name] = (("case", "realisation"), size * ones)
    ds["limit_margin"] = (("case", "realisation"), 0.25 * ones)
    ds["roll_period"] = ("case", [12.5, 14.0])
    case = summary_json(ds)["cases"][0]
    assert (case["roll_mean_deg"], case["roll_std_deg"], case["side_changes"]) == (2.0, 3.0, 4)
    assert (case["least_limit_margin"], case["roll_period_s"]) == (0.25, 12.5)
    text = printed(margins_table(ds), 240)
    assert "14.0" in text
    assert "0.25" in text


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


def test_static_table_splits_where_the_width_ends() -> None:
    rows = [
        Column("GM [m]", ["0.359"] * 9),
        Column("loll P / S [°]", ["–"] * 9),
        Column("area to 30° [m·rad]", ["0.0512"] * 9),
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
