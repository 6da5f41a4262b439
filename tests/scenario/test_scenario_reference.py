"""The reference in scenarios/README.md: complete, deterministic, put between its markers."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from rollsim.scenario.reference import BEGIN, END, main, markdown, replace_in
from rollsim.scenario.schema.catalogue import catalogue

README = Path(__file__).parents[2] / "scenarios" / "README.md"


def test_the_reference_is_the_generated_one() -> None:
    text = README.read_text(encoding="utf-8")
    assert replace_in(text) == text


def test_every_key_is_described() -> None:
    for pattern, entry in catalogue().items():
        if pattern[-1] != "*":
            assert entry.description, pattern


def test_every_key_has_a_row_or_a_section() -> None:
    text = markdown()
    for pattern, entry in catalogue().items():
        key = pattern[-1]
        if key == "*" or pattern[0] == "conditions":
            continue
        table = ".".join(part for part in pattern if part != "*")
        in_row, in_section = f"| `{key}` |" in text, f"[{table}]" in text
        assert in_row or in_section or key == "kind", pattern
        assert in_row is entry.is_leaf or not entry.is_leaf or key in ("kind", "sweep", "files"), (
            pattern
        )


@pytest.mark.parametrize(
    "row",
    [
        "| `beam_m` | greatest breadth on the waterline in metres "
        "| a number above 0 and below 120 m | required |",
        "| `heel_deg` | angles of heel in degrees, increasing; from 0, or over both sides with 0 "
        "among them | a list of numbers | required |",
        '| `from` | the side that it blows from | `"port"` or `"starboard"` | required |',
    ],
)
def test_rows(row: str) -> None:
    assert row in markdown().splitlines()


def test_same_text_from_the_command_line() -> None:
    command = [sys.executable, "-m", "rollsim.scenario.reference"]
    done = subprocess.run(command, capture_output=True, check=True)
    assert done.stdout.decode("utf-8") == markdown()


def test_replaces_between_the_markers_and_is_stable(tmp_path: Path) -> None:
    path = tmp_path / "README.md"
    path.write_text(f"before\n{BEGIN}\nold\n{END}\nafter\n", encoding="utf-8")
    main([str(path)])
    once = path.read_text(encoding="utf-8")
    assert once == f"before\n{BEGIN}\n\n{markdown()}\n{END}\nafter\n"
    assert replace_in(once) == once


@pytest.mark.parametrize("text", ["", BEGIN, END, END + BEGIN])
def test_missing_markers(text: str) -> None:
    with pytest.raises(ValueError, match="lacks the markers"):
        replace_in(text)
