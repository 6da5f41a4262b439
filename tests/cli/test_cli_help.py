"""Help, version and speed of the command line."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
from cli_samples import Command, environment, process, put

from rollsim.cli.main import COMMANDS

HEAVY = ("numpy", "scipy", "xarray", "matplotlib", "numba", "dask", "distributed", "pydantic",
         "netCDF4", "rich", "pandas")  # fmt: skip
HELP_SECONDS, CHECK_SECONDS = 0.3, 1.5
NOISE = 2.5
"""A machine of the tests may be busy or slow: so much more is let pass."""


def cpu_seconds(*arguments: str | Path, folder: Path) -> float:
    """CPU seconds of the command, the least of three times."""
    found = []
    for _ in range(3):
        child = process(*arguments, folder=folder, stdout=subprocess.DEVNULL)
        _, status, used = os.wait4(child.pid, 0)
        child.returncode = os.waitstatus_to_exitcode(status)
        child.communicate()
        assert child.returncode == 0
        found.append(used.ru_utime + used.ru_stime)
    return min(found)


def test_help_names_every_command_and_the_caution(rollsim: Command) -> None:
    said = rollsim("--help")
    assert said.code == 0
    for name in COMMANDS:
        assert f"\n  {name} " in said.out
    assert "For study and training only" in said.out
    assert said.err == ""


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_has_help(name: str, rollsim: Command) -> None:
    said = rollsim(name, "--help")
    assert said.code == 0
    assert said.out.startswith(f"Usage: rollsim {name} ")
    assert "\n  -o, --out" in said.out or name in ("check", "example", "keys", "summary")


def test_version_is_the_installed_one(rollsim: Command) -> None:
    said = rollsim("--version")
    assert said.code == 0
    assert re.fullmatch(r"rollsim \d+\.\d+\.\d+\S*\n", said.out)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["chek", "a.toml"], "No command 'chek'. Did you mean 'check'?"),
        (["xyz"], "No command 'xyz'."),
        (["\x1b[31mrun"], "No command '\\x1b[31mrun'."),
        (["run"], "Missing argument 'FILE'"),
        (["run", "a.toml", "--plot"], "No such option"),
        (["run", "a.toml", "--workers", "0"], "0 is not in the range x>=1"),
        (["run", "a.toml", "--workers", "two"], "'two' is not a valid integer"),
        (["check", "a.toml", "b.toml"], "Got unexpected extra argument (b.toml)"),
        (["plot", "a.nc", "--what", "nothing"], "'nothing' is not one of"),
        (["check", "a\n.toml"], "a\\n.toml: holds control characters"),
        (["check", "a\udcff.toml"], "a\\udcff.toml: holds control characters or bytes"),
    ],
)
def test_a_wrong_use_is_told_in_few_lines(
    arguments: list[str], words: str, rollsim: Command
) -> None:
    said = rollsim(*arguments)
    assert (said.code, said.out) == (2, "")
    assert words in said.err
    assert len(said.err.splitlines()) <= 6


def test_help_imports_nothing_heavy(tmp_path: Path) -> None:
    script = (
        "import sys\nfrom rollsim.cli.main import run\ncode = run(['--help'])\n"
        f"heavy = [name for name in {HEAVY} if name in sys.modules]\n"
        "print(heavy, file=sys.stderr)\nsys.exit(code)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], cwd=tmp_path, env=environment(), text=True,
        capture_output=True, check=True,
    )  # fmt: skip
    assert done.stderr == "[]\n"
    assert done.stdout.startswith("Usage: rollsim ")


def test_help_comes_at_once(tmp_path: Path) -> None:
    seconds = cpu_seconds("--help", folder=tmp_path)
    print(f"rollsim --help: {seconds:.2f} s of CPU, at most {HELP_SECONDS} s wanted")
    assert seconds < NOISE * HELP_SECONDS


def test_a_check_comes_soon(tmp_path: Path) -> None:
    seconds = cpu_seconds("check", put(tmp_path), folder=tmp_path)
    print(f"rollsim check: {seconds:.2f} s of CPU, at most {CHECK_SECONDS} s wanted")
    assert seconds < NOISE * CHECK_SECONDS
