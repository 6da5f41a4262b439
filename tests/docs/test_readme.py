"""README and DEVELOPERS: their examples run, and what they name or say is there and is so."""

from __future__ import annotations

import fnmatch
import os
import re
import shlex
import shutil
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import click
import pytest

from rollsim.cautions import CAUTION, LOLL_WARNING
from rollsim.cli.main import COMMANDS, rollsim
from rollsim.scenario.load import load, loads
from rollsim.scenario.reference import BEGIN, END, replace_in
from rollsim.scenario.schema import Scenario

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
PAGES = {"README.md": README, "DEVELOPERS.md": DEVELOPERS}
GATE = {
    "start": "python3 -m venv .venv\n"
    ".venv/bin/pip install .\n"
    ".venv/bin/rollsim run scenarios/beam-gale.toml",
    "test": ".venv/bin/pip install '.[test]'\n.venv/bin/pytest -q -n 2 -m \"not slow\"",
}
ROOMS = tuple(sorted(path.parent.name for path in (ROOT / "rollsim").glob("*/__init__.py")))
MINUTES = 10


def blocks(page: str, language: str) -> list[str]:
    """The fenced blocks of a language, in order."""
    return re.findall(rf"^```{language}\n(.*?)\n```$", page, re.M | re.S)


def commands() -> list[list[str]]:
    """The arguments of every example that calls rollsim, in order."""
    lines = (line for block in blocks(README, "sh") for line in block.splitlines())
    called = (line.removeprefix(".venv/bin/") for line in lines)
    return [shlex.split(line)[1:] for line in called if line.startswith("rollsim ")]


def prose(page: str) -> str:
    """A page without its fenced blocks and without the generated reference."""
    before, _, rest = page.partition(BEGIN)
    return re.sub(r"^```.*?^```$", "", before + rest.partition(END)[2], flags=re.M | re.S)


def anchors(page: str) -> set[str]:
    """The anchors of a page's headings: lower case, spaces to hyphens, punctuation gone."""
    titles = re.findall(r"^#+ (.*)$", page, re.M)
    return {re.sub(r"[^\w\- ]", "", title.lower()).replace(" ", "-") for title in titles}


def options() -> set[str]:
    """Every long option of every command."""
    context = click.Context(rollsim)
    found = [rollsim, *(rollsim.get_command(context, name) for name in COMMANDS)]
    params = [param for each in found if each for param in each.params]
    return {word for param in params for word in (*param.opts, *param.secondary_opts)} | {"--help"}


def test_one_paragraph_states_the_job_first() -> None:
    title, first, *_ = README.split("\n\n")
    assert title == "# rollsim"
    assert first.startswith("rollsim computes how a ship rolls")
    for word in ("levers", "weather", "loading condition", "storms", "margins", "capsize"):
        assert word in first.replace("\n", " ")


@pytest.mark.parametrize("name", GATE)
def test_the_two_commands_of_the_gate(name: str) -> None:
    assert f"<!-- command: {name} -->\n```sh\n{GATE[name]}\n```\n" in README


def test_the_gate_finds_its_commands() -> None:
    finder = [sys.executable, ".ci/readme_commands.py", "README.md"]
    done = subprocess.run(finder, cwd=ROOT, capture_output=True, text=True, check=True)
    joined = [" && ".join(lines.splitlines()) for lines in GATE.values()]
    assert done.stdout.splitlines() == joined


@pytest.mark.parametrize("caution", [CAUTION, LOLL_WARNING])
def test_cautions_stand_word_for_word(caution: str) -> None:
    assert caution in README


def test_the_reference_is_the_generated_one() -> None:
    assert replace_in(README) == README


@pytest.mark.parametrize("name", PAGES)
def test_no_link_is_broken(name: str) -> None:
    links = re.findall(r"\]\(([^)]+)\)", PAGES[name])
    assert links
    for link in links:
        assert "://" not in link, "links lead within the project"
        path, _, anchor = link.partition("#")
        assert (ROOT / path).exists(), link
        if anchor:
            assert anchor in anchors(PAGES[path or name]), link


@pytest.mark.parametrize("name", PAGES)
def test_files_that_are_named_exist(name: str) -> None:
    named = re.findall(r"`((?:rollsim|tests|scenarios|\.ci)/[\w./-]*\w/?)`", PAGES[name])
    named += re.findall(r"scenarios/[\w/-]+\.toml", PAGES[name])
    rooms = "|".join(ROOMS)
    named += [
        f"rollsim/{path}" for path in re.findall(rf"`((?:{rooms})/[a-z_]+\.py)`", PAGES[name])
    ]
    assert named
    missing = [path for path in named if not (ROOT / path).exists()]
    assert not missing


@pytest.mark.parametrize("room", ROOMS)
def test_the_map_shows_every_file_of_a_room(room: str) -> None:
    shown = re.search(rf"^\*\*{room}\.?\*\*(.*?)\n\n", DEVELOPERS, re.M | re.S)
    assert shown, room
    patterns = re.findall(r"`([a-z_]+\*?)`", shown[1])
    there = {path.stem for path in (ROOT / "rollsim" / room).glob("*.py")} - {"__init__"}
    found = {pattern: fnmatch.filter(there, pattern) for pattern in patterns}
    assert all(found.values()), f"not there: {[name for name, held in found.items() if not held]}"
    assert not there - {name for held in found.values() for name in held}, "not on the map"


def test_every_scenario_is_listed() -> None:
    for path in sorted((ROOT / "scenarios").glob("*.toml")):
        assert f"[{path.name}](scenarios/{path.name})" in README


def test_every_command_is_shown() -> None:
    used = {arguments[0] for arguments in commands()}
    mentioned = {name for name in COMMANDS if f"`rollsim {name}`" in README}
    assert used <= COMMANDS.keys()
    assert used | mentioned == COMMANDS.keys()


def test_options_that_are_named_exist() -> None:
    shown = [word for arguments in commands() for word in arguments if word.startswith("--")]
    quoted = re.findall(r"`([^`\n]*)`", prose(README))
    tools = ("pip", "python")
    named = [
        word
        for text in quoted
        if not text.startswith(tools)
        for word in re.findall(r"--[a-z][a-z-]*", text)
    ]
    assert set(shown + named) <= options()


def merged(base: dict[str, Any], more: dict[str, Any]) -> dict[str, Any]:
    """`base` with the tables of `more` put over its own."""
    return base | {
        key: merged(base.get(key, {}), value) if isinstance(value, dict) else value
        for key, value in more.items()
    }


def test_scenario_snippets_are_sound() -> None:
    whole: list[str] = []
    parts: list[str] = []
    for block in blocks(README.partition(BEGIN)[0], "toml"):
        (whole if "format" in tomllib.loads(block) else parts).append(block)
    assert whole
    assert parts
    for text in whole:
        assert loads(text).warnings == ()
    base = tomllib.loads(load(ROOT / "scenarios" / "gale-sweep.toml").text)
    for text in parts:
        Scenario.model_validate(merged(base, tomllib.loads(text)))


@pytest.mark.parametrize("name", PAGES)
def test_pages_speak_of_the_program_alone(name: str) -> None:
    forbidden = r"sessions?|prompts?|transcripts?|assistants?|workplace|brief|/tmp|/home|/work"
    assert not re.findall(rf"(?<!\w)(?:{forbidden})\b", PAGES[name], re.I)


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    """A folder with a copy of the scenarios, as a newcomer has them."""
    shutil.copytree(ROOT / "scenarios", tmp_path / "scenarios")
    return tmp_path


def outputs(folder: Path, calls: list[list[str]]) -> Iterator[str]:
    """What every call prints, run one after the other in `folder`; each must succeed quietly."""
    for call in calls:
        done = subprocess.run(
            [sys.executable, *call],
            cwd=folder,
            env=os.environ | {"COLUMNS": "100"},
            capture_output=True,
            text=True,
            timeout=60 * MINUTES,
        )
        assert done.returncode == 0, f"{call}: {done.stderr}"
        assert "Traceback" not in done.stderr
        assert "Warning" not in done.stderr, done.stderr
        yield done.stdout


def one_spaced(text: str) -> set[str]:
    """The lines of a text, each with single spaces; rules and empty lines left out."""
    return {" ".join(line.split()) for line in text.splitlines() if line.strip("─ ")}


@pytest.mark.slow
def test_every_example_runs_and_prints_what_is_shown(copy: Path) -> None:
    shell = [["-m", "rollsim", *arguments] for arguments in commands()]
    python = [["-W", "error", "-c", block] for block in blocks(README, "python")]
    assert len(shell) > 10
    assert python
    printed = "\n".join(outputs(copy, shell + python))
    shown = "\n".join(blocks(README, "text"))
    assert one_spaced(shown) <= one_spaced(printed)
    assert not list(copy.glob("*.nc"))
