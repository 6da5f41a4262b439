"""`rollsim check` says in time and bytes what is large, and soon, or refuses it."""

from __future__ import annotations

import time
from pathlib import Path

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
