"""`rollsim check` says in time and bytes what is large, and soon, or refuses it."""

from __future__ import annotations

import re
import time
from pathlib import Path

import pytest
from cli_samples import CALM, Command, put
from study_files import SHIP, written
from test_map_commands import BASIN, SCENARIO

SOON = 10.0
"""CPU seconds."""


def test_thousands_of_gusts_and_events(rollsim: Command, tmp_path: Path) -> None:
    gusts = "".join(
        f"[[wind.gust]]\nat_s = {i}\nrise_s = 0.2\nhold_s = 0.2\nspeed_factor = 1.1\n"
        for i in range(3000)
    )
    events = "".join(
        f'[[events]]\nkind = "move-weight"\nat_s = {i / 2}\nover_s = 0.2\nmass_t = 0.01\n'
        f"across_m = {i % 9}\nup_m = 0\n"
        for i in range(3000)
    )
    blown = '[ship.windage]\narea_m2 = 9.0\nlever_m = 3.0\n[wind]\nspeed_mps = 9.0\nfrom = "port"\n'
    begin = time.process_time()
    said = rollsim(
        "check", written(tmp_path, f"{SHIP}{blown}{gusts}{events}[run]\nduration_s = 3000.0\n")
    )
    assert (said.code, time.process_time() - begin < SOON) == (0, True)
    assert "3000 s each by block" in said.out


def test_many_conditions_are_not_listed_one_by_one(rollsim: Command, tmp_path: Path) -> None:
    names = "".join(f'[[conditions]]\nname = "c{i}"\n' for i in range(300))
    said = rollsim("check", put(tmp_path, CALM + names))
    assert "conditions: c0, c1, " in said.out
    assert ".. 300 values .., c298, c299\n" in said.out


def test_a_grid_of_starts_in_time_and_bytes(rollsim: Command, tmp_path: Path) -> None:
    large = SCENARIO.replace("steps = 8", "steps = 4000").replace("steps = 6", "steps = 4000")
    said = rollsim("check", written(tmp_path, large))
    assert "2 cases x 16000000 starts = 32000000 runs, about " in said.out
    assert ", up to 1.9e+02 MB of results\n" in said.out
    past = BASIN.replace("steps = 8", "steps = 100000").replace("steps = 6", "steps = 100000")
    said = rollsim("check", written(tmp_path, SCENARIO.replace(BASIN, past)))
    assert (said.code, said.out) == (2, "")
    assert "starts take 300 GB, more than the memory of this machine" in said.err


MANY = f"""{SHIP}[run]
duration_s = 60.0
[sweep]
"ship.gravity.kg_m" = {{ from = 4.6, to = 5.0, steps = STEPS }}
"start.roll_deg" = {{ from = 1.0, to = 9.0, steps = STEPS }}
"""


def test_of_very_many_cases_some_are_looked_at_and_all_counted(
    rollsim: Command, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = written(tmp_path, MANY.replace("STEPS", "20"))
    whole = rollsim("check", file).out
    assert "looked at" not in whole
    monkeypatch.setattr("rollsim.cli.check.MOST_CASES", 60)
    some = rollsim("check", file).out
    found = re.search(r"looked at (\d+) of these cases, evenly spread; rollsim run looks", some)
    assert found is not None
    assert 50 < int(found[1]) <= 62
    assert "400 cases x 1 realisation = 400 runs\n" in some
    # What is told of the study is told of the whole of it.
    rest = [line for line in some.splitlines() if "looked at" not in line and "about" not in line]
    assert rest == [line for line in whole.splitlines() if "about" not in line]


def test_a_fault_among_very_many_cases_is_found(
    rollsim: Command, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("rollsim.cli.check.MOST_CASES", 60)
    faulty = MANY.replace("STEPS", "20").replace("to = 9.0", "to = 2000.0")
    said = rollsim("check", written(tmp_path, faulty))
    assert (said.code, said.out) == (2, "")
    assert "start.roll_deg" in said.err


@pytest.mark.slow
def test_a_hundred_thousand_cases(rollsim: Command, tmp_path: Path) -> None:
    file = written(tmp_path, MANY.replace("STEPS", "316"))
    begin = time.process_time()
    said = rollsim("check", file)
    assert (said.code, time.process_time() - begin < SOON) == (0, True)
    assert "99856 cases x 1 realisation = 99856 runs\n" in said.out
