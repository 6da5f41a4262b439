"""Results that somebody has edited: every command says what is wrong in two lines and leaves."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import netCDF4
import numpy as np
import pytest
from cli_samples import Command, held

COMMANDS = ("summary", "export", "plot", "report", "page", "replay", "animate")

Edit = Callable[[netCDF4.Dataset], None]


def put(name: str, value: Any, *place: int) -> Edit:
    """An edit that sets a variable, whole or at one place."""

    def edit(file: netCDF4.Dataset) -> None:
        file[name][place or Ellipsis] = value

    return edit


def renamed(name: str) -> Edit:
    """An edit that takes a variable away."""

    def edit(file: netCDF4.Dataset) -> None:
        file.renameVariable(name, f"{name}_of_old")

    return edit


def scenario(text: Any) -> Edit:
    """An edit of the scenario within the result."""

    def edit(file: netCDF4.Dataset) -> None:
        file.scenario_text = text

    return edit


EDITS: dict[str, tuple[Edit, str]] = {
    "a time that is no number": (put("t", np.nan, 3), "t does not rise"),
    "times all alike": (put("t", 1.0), "t does not rise"),
    "times before the start": (put("t", -1.0, 0), "t has negative numbers"),
    "an infinite time": (put("t", np.inf, 3), "t does not rise"),
    "heels that are no numbers": (put("heel", np.nan), "heel does not rise"),
    "case numbers alike": (put("case", 1), "case does not rise"),
    "a negative realisation": (put("realisation", -1, 0), "realisation has negative"),
    "G infinitely high": (put("centre_of_gravity_z", np.inf, 0, 0), "centre_of_gravity_z is"),
    "G nowhere": (put("centre_of_gravity_y", np.nan), "centre_of_gravity_y is missing"),
    "an infinite lever": (put("righting_lever", -np.inf, 0, 4), "righting_lever is infinite"),
    "an infinite roll": (put("roll_angle", np.inf, 0, 0, 4), "roll_angle is infinite"),
    "no GM": (put("gm", np.nan, 1), "gm is missing or infinite"),
    "GM taken away": (renamed("gm"), "gm is missing"),
    "end times taken away": (renamed("end_time"), "end_time is missing"),
    "limits taken away": (renamed("capsize_probability_lower"), "capsize_probability_lower is"),
    "no limits": (put("failure_probability_upper", np.nan), "failure_probability_upper is"),
    "no run": (put("outcome", 0), "holds no finished run"),
    "limits changed places": (put("failure_probability_lower", 1.0), "lies on the wrong side of"),
    "an unknown outcome": (put("outcome", 9, 0, 0), "outcome holds unknown codes"),
    "no scenario": (scenario(7), "scenario_text is missing"),
}


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_refuses_an_edited_result(
    command: str, result: Path, rollsim: Command, tmp_path: Path
) -> None:
    for edit, words in EDITS.values():
        shutil.copy(result, "edited.nc")
        with netCDF4.Dataset("edited.nc", "a") as file:
            file.set_auto_maskandscale(False)
            edit(file)
        said = rollsim(command, "edited.nc")
        assert (said.code, said.out) == (2, ""), words
        assert words in said.err
        assert len(said.err.splitlines()) == 2, said.err
        assert held(tmp_path) == ["edited.nc"]


@pytest.mark.parametrize(
    ("edit", "words"),
    [
        (put("case", np.arange(4) + 97), "its scenario has 4 cases, none of number 97"),
        (scenario("format = 1\n"), "ship"),
        (scenario("]"), "TOML"),
    ],
)
def test_a_run_that_the_scenario_does_not_give_is_not_replayed(
    edit: Edit, words: str, result: Path, rollsim: Command
) -> None:
    shutil.copy(result, "edited.nc")
    with netCDF4.Dataset("edited.nc", "a") as file:
        edit(file)
    said = rollsim("replay", "edited.nc")
    assert (said.code, said.out) == (2, "")
    assert words in said.err
    assert "Traceback" not in said.err


@pytest.mark.parametrize("command", ["replay", "plot", "export", "animate"])
@pytest.mark.parametrize("number", ["-1", "99", "1e9", "9" * 40])
def test_a_realisation_that_is_not_there_is_refused(
    command: str, number: str, result: Path, rollsim: Command
) -> None:
    said = rollsim(command, result, "--case", "0", "--realisation", number)
    assert (said.code, said.out) == (2, "")
    assert len(said.err.splitlines()) == 2
    assert "realisation" in said.err
