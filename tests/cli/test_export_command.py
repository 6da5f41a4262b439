"""`rollsim export`: plain columns that read back as what the result holds."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import numpy as np
import pytest
import xarray as xr

import rollsim
from rollsim.cautions import CAUTION
from rollsim.cli.main import run
from rollsim.errors import InputError
from rollsim.show.tables.export import run_csv

HEADER = (
    "t_s,roll_angle_deg,roll_rate_deg_per_s,wave_slope_deg,heeling_lever_m,"
    "centre_of_gravity_y_m,centre_of_gravity_z_m"
)
NAMES = ("t", "roll_angle", "roll_rate", "wave_slope", "heeling_lever")
SCENARIO = """
format = 1
title = "=cmd(), a title"
[ship]
name = "Marit"
length_m = 84.0
beam_m = 14.0
draught_m = 5.2
displacement_t = 4250.0
levers = { kind = "wall-sided", km_m = 5.7, bm_m = 2.9, heel_max_deg = 50.0 }
gravity = { kg_m = 5.2 }
inertia = { gyradius_m = 5.3 }
[[events]]
kind = "move-weight"
at_s = 10.0
over_s = 10.0
mass_t = 30.0
across_m = 3.0
up_m = 0.5
[start]
roll_deg = 12.0
[sea]
kind = "irregular"
spectrum = "bretschneider"
significant_height_m = 4.0
peak_period_s = 9.0
[run]
duration_s = 30.0
realisations = 2
[[conditions]]
name = "light"
[[conditions]]
name = "deck cargo"
"ship.gravity.kg_m" = 5.5
"""


@pytest.fixture(scope="module")
def result(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A result of two loadings in two storms; a weight is moved."""
    path = tmp_path_factory.mktemp("export") / "a.nc"
    rollsim.loads(SCENARIO).run(path, workers=1).close()
    return path


@pytest.fixture(scope="module")
def ds(result: Path) -> xr.Dataset:
    """The result."""
    return rollsim.open_result(result)


def test_columns_read_back_exactly(ds: xr.Dataset) -> None:
    text = run_csv(ds, 1, 0)
    assert text.splitlines()[0] == HEADER
    rows = np.genfromtxt(io.StringIO(text), delimiter=",", names=True)
    for name, column in zip(NAMES, HEADER.split(",")[:5], strict=True):
        held = ds[name].values if name == "t" else ds[name].values[1, 0]
        assert np.array_equal(rows[column].astype(held.dtype), held)
    for axis in "yz":
        held = ds[f"centre_of_gravity_{axis}"].values[1]
        assert np.array_equal(rows[f"centre_of_gravity_{axis}_m"], held)
        assert held[-1] > held[0]


def test_missing_values_are_empty(ds: xr.Dataset) -> None:
    ended = ds.copy(deep=True)
    for name in NAMES[1:]:
        ended[name].values[0, 1, 20:] = np.nan
    rows = list(csv.DictReader(io.StringIO(run_csv(ended, 0, 1))))
    assert [rows[20][key] for key in HEADER.split(",")[1:5]] == [""] * 4
    assert rows[20]["t_s"] == "10.0"
    assert "nan" not in run_csv(ended, 0, 1)


def test_a_run_without_history_is_refused(ds: xr.Dataset) -> None:
    bare = ds.drop_vars(NAMES[1:])
    with pytest.raises(InputError, match="no history of realisation 1 of case 0"):
        run_csv(bare, 0, 1)


def test_notes_are_lines_of_one_cell_that_start_no_formula(ds: xr.Dataset) -> None:
    lines = run_csv(ds, 0, 0, notes=True).splitlines()
    notes = lines[: lines.index(HEADER)]
    assert notes[0] == "# =cmd()  a title"
    assert notes[1] == "# case 0: light"
    assert any(note.startswith("# scenario_sha256 ") for note in notes)
    assert all(next(csv.reader([note])) == [note] for note in notes)
    assert np.genfromtxt(lines, delimiter=",", skip_header=len(notes) + 1).shape == (61, 7)


def test_a_run_is_chosen_by_name_and_stands_beside_the_result(
    result: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    arguments = ["--case", "condition=deck cargo", "--realisation", "1"]
    assert run(["export", str(result), *arguments]) == 0
    made = result.with_name("a-case-1-run-1.csv")
    said = capsys.readouterr()
    assert said.out == f"{made}\n"
    assert CAUTION in said.err
    assert made.read_text(encoding="utf-8").startswith(HEADER + "\n")


def test_notes_carry_the_caution_into_the_file(result: Path, tmp_path: Path) -> None:
    out = tmp_path / "run.csv"
    arguments = ["--case", "0", "--realisation", "0", "--notes", "-o", str(out)]
    assert run(["export", str(result), *arguments]) == 0
    assert "# For study and training only." in out.read_text(encoding="utf-8")


def test_nothing_is_chosen_silently(result: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["export", str(result)]) == 2
    said = capsys.readouterr().err
    assert "--case: say which one" in said
    assert "--realisation: say which one" in said
    assert run(["export", str(result), "--case", "2", "--realisation", "0"]) == 2
    assert "no such case" in capsys.readouterr().err
    assert run(["export", str(result), "--case", "0", "--realisation", "9"]) == 2
    assert "no such realisation: 9" in capsys.readouterr().err


def test_the_result_is_never_written_over(result: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = result.read_bytes()
    arguments = ["--case", "0", "--realisation", "0", "-o", str(result)]
    assert run(["export", str(result), *arguments]) == 2
    assert "is the result itself" in capsys.readouterr().err
    assert result.read_bytes() == before
