"""Titles and names made to do harm: shown as they are written, never obeyed, never a path."""

from __future__ import annotations

import csv
import io
import json
import os
import shutil
import unicodedata
from pathlib import Path

import netCDF4
import pytest
from cli_samples import CALM, Command, Said, held, put

NAMES = [
    "\x1b[31mred\x1b[0m",
    "\x9b2J\x07",
    "[bold red]x[/bold red] [link=file:///etc/passwd]y[/link]",
    "[/]",
    "a\nnew line\tand tab\rback",
    "$\\frac{1}{0}$ and $x_",
    "%s {0} {x!r} \\N{DIGIT ONE}",
    "\u202egpj.exe\u202c\u200f\u2066",
    "../../../tmp/evil",
    "/etc/passwd",
    "=cmd|' /C calc'!A0",
    'a,b=c;"q"',
    "W" * 200,
    "漢字" * 20,
    "<script>alert(1)</script>&amp;",
    "   ",
]
TITLE = "\x1b]0;owned\x07[red]$\\infty$\n\u202e<b>" + "x" * 300


def quoted(text: str) -> str:
    """A text as TOML has it; JSON's escapes are TOML's."""
    return json.dumps(text)


def hostile() -> str:
    """The sample ship in calm water under every bad name."""
    text = CALM.replace('"Two loadings of a coaster"', quoted(TITLE))
    text = text.replace('"Coaster"', quoted(NAMES[0]))
    return text + "".join(f"[[conditions]]\nname = {quoted(name)}\n" for name in NAMES)


def harmless(said: Said) -> None:
    """Nothing that a terminal would obey, in any line of what was said."""
    for text in (said.out, said.err):
        bad = [c for c in text if unicodedata.category(c) in ("Cc", "Cf", "Cs") and c != "\n"]
        assert not bad, bad
    assert "Traceback" not in said.err


@pytest.fixture(scope="module")
def hostile_result(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A result of the hostile scenario; not to be written to."""
    from rollsim.scenario.load import load
    from rollsim.study.plan import make_plan
    from rollsim.study.run import run_to_file
    from rollsim.study.workers import Where

    path = tmp_path_factory.mktemp("hostile") / "bad.nc"
    assert run_to_file(make_plan(load(put(path.parent, hostile()))), path, where=Where(1))
    return path


@pytest.mark.parametrize("command", ["check", "stability"])
def test_names_are_shown_as_they_are_written(
    command: str, rollsim: Command, tmp_path: Path
) -> None:
    put(tmp_path, hostile())
    said = rollsim(command, "coaster.toml")
    assert said.code == 0
    harmless(said)
    assert "\\x1b[31mred\\x1b[0m" in said.out
    assert "[bold red]x[/bold red]" in said.out
    assert "\\x1b]0;owned" in said.out
    drawn = ["results", "results/coaster-stability.png"] if command == "stability" else []
    assert held(tmp_path) == ["coaster.toml", *drawn]


def test_the_table_of_a_hostile_result_is_harmless(hostile_result: Path, rollsim: Command) -> None:
    said = rollsim("summary", hostile_result)
    assert said.code == 0
    harmless(said)
    for words in ("\\x1b[31mred", "[bold red]x[/bold", "[/]", "../../../tmp/evil"):
        assert words in said.out


def test_programs_get_the_names_as_they_are(hostile_result: Path, rollsim: Command) -> None:
    found = json.loads(rollsim("summary", hostile_result, "--json").out)
    assert [row["condition"] for row in found["cases"]] == NAMES
    said = rollsim("summary", hostile_result, "--csv")
    rows = list(csv.DictReader(io.StringIO(said.out)))
    assert len(rows) == len(NAMES)
    assert not any(row["condition"].startswith(("=", "+", "-", "@")) for row in rows)


def test_pictures_of_a_hostile_result_lie_where_they_belong(
    hostile_result: Path, rollsim: Command, tmp_path: Path
) -> None:
    said = rollsim("plot", hostile_result, "-o", "pictures")
    assert said.code == 0
    harmless(said)
    drawn = said.out.splitlines()
    assert len(drawn) >= 3
    assert held(tmp_path) == ["pictures", *sorted(drawn)]
    for name in drawn:
        assert Path(name).parent == Path("pictures")
        assert Path(name).name.startswith("bad-")


def test_a_case_of_a_hostile_name_is_chosen(
    hostile_result: Path, rollsim: Command, tmp_path: Path
) -> None:
    for name in ("../../../tmp/evil", NAMES[0]):
        said = rollsim("plot", hostile_result, "--case", f"condition={name}", "--what",
                       "stability", "-o", tmp_path)  # fmt: skip
        assert said.code == 0, said
    said = rollsim("plot", hostile_result, "--case", "condition=none")
    assert said.code == 2
    harmless(said)


def test_faults_show_hostile_text_harmlessly(rollsim: Command, tmp_path: Path) -> None:
    for text in (
        CALM.replace("kg_m = 5.30", f"kg_m = {quoted(NAMES[0])}"),
        CALM + f"[{quoted(NAMES[0])}]\na = 1\n",
        CALM + f"[[conditions]]\nname = {quoted(NAMES[0])}\n" * 2,
        CALM + f"[sweep]\n{quoted(NAMES[0])} = [1]\n",
        CALM + "kg = \x1b[31m\n",
        CALM + f"[[conditions]]\nname = {quoted(NAMES[7])}\n{quoted(NAMES[0])} = 1\n",
    ):
        put(tmp_path, text)
        said = rollsim("check", "coaster.toml")
        assert (said.code, said.out) == (2, "")
        harmless(said)


def test_a_hostile_file_name_stays_in_its_folder(rollsim: Command, tmp_path: Path) -> None:
    for name in ("[red]x.toml", "$x_.toml", "-n.toml", "a b;rm -rf.toml", "ü\u202e.toml"):
        put(tmp_path, CALM, name)
        said = rollsim("run", "--no-plots", "--", name)
        assert said.code == 0, said
        harmless(said)
    assert len(os.listdir(tmp_path / "results")) == 5


def test_a_result_made_hostile_afterwards_is_harmless(
    result: Path, rollsim: Command, tmp_path: Path
) -> None:
    shutil.copy(result, tmp_path / "made.nc")
    with netCDF4.Dataset(tmp_path / "made.nc", "a") as file:
        file.title = TITLE
        file["kg"].long_name = NAMES[0]
    said = rollsim("summary", "made.nc")
    assert said.code in (0, 2)
    harmless(said)
    said = rollsim("plot", "made.nc", "--what", "margins")
    assert said.code in (0, 2)
    harmless(said)
    assert set(held(tmp_path)) <= {"made.nc", "made-margins.png"}
