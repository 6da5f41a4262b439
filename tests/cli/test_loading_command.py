"""`rollsim loading`: the sheets as text, JSON and CSV, the picture, and what has no loading."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from rollsim.cautions import LOLL_WARNING
from rollsim.cli.main import rollsim, run
from rollsim.library import load
from rollsim.scenario.load import load as load_study
from rollsim.show.figures.loading import loading_figure
from rollsim.show.query import cases
from rollsim.show.query.lineup import Source
from rollsim.show.query.loading import stored
from rollsim.show.report.write import report
from rollsim.show.tables.loading import nothing_in, sheets_csv, totals
from rollsim.store.reading import open_result
from rollsim.study.plan import make_plan
from rollsim.study.stability import static_dataset

FOUR = Path(__file__).parents[2] / "scenarios" / "four-loadings.toml"
CONTRACT = {
    "case", "condition", "displacement_t", "kg_m", "off_centre_m", "along_m", "free_surface_m",
    "gm_m", "draught_m", "draught_fore_m", "draught_aft_m", "rows",
}  # fmt: skip


def asked(*arguments: str) -> Result:
    done = CliRunner().invoke(rollsim, ["loading", str(FOUR), *arguments])
    assert done.exit_code == 0, done.output
    return done


def records() -> list[dict[str, object]]:
    made = json.loads(asked("--json").stdout)
    assert isinstance(made, list)
    return made


def test_a_sheet_for_every_loading(tmp_path: Path) -> None:
    picture = tmp_path / "sheet.png"
    text = asked("--out", str(picture)).stdout
    for words in ("departure", "timber", "moment [t·m]", "GM solid", "GM fluid", "free surfaces"):
        assert words in text
    assert "fuel port, 95 %" in text
    assert "nothing in: cargo in the hold, timber on deck, ice" in text
    assert picture.stat().st_size > 10_000


def test_json_holds_what_the_contract_names_and_adds_up() -> None:
    for record in records():
        assert record.keys() >= CONTRACT
        rows = record["rows"]
        assert isinstance(rows, list)
        mass = sum(row["mass_t"] for row in rows)
        moment = sum(row["mass_t"] * row["height_m"] for row in rows)
        surface = sum(row["free_surface_moment_tm"] for row in rows)
        assert record["displacement_t"] == pytest.approx(mass)
        assert record["kg_m"] == pytest.approx(moment / mass)
        assert record["free_surface_m"] == pytest.approx(surface / mass)
        assert record["gm_m"] == pytest.approx(
            record["km_m"] - record["kg_m"] - record["free_surface_m"]  # type: ignore[operator]
        )


def test_the_four_loadings_are_one_ship_at_four_draughts() -> None:
    by_name = {record["condition"]: record for record in records()}
    draughts = [
        by_name[name]["draught_m"] for name in ("ballast", "arrival", "timber", "departure")
    ]
    assert draughts == sorted(draughts)  # type: ignore[type-var]
    assert by_name["timber"]["windage_area_m2"] == 580.0
    assert 0.05 < by_name["timber"]["gm_m"] < 0.15  # type: ignore[operator]


def test_csv_holds_a_line_an_item_and_the_totals() -> None:
    rows = list(csv.DictReader(io.StringIO(asked("--csv").stdout)))
    totals_of = [row for row in rows if row["kind"] == "total"]
    assert len(totals_of) == 4
    first = [row for row in rows if row["case"] == "0" and row["kind"] != "total"]
    assert sum(float(row["mass_t"]) for row in first) == pytest.approx(
        float(totals_of[0]["mass_t"])
    )


def test_a_name_is_no_formula_for_a_spreadsheet() -> None:
    row = {"name": "=1+1", "kind": "weight", "mass_t": 1.0, "height_m": 1.0}
    text = sheets_csv([{"case": 0, "condition": "base", "kg_m": 1.0, "rows": [row]}])
    assert "'=1+1" in text


def test_what_has_no_loading_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["loading", str(FOUR.with_name("beam-gale.toml"))]) == 2
    assert "ship.loading: is missing" in capsys.readouterr().err
    assert run(["loading", str(FOUR), "--json", "--csv"]) == 2


def test_a_negative_gm_is_shown_with_its_warning() -> None:
    record = records()[3] | {"gm_m": -0.07, "km_m": 5.40}
    assert ("upright", "no stable rest: she lolls or lies over") in totals(record)
    assert nothing_in(record).startswith("nothing in: double bottom 1 port")
    figure = loading_figure([record], "x")
    words = " ".join(" ".join(text.get_text().split()) for text in figure.texts)
    assert LOLL_WARNING in words


@pytest.mark.slow
def test_a_result_carries_its_sheets_into_the_report(tmp_path: Path) -> None:
    text = FOUR.read_text(encoding="utf-8").replace("duration_s = 600.0", "duration_s = 90.0")
    path = tmp_path / "four.toml"
    path.write_text(text.replace("realisations = 12", "realisations = 1"), encoding="utf-8")
    curves = FOUR.with_name("coaster-curves.csv").read_text(encoding="utf-8")
    (tmp_path / "coaster-curves.csv").write_text(curves, encoding="utf-8")
    with load(path).run(tmp_path / "four.nc") as ds:
        sheets = stored(ds)
        assert [sheet["condition"] for sheet in sheets] == [
            "departure", "arrival", "ballast", "timber",
        ]  # fmt: skip
        html = report([Source(ds, "four.nc", "0")])
    assert "Loading sheet: timber." in html
    assert "What the loadings come to." in html


SWEPT = """
[sweep]
"ship.loading.tanks.0.filling_percent" = [20.0, 60.0]
"ship.loading.weights.0.mass_t" = [2000.0, 2250.0]
"""


def test_check_run_and_pictures_name_the_tank_and_the_weight_of_an_axis(tmp_path: Path) -> None:
    """And its unit as people write it: a filling is of some tank, in per cent."""
    words = ("filling of fuel port [%]", "mass of cargo in the hold [t]")
    file, result = tmp_path / "tanks.toml", tmp_path / "tanks.nc"
    text = FOUR.read_text().partition("[[conditions]]")[0].replace("realisations = 12", "")
    (tmp_path / "coaster-curves.csv").write_text(FOUR.with_name("coaster-curves.csv").read_text())
    file.write_text(text + SWEPT)
    checked = CliRunner().invoke(rollsim, ["check", str(file)])
    assert f"{words[0]}: 20, 60\n" in checked.stdout
    assert f"{words[1]}: 2000, 2250\n" in checked.stdout
    done = CliRunner().invoke(rollsim, ["run", str(file), "-o", str(result), "--no-plots"])
    assert done.exit_code == 0, done.output
    with open_result(result) as ds:
        assert tuple(cases.axis_label(ds, axis) for axis in cases.sweep_axes(ds)) == words
        assert cases.case_label(ds, 1, [0, 1]) == "1: mass of cargo in the hold 2250 t"
    shown = static_dataset(make_plan(load_study(file)))
    assert tuple(cases.axis_label(shown, axis) for axis in cases.sweep_axes(shown)) == words
