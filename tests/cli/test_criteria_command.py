"""`rollsim criteria`: JSON, CSV, table and picture; the criteria in result, summary and report."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from cli_samples import Command
from rich.console import Console

import rollsim as package
from rollsim.cautions import CAUTION, LOLL_WARNING
from rollsim.cli.main import run
from rollsim.show.query.criteria import marks_of, rows_of
from rollsim.show.report.criteria import _areas
from rollsim.show.tables.greatest_kg import greatest_kg_table

SCENARIO = """
format = 1
title = "criteria"
[ship]
name = "Marit"
length_m = 84.0
beam_m = 14.0
draught_m = 5.2
displacement_t = 4250.0
levers = { kind = "polynomial", gz_m_per_rad = [0.9, 0.0, 0.3, 0.0, -0.75], kg_m = 5.0, heel_max_deg = 70.0 }
gravity = { kg_m = 5.0 }
inertia = { gyradius_m = 5.3 }
damping = { linear_per_s = 0.05 }
windage = { area_m2 = 620.0, lever_m = 6.4 }
form = { bilge_keel_area_m2 = 24.0 }
[wind]
speed_mps = 20.0
from = "port"
[run]
duration_s = 20.0
[[conditions]]
name = "stiff"
[[conditions]]
name = "without GM"
"ship.gravity.kg_m" = 6.0
"""  # noqa: E501
KEYS = {"case", "condition", "rule", "clause", "quantity", "unit", "required", "found",
        "fulfilled", "margin", "note"}  # fmt: skip


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "own.toml"
    path.write_text(SCENARIO, encoding="utf-8")
    return path


def test_json_is_a_list_of_lines(rollsim: Command, file: Path, tmp_path: Path) -> None:
    said = rollsim("criteria", file, "--json")
    assert said.code == 0
    lines = json.loads(said.out)
    assert all(line.keys() == KEYS for line in lines)
    assert {line["rule"] for line in lines} == {
        "general", "weather", "weather-long-periods", "naval-beam-wind",
    }  # fmt: skip
    assert {(line["case"], line["condition"]) for line in lines} == {
        (0, "stiff"), (1, "without GM"),
    }  # fmt: skip
    gm = next(line for line in lines if line["quantity"] == "gm")
    assert (gm["found"], gm["fulfilled"], gm["unit"]) == (pytest.approx(0.9), True, "m")
    assert not list(tmp_path.rglob("*.png"))


def test_a_criterion_that_fails_is_a_result(rollsim: Command, file: Path) -> None:
    said = rollsim("criteria", file, "--rule", "general", "--case", "1", "--json")
    assert said.code == 0
    lines = json.loads(said.out)
    assert {line["rule"] for line in lines} == {"general"}
    assert {line["fulfilled"] for line in lines} <= {False, None}


def test_the_table_and_its_picture(rollsim: Command, file: Path, tmp_path: Path) -> None:
    said = rollsim("criteria", file, "--rule", "general", "--rule", "weather")
    assert said.code == 0
    text = " ".join(said.out.split())
    assert "0: stiff, general: fulfilled" in text
    assert "1: without GM, weather: no verdict" in text
    assert "GM is not above 0" in text
    assert "from memory" not in text
    assert CAUTION in text
    assert LOLL_WARNING in text
    assert (tmp_path / "results" / "own-criteria.png").stat().st_size > 10_000


def test_csv_has_a_row_for_every_line(rollsim: Command, file: Path) -> None:
    said = rollsim("criteria", file, "--rule", "weather", "--csv")
    header, *rows = said.out.splitlines()
    assert set(header.split(",")) == KEYS
    assert len(rows) == 10


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--rule", "class"), "weather-long-periods"),
        (("--case", "7"), "no such case: 7"),
        (("--json", "--csv"), "take one of them"),
    ],
)
def test_what_is_not_there_is_refused(
    rollsim: Command, file: Path, arguments: tuple[str, ...], words: str
) -> None:
    said = rollsim("criteria", file, *arguments)
    assert said.code == 2
    assert words in said.err


def test_greatest_kg_with_its_governing_line(rollsim: Command, file: Path, tmp_path: Path) -> None:
    said = rollsim("criteria", file, "--greatest-kg", "--rule", "general", "--json")
    lines = json.loads(said.out)
    first = [line for line in lines if line["case"] == 0]
    least = min(first, key=lambda line: line["greatest_kg_m"])
    assert [line for line in first if line["governing"]] == [least]
    gm = next(line for line in first if line["quantity"] == "gm")
    assert gm["greatest_kg_m"] == pytest.approx(5.75, abs=1e-5)
    assert {line["rule"] for line in lines} == {"general"}
    said = rollsim("criteria", file, "--greatest-kg")
    text = " ".join(said.out.split())
    assert "0: stiff: 4250 t, KG 5.000 m" in text
    assert "m too high" in text
    assert (tmp_path / "results" / "own-greatest-kg.png").stat().st_size > 10_000


def test_a_range_of_displacements_runs_upwards(rollsim: Command, file: Path) -> None:
    said = rollsim("criteria", file, "--displacement", "4000", "3000", "5")
    assert said.code == 2
    assert "no range of displacements; FROM above 0, TO above FROM" in said.err
    said = rollsim("criteria", file, "--displacement", "3000", "4000", "5")
    assert said.code == 2
    assert "the levers are for one displacement alone" in said.err


def test_storms_come_from_a_result_of_critical_alone(rollsim: Command, file: Path) -> None:
    said = rollsim("criteria", file, "--critical", "none.nc")
    assert said.code == 2
    assert "none.nc" in said.err
    other = file.with_name("other.nc")
    package.load(file).run(other, workers=1).close()
    said = rollsim("criteria", file, "--critical", other)
    assert said.code == 2
    assert "is no result of rollsim critical" in said.err


def test_result_summary_and_report_carry_the_criteria(
    rollsim: Command, file: Path, tmp_path: Path
) -> None:
    result = tmp_path / "own.nc"
    package.load(file).run(result, workers=1).close()
    summary = " ".join(rollsim("summary", result).out.split())
    assert "Loading and published criteria, at rest at the start" in summary
    assert "NOT fulfilled" in summary
    assert "0 stiff 4250.0 5.000" in summary
    assert "1 without GM, not fulfilled: general: " in summary
    told = json.loads(rollsim("summary", result, "--json").out)["cases"][0]
    assert (told["displacement_t"], told["kg_m"]) == (4250.0, 5.0)
    assert told["free_surface_m"] == 0.0
    assert told["criteria_general"] == "fulfilled"
    assert "criteria_weather_long_periods" in rollsim("summary", result, "--csv").out
    assert rollsim("report", result).code == 0
    page = (tmp_path / "own-report.html").read_text(encoding="utf-8")
    assert "<h2>Published criteria</h2>" in page
    assert "2008 IS Code A 2.2.1" in page
    assert "<td>weather-long-periods</td>" in page
    assert "GM is not above 0" in page
    assert "area b against area a, in the gust after a roll to windward" in page


def test_the_report_draws_the_areas_that_the_rule_has_found(file: Path, tmp_path: Path) -> None:
    with package.load(file).run(tmp_path / "own.nc", workers=1) as ds:
        (each,) = _areas(ds)
        found = {row["quantity"]: row["found"] for row in rows_of(ds) if row["rule"] == "weather"
                 and row["case"] == 0}  # fmt: skip
        assert each.marks["area_b"] == found["area_b"]
        side = each.ship.side
        gust = each.marks["gust_lever"]
        b = side.area(each.marks["meeting"], each.marks["end"])
        b -= gust * (each.marks["end"] - each.marks["meeting"])
        assert b == pytest.approx(found["area_b"], abs=1e-5)
        ds.attrs["criteria_marks"] = "[1]"
        assert _areas(ds) == []
        assert marks_of(ds.isel(case=[1])) == {}


def test_loading_sheets_are_drawn_in_the_report_on_request(tmp_path: Path) -> None:
    loading = "loading = { lightship = { mass_t = 4250.0, height_m = 5.0 } }"
    text = SCENARIO.replace("gravity = { kg_m = 5.0 }", loading)
    text = text.partition("[[conditions]]")[0].replace("displacement_t = 4250.0\n", "")
    package.loads(text).run(tmp_path / "a.nc", workers=1).close()
    pages = []
    for flags in ([], ["--loadings"]):
        assert run(["report", str(tmp_path / "a.nc"), *flags]) == 0
        pages.append((tmp_path / "a-report.html").read_text(encoding="utf-8"))
    assert ["Where the masses lie" in page for page in pages] == [False, True]
    assert "Weights and tanks stand in the loading sheets" in pages[0]


def test_without_a_form_nothing_is_added(rollsim: Command, file: Path, tmp_path: Path) -> None:
    bare = file.read_text(encoding="utf-8").replace("form = { bilge_keel_area_m2 = 24.0 }\n", "")
    file.write_text(bare, encoding="utf-8")
    result = tmp_path / "bare.nc"
    with package.load(file).run(result, workers=1) as ds:
        assert "criteria" not in ds.attrs
    assert "Published criteria" not in rollsim("summary", result).out
    said = rollsim("criteria", file, "--rule", "weather", "--json")
    assert json.loads(said.out)[1]["found"] is not None


FORM = {
    "block_coefficient = 1.2": "ship.form.block_coefficient",
    'bilge = "hard"': "ship.form.bilge",
    "deck_edge_deg = 95.0": "ship.form.deck_edge_deg",
    "bilge_keel_area_m2 = -1.0": "ship.form.bilge_keel_area_m2",
    "keels = 3.0": "ship.form.keels",
}


@pytest.mark.parametrize("entry", FORM)
def test_faults_of_the_form_are_told(rollsim: Command, file: Path, entry: str) -> None:
    text = file.read_text(encoding="utf-8").replace("bilge_keel_area_m2 = 24.0", entry)
    file.write_text(text, encoding="utf-8")
    said = rollsim("criteria", file)
    assert said.code == 2
    assert FORM[entry] in said.err


@pytest.mark.parametrize(
    ("entry", "words"),
    [
        ("block_coefficient = 0.45", "differs from that of displacement"),
        ("waterline_length_m = 8.4", "lies outside the usual 0.8 to 1.2 of length_m"),
        ("bilge_keel_area_m2 = 240.0", "is more than 4 % of length times beam"),
        ('bilge = "sharp", bilge_keel_area_m2 = 20.0', "is not read with sharp bilges"),
    ],
)
def test_doubtful_entries_of_the_form_are_told(
    rollsim: Command, file: Path, entry: str, words: str
) -> None:
    text = file.read_text(encoding="utf-8").replace("bilge_keel_area_m2 = 24.0", entry)
    file.write_text(text, encoding="utf-8")
    said = rollsim("check", file)
    assert said.code == 0
    assert words in " ".join(said.err.split())


def test_numbers_of_json_are_plain(rollsim: Command, file: Path) -> None:
    for line in json.loads(rollsim("criteria", file, "--json").out):
        for name in ("required", "found", "margin"):
            assert line[name] is None or np.isfinite(line[name])


@pytest.mark.parametrize(
    ("note", "words"), [("", "too high"), ("T is 20 s", "above the last verdict")]
)
def test_a_kg_without_a_verdict_is_not_called_too_high(note: str, words: str) -> None:
    row = {
        "case": 0, "displacement_t": 4000.0, "kg_m": 5.4, "rule": "weather",
        "quantity": "area_ratio", "greatest_kg_m": 5.3, "governing": True, "note": note,
    }  # fmt: skip
    console = Console(width=100)
    with console.capture() as captured:
        console.print(greatest_kg_table("title", [row], {0: "0: tender"}, []))
    assert f"0: tender: 4000 t, KG 5.400 m, 0.100 m {words}" in captured.get()
