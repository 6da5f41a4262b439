"""Files that a scenario names: what is read, what is refused, and that the text becomes whole."""

from __future__ import annotations

import os
import pickle
import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rollsim.scenario.text.beside import (
    MOST_FILE_BYTES,
    NamedFile,
    carried,
    named,
    with_named_files,
)

TEXT = "format = 1\r\nname = 'a'\n"


def raw_of(name: Any) -> dict[str, Any]:
    return {"ship": {"levers": {"kind": "hull", "file": name}}}


def refusals(raw: dict[str, Any], folder: Path | None) -> list[str]:
    return [f"{f.path}: {f.problem}" for f in with_named_files(raw, folder)[2]]


def test_a_named_file_comes_with_its_text(tmp_path: Path) -> None:
    (tmp_path / "hull.toml").write_bytes(TEXT.encode())
    raw, new, findings = with_named_files(raw_of("hull.toml"), tmp_path)
    plain = TEXT.replace("\r", "")
    assert findings == []
    assert new == {"hull.toml": plain} == raw["files"]
    assert raw["ship"]["levers"]["file"] == NamedFile("hull.toml", plain)
    assert pickle.loads(pickle.dumps(raw)) == raw


def test_conditions_and_axes_name_files_too(tmp_path: Path) -> None:
    for name in ("a.toml", "b.toml", "c.toml"):
        (tmp_path / name).write_text(name)
    raw = {
        "conditions": [{"name": "one", "ship.levers": {"file": "a.toml"}}],
        "sweep": {"ship.levers.file": ["b.toml", "c.toml", "b.toml"]},
    }
    made, new, findings = with_named_files(raw, tmp_path)
    assert findings == []
    assert list(new) == ["a.toml", "b.toml", "c.toml"]
    assert made["conditions"][0]["ship.levers"]["file"] == NamedFile("a.toml", "a.toml")
    assert made["sweep"] == raw["sweep"]
    assert named("ship.levers.file", "c.toml", new) == NamedFile("c.toml", "c.toml")


def test_what_names_no_file_is_left_as_it_is(tmp_path: Path) -> None:
    raw = {"title": "x", "ship": {"levers": {"kn_m": [0.0, 1.0]}}, "events": [{"kind": "file"}]}
    made, new, findings = with_named_files(raw, tmp_path)
    assert made is raw
    assert (new, findings) == ({}, [])


@pytest.mark.parametrize(
    ("name", "problem"),
    [
        ("../hull.toml", "the name of a file beside the scenario"),
        ("sub/hull.toml", "the name of a file beside the scenario"),
        ("/etc/passwd", "the name of a file beside the scenario"),
        ("..", "the name of a file beside the scenario"),
        ("", "the name of a file beside the scenario"),
        ("a\0b", "the name of a file beside the scenario"),
        ("a" * 300, "the name of a file beside the scenario"),
        ("missing.toml", "there is no such file"),
        ("folder", "is a directory"),
        ("pipe", "is not a regular file"),
        ("huge.toml", "holds more than 1 MB"),
        ("binary.toml", "is a binary file"),
        ("latin.toml", "is not UTF-8"),
        ("elsewhere.toml", "leads out of the scenario's folder"),
    ],
)
def test_what_is_no_plain_file_beside_the_scenario_is_refused(
    tmp_path: Path, name: str, problem: str
) -> None:
    folder = tmp_path / "here"
    (folder / "folder").mkdir(parents=True)
    os.mkfifo(folder / "pipe")
    (folder / "huge.toml").write_bytes(b"#" * (MOST_FILE_BYTES + 1))
    (folder / "binary.toml").write_bytes(b"a\0")
    (folder / "latin.toml").write_bytes("ä".encode("latin-1"))
    (tmp_path / "other.toml").write_text("x")
    (folder / "elsewhere.toml").symlink_to(tmp_path / "other.toml")
    (told,) = refusals(raw_of(name), folder)
    assert problem in told
    assert told.startswith("('ship', 'levers', 'file'): \"")


def test_a_missing_file_comes_with_those_that_are_there(tmp_path: Path) -> None:
    (tmp_path / "coaster-hull.toml").write_text("x")
    (finding,) = with_named_files(raw_of("coaster.toml"), tmp_path)[2]
    assert "beside the scenario: coaster-hull.toml" in finding.hint


def test_all_files_together_have_a_bound(tmp_path: Path) -> None:
    names = [f"{i}.toml" for i in range(12)]
    for name in names:
        (tmp_path / name).write_bytes(b"#" * MOST_FILE_BYTES)
    told = refusals({"sweep": {"ship.levers.file": names}}, tmp_path)
    assert [text.partition(": ")[2] for text in told] == [
        f'"{name}": is one file too many: together they are too long' for name in names[10:]
    ]


def test_a_text_without_a_folder_names_no_file() -> None:
    (told,) = refusals(raw_of("hull.toml"), None)
    assert "a text alone has no folder" in told


def test_a_scenario_that_carries_files_reads_none(tmp_path: Path) -> None:
    (tmp_path / "hull.toml").write_text("on the disk")
    raw = raw_of("hull.toml") | {"files": {"hull.toml": "carried"}}
    made, new, findings = with_named_files(raw, tmp_path)
    assert (new, findings) == ({}, [])
    assert made["ship"]["levers"]["file"].text == "carried"
    (told,) = refusals(raw_of("hull.toml") | {"files": {}}, tmp_path)
    assert "is not in the table [files]" in told


texts = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\r"), max_size=30)


@given(st.dictionaries(texts, texts, max_size=3), st.sampled_from(["a = 1", "a = 1\n", ""]))
def test_the_whole_text_holds_the_files_to_the_last_character(
    files: dict[str, str], text: str
) -> None:
    whole = carried(text, files)
    assert whole.startswith(text)
    assert tomllib.loads(whole).get("files", {}) == files


@pytest.mark.parametrize("body", ["a = '''x'''\n", 'b = """x"""\\', "c'", "\x00\x1f\x7f\t\n", "\n"])
def test_quotes_of_toml_itself_survive(body: str) -> None:
    assert tomllib.loads(carried("", {"f": body}))["files"] == {"f": body}
