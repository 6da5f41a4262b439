"""`check` and `run`: what they print, what they write, how they end."""

from __future__ import annotations

import os
import stat
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from cli_samples import CALM, COASTER, Command, edited, held, put

from rollsim.cautions import CAUTION, LOLL_WARNING
from rollsim.engines.limits import Tolerances
from rollsim.engines.scipy.solver import Problem, Solution, solve
from rollsim.store.reading import open_result

PICTURES = ["coaster-histories.png", "coaster-margins.png", "coaster-phase.png",
            "coaster-stability.png"]  # fmt: skip


def test_check_says_what_will_run(rollsim: Command, tmp_path: Path) -> None:
    put(tmp_path)
    said = rollsim("check", "coaster.toml")
    assert said.code == 0
    for words in ("Two loadings of a coaster", "4 cases x 3 realisations = 12 runs",
                  "conditions: light, deck cargo", "KG [m]: 5.1, 5.7", "20 s each by block",
                  "on this machine", "of the wave variance"):  # fmt: skip
        assert words in said.out
    assert held(tmp_path) == ["coaster.toml"]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (edited(("roll_deg = 40.0", "roll_deg = 2.0")), "she starts at "),
        (
            edited(("roll_deg = 40.0", "roll_deg = 40.0\ncapsize_deg = 35.0")),
            "capsize_deg 35 ends every run before roll_deg can be passed",
        ),
        (
            CALM + "until = { relative_error = 0.1, most = 100 }\n",
            "run.until: nothing is random here: every realisation is the same run",
        ),
    ],
)
def test_check_warns_of_rules_that_cannot_work(
    text: str, words: str, rollsim: Command, tmp_path: Path
) -> None:
    put(tmp_path, text)
    said = rollsim("check", "coaster.toml")
    assert said.code == 0
    assert words in said.err


def test_check_says_how_large_a_result_gets(rollsim: Command, tmp_path: Path) -> None:
    put(tmp_path, edited(("realisations = 3", "realisations = 1000000")))
    said = rollsim("check", "coaster.toml")
    assert "GB of results; [output] histories keeps fewer" in said.out
    put(
        tmp_path,
        edited(("realisations = 3", 'realisations = 1000000\n[output]\nhistories = "none"')),
    )
    assert "GB of results" not in rollsim("check", "coaster.toml").out


def test_rates_beside_gusts_and_the_rule_for_more_are_explained(
    rollsim: Command, tmp_path: Path
) -> None:
    rule = "realisations = 3\nuntil = { relative_error = 0.5, most = 4 }"
    put(tmp_path, edited(("realisations = 3", rule)))
    text = " ".join(rollsim("run", "coaster.toml", "--no-plots").out.split())
    assert "Gusts or events come at set times here: a rate spreads" in text
    assert "known within 50 % of itself, or to 4 realisations: what was not needed" in text
    gust = "[[wind.gust]]\nat_s = 5.0\nrise_s = 2.0\nhold_s = 4.0\nspeed_factor = 1.2\n"
    put(tmp_path, edited((gust, "")))
    text = rollsim("run", "coaster.toml", "--no-plots", "-o", "other.nc").out
    assert "Failure rate:" in text
    assert "Gusts or events" not in text
    assert "Counted on" not in text


def test_check_warns_of_what_is_doubtful(rollsim: Command, tmp_path: Path) -> None:
    put(tmp_path, edited(("km_m = 5.659\n", ""), ("roll_deg = 40.0", "capsize_deg = 35.0"),
                         ("at_s = 5.0", "at_s = 25.0")))  # fmt: skip
    said = rollsim("check", "coaster.toml")
    assert said.code == 0
    warnings = [line for line in said.err.splitlines() if not line.startswith("  ")]
    assert all(line.startswith("warning: ") for line in warnings)
    assert "can move GM" in said.err
    inside = "case 0, light: capsize_deg 35 lies inside the vanishing angle 61.05°: runs end "
    assert inside in said.err
    assert "; likewise in 3 of the other cases\n" in said.err
    assert "warning: coaster.toml:42:8: wind.gust.0.at_s: begins at 25 s" in said.err
    assert "\\n" not in said.err


def test_check_warns_of_a_sea_that_is_mostly_cut_off(rollsim: Command, tmp_path: Path) -> None:
    put(tmp_path, edited(("peak_period_s = 9.0", "peak_period_s = 2.0")))
    for command in ("check", "run"):
        said = rollsim(command, "coaster.toml", *(["--no-plots"] if command == "run" else []))
        assert said.code == 0
        assert "% of the wave variance is cut off at shortest_wave_m" in said.err


def test_run_writes_a_result_and_pictures_and_prints_margins(
    rollsim: Command, tmp_path: Path
) -> None:
    put(tmp_path)
    said = rollsim("run", "coaster.toml", "--workers", "1")
    assert said.code == 0
    for words in ("deck cargo", "GM [m]", "capsize probability", "energy", "Common storms",
                  CAUTION[:40], LOLL_WARNING[:40]):  # fmt: skip
        assert words in said.out
    assert "wrote results/coaster.nc" in said.err
    assert sorted(os.listdir(tmp_path / "results")) == sorted(["coaster.nc", *PICTURES])
    with open_result(tmp_path / "results" / "coaster.nc") as found:
        assert dict(found.sizes)["case"] == 4
        assert found.attrs["scenario_text"] == COASTER
        assert (found["outcome"].values > 0).all()


def test_the_result_goes_where_it_is_told_with_its_pictures(
    rollsim: Command, tmp_path: Path
) -> None:
    put(tmp_path, CALM)
    assert rollsim("run", "coaster.toml", "-o", "new/deep/other.nc").code == 0
    assert sorted(os.listdir(tmp_path / "new" / "deep")) == [
        "other-histories.png", "other-margins.png", "other-phase.png", "other-stability.png",
        "other.nc",
    ]  # fmt: skip
    assert not (tmp_path / "results").exists()


def test_without_pictures_there_are_none(rollsim: Command, tmp_path: Path) -> None:
    put(tmp_path, CALM)
    assert rollsim("run", "coaster.toml", "--no-plots").code == 0
    assert os.listdir(tmp_path / "results") == ["coaster.nc"]


def test_a_scenario_elsewhere_writes_here(rollsim: Command, tmp_path: Path) -> None:
    folder = tmp_path / "far" / "away"
    folder.mkdir(parents=True)
    path = put(folder, CALM, "the ship.v2.toml")
    assert rollsim("run", path, "--no-plots").code == 0
    assert os.listdir(tmp_path / "results") == ["the ship.v2.nc"]
    assert os.listdir(folder) == ["the ship.v2.toml"]


def test_a_capsize_is_a_result(rollsim: Command, tmp_path: Path) -> None:
    put(tmp_path, CALM + "[start]\nroll_deg = 80.0\nroll_rate_deg_per_s = 30.0\n")
    said = rollsim("run", "coaster.toml", "--no-plots")
    assert said.code == 0
    assert "capsized" in said.out


def test_runs_that_were_not_solved_end_with_1(
    rollsim: Command, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def gives_up(problem: Problem, tolerances: Tolerances) -> Solution:
        solution = solve(problem, tolerances)
        object.__setattr__(solution, "message", "DOP853 gave up at 3 s: \x1b[31mno reason")
        return solution

    monkeypatch.setattr("rollsim.engines.scipy.engine.solve", gives_up)
    put(tmp_path, CALM + 'method = "DOP853"\n')
    said = rollsim("run", "coaster.toml", "--no-plots")
    assert said.code == 1
    assert "1 run not solved; the messages stand in the result" in said.err
    assert "not" in said.out
    with open_result(tmp_path / "results" / "coaster.nc") as found:
        assert found["message"].values.item().startswith("DOP853 gave up at 3 s: ")


def test_a_bug_of_ours_ends_with_3_and_says_so(
    rollsim: Command, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: Any) -> None:
        raise ZeroDivisionError("a bug")

    monkeypatch.setattr("rollsim.study.plan.make_plan", broken)
    put(tmp_path, CALM)
    said = rollsim("check", "coaster.toml")
    assert said.code == 3
    assert "Traceback" in said.err
    assert said.err.endswith(
        "This is a bug in rollsim, not in your input; please report the lines above.\n"
    )


def test_the_same_scenario_is_run_again_and_another_needs_replace(
    rollsim: Command, tmp_path: Path
) -> None:
    put(tmp_path, CALM)
    result = tmp_path / "results" / "coaster.nc"
    assert rollsim("run", "coaster.toml", "--no-plots").code == 0
    assert rollsim("run", "coaster.toml", "--no-plots").code == 0
    before = result.read_bytes()
    put(tmp_path, CALM.replace("kg_m = 5.30", "kg_m = 5.31"))
    said = rollsim("run", "coaster.toml", "--no-plots")
    assert (said.code, said.out) == (2, "")
    assert said.err == (
        "results/coaster.nc: holds the result of another scenario\n"
        "  give --replace to replace it, or another place with --out FILE\n"
    )
    assert result.read_bytes() == before
    assert rollsim("run", "coaster.toml", "--no-plots", "--replace").code == 0
    assert result.read_bytes() != before


@pytest.mark.parametrize("replace", [(), ("--replace",)])
def test_a_file_that_is_not_ours_is_never_replaced(
    replace: tuple[str, ...], rollsim: Command, tmp_path: Path
) -> None:
    path = put(tmp_path, CALM)
    for name, words in (("coaster.toml", "not a netCDF-4 file"), (".", "is a folder")):
        said = rollsim("run", "coaster.toml", "-o", name, *replace)
        assert (said.code, said.out) == (2, "")
        assert words in said.err
        assert "it is not replaced: remove it yourself" in said.err
    assert path.read_text(encoding="utf-8") == CALM
    assert held(tmp_path) == ["coaster.toml"]


@pytest.mark.skipif(os.geteuid() == 0, reason="nothing is forbidden to root")
def test_a_folder_that_may_not_be_written_to_is_refused(rollsim: Command, tmp_path: Path) -> None:
    put(tmp_path, CALM)
    closed = tmp_path / "closed"
    closed.mkdir()
    closed.chmod(stat.S_IRUSR | stat.S_IXUSR)
    try:
        said = rollsim("run", "coaster.toml", "-o", "closed/coaster.nc")
        assert (said.code, said.out) == (2, "")
        assert "permission denied" in said.err
        assert "make that folder writable for you" in said.err
        assert os.listdir(closed) == []
    finally:
        closed.chmod(stat.S_IRWXU)


@pytest.mark.parametrize("place", ["coaster.toml/sub/coaster.nc", "/proc/nowhere/coaster.nc",
                                   "/dev/null"])  # fmt: skip
def test_a_place_that_cannot_be_is_refused_before_anything_runs(
    place: str, rollsim: Command, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("rollsim.study.run.run_plan", None)
    put(tmp_path, CALM)
    said = rollsim("run", "coaster.toml", "-o", place)
    assert (said.code, said.out) == (2, ""), said
    assert "Traceback" not in said.err
    assert held(tmp_path) == ["coaster.toml"]


def test_the_same_command_makes_the_same_file(
    rollsim: Command, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    put(tmp_path)
    made = []
    for epoch in ("1700000000", "1700000000", "1800000000"):
        monkeypatch.setenv("SOURCE_DATE_EPOCH", epoch)
        said = rollsim("run", "coaster.toml", "--no-plots", "--workers", "1")
        assert said.code == 0
        made.append((tmp_path / "results" / "coaster.nc").read_bytes())
    assert made[0] == made[1]
    assert made[0] != made[2]


def test_a_result_of_one_run_says_how_to_make_it_again(rollsim: Command, tmp_path: Path) -> None:
    put(tmp_path)
    assert rollsim("run", "coaster.toml", "--no-plots", "--workers", "1").code == 0
    with open_result(tmp_path / "results" / "coaster.nc") as found:
        put(tmp_path, found.attrs["scenario_text"], "again.toml")
        first = found["roll_angle"].values
    assert rollsim("run", "again.toml", "--no-plots", "--workers", "1").code == 0
    with open_result(tmp_path / "results" / "again.nc") as found:
        np.testing.assert_array_equal(found["roll_angle"].values, first)
