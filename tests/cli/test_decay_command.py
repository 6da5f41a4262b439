"""`rollsim decay`: a run of the program's own, exported and read again; JSON, table and picture."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import numpy as np
import pytest
from cli_samples import Command

import rollsim as package
from rollsim.cautions import CAUTION

SCENARIO = """
format = 1
title = "decay"
[ship]
name = "Marit"
length_m = 84.0
beam_m = 14.0
draught_m = 5.2
displacement_t = 4250.0
levers = { kind = "wall-sided", km_m = 5.9, bm_m = 2.9, heel_max_deg = 50.0 }
gravity = { kg_m = 5.2 }
inertia = { gyradius_m = 5.3 }
damping = { linear_per_s = 0.02, quadratic = 0.3 }
[start]
roll_deg = 20.0
[run]
duration_s = 160.0
output_step_s = 0.1
"""


@pytest.fixture
def record(rollsim: Command, tmp_path: Path) -> Path:
    """The roll of the scenario as `rollsim export` writes it, with noise of a tenth of a degree."""
    scenario = tmp_path / "own.toml"
    scenario.write_text(SCENARIO, encoding="utf-8")
    package.load(scenario).run(tmp_path / "own.nc", workers=1).close()
    path = tmp_path / "own.csv"
    assert rollsim("export", tmp_path / "own.nc", "-o", path).code == 0
    header, *rows = path.read_text(encoding="utf-8").splitlines()
    place = header.split(",").index("roll_angle_deg")
    noise = np.random.default_rng(3).normal(0.0, 0.1, len(rows))
    cells = [row.split(",") for row in rows]
    for row, error in zip(cells, noise, strict=True):
        row[place] = f"{float(row[place]) + error:.4f}"
    path.write_text("\n".join([header, *map(",".join, cells)]), encoding="utf-8")
    return path


def test_own_export_gives_own_damping_back(rollsim: Command, record: Path) -> None:
    said = rollsim("decay", record, "--scenario", record.with_suffix(".toml"), "--json")
    assert said.code == 0, said.err
    values = json.loads(said.out)
    assert values["terms"] == "linear+quadratic"
    for key, truth in (("linear_per_s", 0.02), ("quadratic", 0.3)):
        each = values["damping"][key]
        assert each["value"] == pytest.approx(truth, rel=0.1)
        assert each["lower"] < truth < each["upper"]
    assert values["gyradius_m"]["value"] == pytest.approx(5.3, rel=0.003)
    ways = {row["way"]: row for row in values["metacentric"]}
    assert ways["given radius of gyration"]["gm_m"] == pytest.approx(0.7, rel=0.01)
    pasted = tomllib.loads(values["toml"])["ship"]["damping"]
    assert pasted.keys() == {"linear_per_s", "quadratic"}
    first, second = pasted["linear_per_s"], pasted["quadratic"]
    again = SCENARIO.replace("linear_per_s = 0.02", f"linear_per_s = {first}")
    assert package.loads(again.replace("quadratic = 0.3", f"quadratic = {second}"))


def test_the_table_the_picture_and_the_caution(
    rollsim: Command, record: Path, tmp_path: Path
) -> None:
    said = rollsim("decay", record, "--beam", "14", "--gm", "0.7")
    assert said.code == 0
    text = " ".join(said.out.split())
    for words in ("by the record", "by energy", "Chosen:", "[ship.damping]", "f 0.88", CAUTION):
        assert words in text
    assert (tmp_path / "results" / "own-decay.png").stat().st_size > 10_000


def test_a_part_of_the_record(rollsim: Command, record: Path) -> None:
    said = rollsim("decay", record, "--from", "20", "--to", "110", "--json", "--terms", "quadratic")
    values = json.loads(said.out)
    assert values["from_s"] >= 20.0
    assert values["to_s"] <= 110.0
    assert values["rule"] == "as requested"
    assert list(values["damping"]) == ["quadratic"]


def test_radians_for_degrees_are_doubted(rollsim: Command, record: Path) -> None:
    header, *rows = record.read_text(encoding="utf-8").splitlines()
    place = header.split(",").index("roll_angle_deg")
    small = [(row.split(",")[0], np.radians(float(row.split(",")[place]))) for row in rows]
    text = "\n".join(f"{time},{angle:.6f}" for time, angle in small)
    record.write_text(text, encoding="utf-8")
    taken = json.loads(rollsim("decay", record, "--json").out)
    assert any("is the angle in radians" in note for note in taken["notes"])
    told = json.loads(rollsim("decay", record, "--json", "--radians").out)
    assert not any("is the angle in radians" in note for note in told["notes"])
    assert told["swings"][0]["amplitude_deg"] == pytest.approx(20.0, abs=0.6)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--from", "500"), "at least 20 are needed"),
        (("--to", "20"), "own.csv: too few swings"),
        (("--columns", "t_s", "roll"), "no such column: roll"),
        (("--columns", "t_s", "wave_slope_deg"), "no finite number|the angle does not change"),
        (("--beam", "-3"), "--beam"),
        (("--scenario", "none.toml"), "there is no such file"),
        (("--scenario", "own.toml", "--case", "4"), "no such case: 4"),
    ],
)
def test_what_cannot_be_read_is_refused(
    rollsim: Command, record: Path, arguments: tuple[str, ...], words: str
) -> None:
    said = rollsim("decay", record, *arguments)
    assert said.code == 2
    assert any(each in said.err for each in words.split("|")), said.err
