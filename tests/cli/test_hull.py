"""`rollsim hull`: numbers, file, JSON and picture of a hull, and what it refuses."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from cli_samples import Command

from rollsim.cautions import CAUTION
from rollsim.store.maps import open_map

HULL = """\
format = 1
name = "barge"
[[stations]]
along_m = 0.0
half_breadth_m = [7.0, 7.0]
height_m = [0.0, 8.0]
[[stations]]
along_m = 80.0
half_breadth_m = [7.0, 7.0]
height_m = [0.0, 8.0]
[[openings]]
name = "vent"
along_m = 40.0
across_m = -5.0
height_m = 9.0
"""
SCENARIO = """\
format = 1
[ship]
name = "Barge"
displacement_t = 4592.0
levers = { kind = "hull", file = "barge-hull.toml", trim = "fixed", heel_step_deg = 5.0 }
gravity = { kg_m = 5.0 }
inertia = { gyradius_m = 5.3 }
[run]
duration_s = 100
[sweep]
"ship.displacement_t" = [4592.0, 3000.0]
"""


@pytest.fixture
def barge() -> Path:
    path = Path("barge-hull.toml")
    path.write_text(HULL, encoding="utf-8")
    return path


def test_a_box_as_table_file_and_picture(rollsim: Command, barge: Path) -> None:
    done = rollsim("hull", str(barge), "--displacement", "4592", "--displacement", "2296")
    assert done.code == 0
    assert "wrote results/barge-hull.nc" in done.err
    assert Path("results/barge-hull.png").is_file()
    assert "barge, free to trim" in done.out
    assert "5.500" not in done.out
    assert " ".join(CAUTION.split()[:5]) in done.out
    ds = open_map(Path("results/barge-hull.nc"), "hull")
    assert ds["displacement"].values.tolist() == [2296.0, 4592.0]
    draught = np.array([2.0, 4.0])
    np.testing.assert_allclose(ds["draught"], draught, rtol=1e-9)
    np.testing.assert_allclose(ds["kb"], draught / 2, rtol=1e-9)
    np.testing.assert_allclose(ds["bm"], 14.0**2 / 12.0 / draught, rtol=1e-9)
    np.testing.assert_allclose(ds["tonnes_per_cm"], 80 * 14 * 1.025 / 100, rtol=1e-9)
    edge = np.degrees(np.arctan2(4.0, 7.0))
    assert float(ds["deck_edge_heel"][1]) == pytest.approx(edge, abs=1e-6)
    assert float(ds["opening_heel"][1, 0]) < -edge


def test_json_holds_what_the_file_holds(rollsim: Command, barge: Path) -> None:
    done = rollsim("hull", str(barge), "--displacement", "4592", "--json", "--no-plots",
                   "--heel-step", "10", "--heel-max", "180", "--trim", "fixed")  # fmt: skip
    told = json.loads(done.out)
    assert (done.code, told["trim"], told["heel_deg"][-1]) == (0, "fixed", 180.0)
    (row,) = told["rows"]
    assert len(row["kn_m"]) == 19
    assert row["km_m"] == pytest.approx(2.0 + 14.0**2 / 48.0)
    assert row["openings_deg"]["vent"] < 0.0
    assert row["kn_m"][-1] == pytest.approx(0.0, abs=1e-9)
    assert not Path("results/barge-hull.png").exists()


def test_a_scenario_gives_its_displacements_and_trim(rollsim: Command, barge: Path) -> None:
    assert barge.is_file()
    Path("barge.toml").write_text(SCENARIO, encoding="utf-8")
    done = rollsim("hull", "barge.toml", "--json", "--no-plots", "-o", "out.nc")
    told = json.loads(done.out)
    assert [row["displacement_t"] for row in told["rows"]] == [3000.0, 4592.0]
    assert (told["trim"], told["heel_deg"][1]) == ("fixed", 5.0)


def test_even_draughts_where_nothing_is_asked(rollsim: Command, barge: Path) -> None:
    done = rollsim("hull", str(barge), "--json", "--no-plots")
    draughts = [row["draught_m"] for row in json.loads(done.out)["rows"]]
    np.testing.assert_allclose(draughts, np.linspace(1.6, 6.4, 13), rtol=2e-3)


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["barge-hull.toml", "--displacement", "99999"], "the closed hull holds 9184 t"),
        (["barge-hull.toml", "--displacement", "0"], "0.0 is not in the range"),
        (["barge-hull.toml", "--trim", "level"], "'level' is not one of"),
        (["nothing.toml"], "there is no such file"),
        (["other.toml"], 'ship.levers.kind: is not "hull"'),
        (["broken-hull.toml"], "broken-hull.toml:5:18: stations.0.half_breadth_m"),
    ],
)
def test_what_is_refused(rollsim: Command, barge: Path, arguments: list[str], told: str) -> None:
    broken = HULL.replace("[7.0, 7.0]", "[7.0]", 1)
    Path("broken-hull.toml").write_text(broken, encoding="utf-8")
    levers = 'levers = { kind = "wall-sided", km_m = 6.0, bm_m = 3.0, heel_max_deg = 40 }'
    sizes = "length_m = 80\nbeam_m = 14\ndraught_m = 4\n"
    lines = [levers if line.startswith("levers") else line for line in SCENARIO.splitlines()]
    text = "\n".join(lines).replace("displacement_t = 4592.0", f"{sizes}displacement_t = 4592.0")
    Path("other.toml").write_text(text.partition("[sweep]")[0], encoding="utf-8")
    done = rollsim("hull", *arguments)
    assert done.code == 2
    assert told in done.err
    assert not Path("results").exists()


def test_another_hull_is_not_replaced_unasked(rollsim: Command, barge: Path) -> None:
    assert rollsim("hull", str(barge), "--no-plots").code == 0
    barge.write_text(HULL.replace('"barge"', '"other"'), encoding="utf-8")
    done = rollsim("hull", str(barge), "--no-plots")
    assert done.code == 2
    assert "--replace" in done.err
    assert rollsim("hull", str(barge), "--no-plots", "--replace").code == 0
