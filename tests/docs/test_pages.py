"""The pages for people: what they name or say is there and is so. Their examples run elsewhere."""

from __future__ import annotations

import fnmatch
import re
import subprocess
import sys
import tomllib
from typing import Any

import click
import pytest
from pages import (
    DEVELOPERS,
    GUIDES,
    PAGES,
    README,
    RESULTS,
    ROOT,
    anchors,
    blocks,
    commands,
    links,
    prose,
)

from rollsim.cautions import CAUTION, LOLL_WARNING
from rollsim.cli.main import COMMANDS, rollsim
from rollsim.names import COORDINATES, VARIABLES
from rollsim.scenario.load import load, loads
from rollsim.scenario.schema import Scenario

GATE = {
    "start": "python3 -m venv .venv\n"
    ".venv/bin/pip install .\n"
    ".venv/bin/rollsim run scenarios/beam-gale.toml",
    "test": ".venv/bin/pip install '.[test]'\n.venv/bin/pytest -q -n 2 -m \"not slow\"",
}
ROOMS = tuple(sorted(path.parent.name for path in (ROOT / "rollsim").glob("*/__init__.py")))
MOST_BYTES = 15_000
"""The README is read in one go; what is looked up stands on pages of its own."""

each_page = pytest.mark.parametrize("name", PAGES)
each_guide = pytest.mark.parametrize("name", GUIDES)


def options() -> set[str]:
    """Every long option of every command."""
    context = click.Context(rollsim)
    every = [rollsim, *(rollsim.get_command(context, name) for name in COMMANDS)]
    params = [param for each in every if each for param in each.params]
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


def test_the_readme_is_short() -> None:
    assert len(README.encode()) < MOST_BYTES


@pytest.mark.parametrize("caution", [CAUTION, LOLL_WARNING])
def test_cautions_stand_word_for_word(caution: str) -> None:
    assert caution in README


def test_the_page_of_results_has_the_caution() -> None:
    assert CAUTION in RESULTS


@each_page
def test_no_link_is_broken(name: str) -> None:
    assert links(PAGES[name])
    for link in links(PAGES[name]):
        assert "://" not in link, "links lead within the project"
        path, _, anchor = link.partition("#")
        target = (ROOT / name).parent / path if path else ROOT / name
        assert target.exists(), link
        if anchor:
            assert anchor in anchors(target.read_text(encoding="utf-8")), link


@each_page
def test_files_that_are_named_exist(name: str) -> None:
    named = re.findall(r"`((?:rollsim|tests|scenarios|\.ci)/[\w./-]*\w/?)`", PAGES[name])
    named += re.findall(r"scenarios/[\w/-]+[a-z]\.toml", PAGES[name])
    rooms = "|".join(ROOMS)
    named += [
        f"rollsim/{path}" for path in re.findall(rf"`((?:{rooms})/[a-z_]+\.py)`", PAGES[name])
    ]
    assert named
    missing = [path for path in named if not (ROOT / path).exists()]
    assert not missing


@pytest.mark.parametrize("room", ROOMS)
def test_the_map_shows_every_file_of_a_room(room: str) -> None:
    """Files and folders that lie in it directly; a folder answers for its own files."""
    section = re.search(rf"^\*\*{room}\.?\*\*(.*?)\n\n", DEVELOPERS, re.M | re.S)
    assert section, room
    patterns = re.findall(r"`([a-z_]+\*?)/?`", section[1])
    folder = ROOT / "rollsim" / room
    there = {path.stem for path in folder.glob("*.py")} - {"__init__"}
    there |= {path.parent.name for path in folder.glob("*/__init__.py")}
    anywhere = there | {path.stem for path in folder.rglob("*.py")}
    anywhere |= {path.name for path in (ROOT / "rollsim").iterdir() if path.is_dir()}
    lost = [pattern for pattern in patterns if not fnmatch.filter(anywhere, pattern)]
    assert not lost, f"not there: {lost}"
    shown = {pattern: fnmatch.filter(there, pattern) for pattern in patterns}
    assert not there - {name for names in shown.values() for name in names}, "not on the map"


def test_every_scenario_is_listed() -> None:
    for path in sorted((ROOT / "scenarios").glob("*.toml")):
        assert f"[{path.name}](scenarios/{path.name})" in README
    for folder in sorted({path.parent for path in (ROOT / "scenarios").glob("*/*.toml")}):
        assert f"[{folder.name}](scenarios/{folder.name})" in README


def test_every_command_is_shown() -> None:
    used = {arguments[0] for page in GUIDES.values() for arguments in commands(page)}
    mentioned = {name for name in COMMANDS if f"`rollsim {name}`" in README}
    assert used <= COMMANDS.keys()
    assert used | mentioned == COMMANDS.keys()


@each_guide
def test_every_example_is_understood(name: str) -> None:
    """Options, choices and counts of arguments are right; nothing runs."""
    for command, *arguments in commands(GUIDES[name]):
        parser = rollsim.get_command(click.Context(rollsim), command)
        assert parser is not None
        assert parser.make_context(command, arguments).params


@each_guide
def test_every_python_block_is_python(name: str) -> None:
    for block in blocks(GUIDES[name], "python"):
        assert compile(block, name, "exec")


@each_guide
def test_options_that_are_named_exist(name: str) -> None:
    quoted = re.findall(r"`([^`]*)`", prose(GUIDES[name]))
    tools = ("pip", "python")
    named = {
        word
        for text in quoted
        if not text.startswith(tools)
        for word in re.findall(r"--[a-z][a-z-]*", text)
    }
    assert named
    assert named <= options()


def test_every_variable_is_explained() -> None:
    """By its name in the page of results, limits of an interval by the ending alone."""
    explained = set(re.findall(r"`([a-z_]+)`", RESULTS))
    assert {"_lower", "_upper"} <= explained
    named = {re.sub(r"_(lower|upper)$", "", name) for name in (*VARIABLES, *COORDINATES)}
    assert not named - explained


def merged(base: dict[str, Any], more: dict[str, Any]) -> dict[str, Any]:
    """`base` with the tables of `more` put over its own."""
    return base | {
        key: merged(base.get(key, {}), value) if isinstance(value, dict) else value
        for key, value in more.items()
    }


def test_scenario_snippets_are_sound() -> None:
    whole: list[str] = []
    parts: list[str] = []
    for page in GUIDES.values():
        for block in blocks(page, "toml"):
            (whole if "format" in tomllib.loads(block) else parts).append(block)
    assert whole
    assert parts
    for text in whole:
        assert loads(text).warnings == ()
    base = tomllib.loads(load(ROOT / "scenarios" / "beam-gale.toml").text)
    for text in parts:
        Scenario.model_validate(merged(base, tomllib.loads(text)))


@each_page
def test_pages_speak_of_the_program_alone(name: str) -> None:
    forbidden = r"sessions?|prompts?|transcripts?|assistants?|workplace|brief|/tmp|/home|/work"
    assert not re.findall(rf"(?<!\w)(?:{forbidden})\b", PAGES[name], re.I)


@each_guide
def test_pages_use_the_words_of_the_field(name: str) -> None:
    invented = r"nought|asked (?:height|for)|rests nowhere|mend(?:ed|s)?|oftener|stiffness of the"
    assert not re.findall(rf"\b(?:{invented})\b", GUIDES[name], re.I)
