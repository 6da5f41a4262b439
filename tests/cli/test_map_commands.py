"""`rollsim basin` and `rollsim response` from the shell: table, JSON, picture, refusals."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from cli_samples import Command
from study_files import SHIP, written

from rollsim.errors import EXIT_DONE, EXIT_REFUSED
from rollsim.steady import sweep
from rollsim.study import response

SWELL = '[sea]\nkind = "regular"\nheight_m = 0.6\nperiod_s = 9.0\n'
BASIN = (
    "[basin]\nroll_deg = { from = -19.0, to = 19.0, steps = 8 }\n"
    "roll_rate_deg_per_s = { from = -9.0, to = 9.0, steps = 6 }\n"
)
RESPONSE = '[response]\nkey = "sea.period_s"\nfrom = 8.0\nto = 10.0\n'
EQUILIBRIA = '[equilibria]\nkey = "ship.gravity.kg_m"\nfrom = 5.2\nto = 5.6\n'
OBSERVED = (
    "[observed]\nheel_deg = 5.0\nheel_sd_deg = 1.0\nkg_m = 5.0\nkg_sd_m = 0.1\n"
    "off_centre_sd_m = 0.05\n"
)
HEIGHTS = '[sweep]\n"sea.height_m" = [0.3, 0.6]\n'
SCENARIO = f"{SHIP}{SWELL}[run]\nduration_s = 20.0\n{BASIN}{RESPONSE}{EQUILIBRIA}{HEIGHTS}"


@pytest.fixture(autouse=True)
def few(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(response, "SWEPT", 4)
    monkeypatch.setattr(response, "GRIDS", 2)
    monkeypatch.setattr(sweep, "FEWEST", 10)
    monkeypatch.setattr(sweep, "MOST", 10)


def test_basin(rollsim: Command, tmp_path: Path) -> None:
    file = written(tmp_path, SCENARIO)
    said = rollsim("basin", file)
    assert said.code == EXIT_DONE
    assert "The approved stability information" in said.out
    assert "[rad²/s]" in said.out
    drawn = {path.name for path in file.parent.glob("results/*")}
    assert drawn == {"trial-basin.nc", "trial-basin.png", "trial-basin-integrity.png"}
    again = rollsim("basin", file, "--json", "--no-plots", "--workers", "1", "-o", "other.nc")
    rows = json.loads(again.out)
    assert [row["height_m"] for row in rows] == [0.3, 0.6]
    assert all(row["starts"] == 48 for row in rows)
    assert (file.parent / "other.nc").exists()


@pytest.mark.parametrize("command", ["basin", "equilibria", "response"])
def test_the_file_alone_gives_the_same_table_and_pictures(
    rollsim: Command, tmp_path: Path, command: str
) -> None:
    file = written(tmp_path, SCENARIO)
    said = rollsim(command, file)
    result = file.parent / "results" / f"trial-{command}.nc"
    drawn = {path.name: path.read_bytes() for path in result.parent.glob("*.png")}
    assert drawn
    assert rollsim("summary", result).out == said.out
    numbers = rollsim("summary", result, "--json").out
    assert numbers == rollsim(command, file, "--json", "--no-plots").out
    (tmp_path / "drawn").mkdir()
    told = rollsim("plot", result, "-o", tmp_path / "drawn")
    assert told.code == EXIT_DONE
    again = {path.name: path.read_bytes() for path in (tmp_path / "drawn").glob("*.png")}
    assert again == drawn
    refused = rollsim("plot", result, "--what", "phase")
    assert refused.code == EXIT_REFUSED
    assert "--what belongs to results of rollsim run" in refused.err
    refused = rollsim("summary", result, "--csv")
    assert f"this is the file of rollsim {command}" in " ".join(refused.err.split())


def test_check_says_what_the_maps_would_make(rollsim: Command, tmp_path: Path) -> None:
    still = SCENARIO.replace(BASIN, f"{BASIN}realisation = 3\n")
    said = rollsim("check", written(tmp_path, still))
    assert "rollsim basin makes 2 cases x 48 starts = 96 runs, about " in said.out
    assert "rollsim equilibria follows 2 cases over ship.gravity.kg_m from 5.2 to 5.6" in said.out
    assert "rollsim response follows 2 cases over sea.period_s from 8 to 10" in said.out
    assert "basin.realisation: nothing is random here: every storm is the same, got 3" in said.err


def test_response(rollsim: Command, tmp_path: Path) -> None:
    file = written(tmp_path, SCENARIO)
    said = rollsim("response", file, "--json")
    assert said.code == EXIT_DONE
    rows = json.loads(said.out)
    assert [row["case"] for row in rows] == [0, 1]
    assert all(row["branches"][0]["from"] == pytest.approx(8.0) for row in rows)
    assert (file.parent / "results" / "trial-response.png").exists()
    table = rollsim("response", file, "--no-plots")
    assert "Steady responses over the wave period" in table.out


def test_equilibria(rollsim: Command, tmp_path: Path) -> None:
    file = written(tmp_path, SCENARIO)
    said = rollsim("equilibria", file)
    assert said.code == EXIT_DONE
    assert "never correct it by shifting or filling on the high side" in " ".join(said.out.split())
    assert "Heels of rest over ship.gravity.kg_m" in said.out
    drawn = {path.name for path in file.parent.glob("results/*")}
    assert drawn == {"trial-equilibria.nc", "trial-equilibria.png"}
    again = rollsim("equilibria", file, "--json", "--no-plots", "-o", "other.nc")
    rows = json.loads(again.out)
    assert [row["key"] for row in rows] == ["ship.gravity.kg_m"] * 2
    assert all(row["present"]["heel_deg"] == pytest.approx(0.0) for row in rows)
    assert all(row["branches"] for row in rows)


@pytest.mark.parametrize("command", ["basin", "response", "equilibria"])
def test_a_file_without_the_table(rollsim: Command, tmp_path: Path, command: str) -> None:
    bare = SCENARIO.replace(BASIN, "").replace(RESPONSE, "").replace(EQUILIBRIA, "")
    said = rollsim(command, written(tmp_path, bare))
    assert said.code == EXIT_REFUSED
    assert f"{command}: is missing" in said.err
    assert f"add the table [{command}] with" in said.err


def test_another_scenario_is_not_replaced(rollsim: Command, tmp_path: Path) -> None:
    file = written(tmp_path, SCENARIO)
    assert rollsim("basin", file, "--no-plots").code == EXIT_DONE
    file.write_text(SCENARIO.replace("steps = 8", "steps = 9"))
    assert rollsim("basin", file, "--no-plots").code == EXIT_REFUSED
    assert rollsim("basin", file, "--no-plots", "--replace").code == EXIT_DONE


def test_heel_cause(rollsim: Command, tmp_path: Path) -> None:
    file = written(tmp_path, SCENARIO.replace(HEIGHTS, OBSERVED))
    said = rollsim("heel-cause", file)
    assert said.code == EXIT_DONE
    assert "never correct it by shifting or filling on the high side" in " ".join(said.out.split())
    assert (file.parent / "results" / "trial-heel-cause.png").exists()
    (row,) = json.loads(rollsim("heel-cause", file, "--json", "--no-plots").out)
    assert row["list"] + row["loll"] + row["both"] == pytest.approx(1.0)
    assert row["gm_m_lower"] < row["gm_m"] < row["gm_m_upper"]
    assert "lies upright" not in said.out
    seen = OBSERVED.replace("heel_deg = 5.0", "heel_deg = -1.9")
    slight = rollsim("heel-cause", written(tmp_path, SCENARIO.replace(HEIGHTS, seen)), "--no-plots")
    assert "She lies upright within the errors of the heel" in " ".join(slight.out.split())


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("heel_sd_deg = 1.0", "heel_sd_deg = 0.0", "observed.heel_sd_deg: must be above 0"),
        ("heel_deg = 5.0", "heel_deg = 101.0", "must lie within the levers"),
        ("kg_sd_m = 0.1", "kg_sd_m = 0.1\nroll_period_s = 9.0", "roll_period_sd_s: is missing"),
        ("heel_deg = 5.0", "heel_deg = 30.0", "no state of the ship explains"),
    ],
)
def test_what_heel_cause_refuses(
    rollsim: Command, tmp_path: Path, old: str, new: str, words: str
) -> None:
    text = SCENARIO.replace(HEIGHTS, OBSERVED.replace(old, new))
    said = rollsim("heel-cause", written(tmp_path, text))
    assert said.code == EXIT_REFUSED
    assert words in said.err


def test_check_reads_the_tables(rollsim: Command, tmp_path: Path) -> None:
    faulty = SCENARIO.replace('key = "sea.period_s"', 'key = "sea.heading_deg"')
    said = rollsim("check", written(tmp_path, faulty))
    assert said.code == EXIT_REFUSED
    assert 'response.key: must be "sea.period_s" or "sea.height_m"' in said.err
