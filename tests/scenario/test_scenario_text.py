"""Reading and parsing: whatever is no scenario file, and a file spoilt at any place."""

from __future__ import annotations

import copy
import os
import subprocess
import sys
import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scenario_samples import BASE, EXAMPLE

from rollsim.errors import Fault, InputError
from rollsim.scenario.load import load, loads
from rollsim.scenario.text.read import MOST_BYTES, read_text


def refused(path: Path | str, said: str) -> None:
    with pytest.raises(InputError, match=said) as caught:
        load(path)
    assert str(path) in str(caught.value)


def test_file_with_and_without_byte_order_mark(tmp_path: Path) -> None:
    plain, marked = tmp_path / "a.toml", tmp_path / "b.toml"
    plain.write_text(BASE, encoding="utf-8")
    marked.write_bytes(b"\xef\xbb\xbf" + BASE.encode())
    assert load(plain).text == load(str(marked)).text == BASE


def test_missing_file_names_its_neighbours(tmp_path: Path) -> None:
    (tmp_path / "coaster.toml").write_text(BASE, encoding="utf-8")
    refused(tmp_path / "coster.toml", r"there is no such file\n  in that folder: coaster.toml")
    refused(tmp_path / "no" / "folder.toml", "there is no such file$")


def test_directory(tmp_path: Path) -> None:
    refused(tmp_path, "is a directory")


def test_binary_file(tmp_path: Path) -> None:
    path = tmp_path / "a.nc"
    path.write_bytes(b"\x89HDF\r\n\x1a\n\0\0")
    refused(path, "is a binary file")


def test_file_in_another_encoding(tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    path.write_bytes('format = 1\ntitle = "Büsum"\n'.encode("latin-1"))
    refused(path, "a.toml:2:11: is not UTF-8 text: byte 0xfc")


def test_huge_file(tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    with path.open("wb") as file:
        file.truncate(MOST_BYTES + 1)
    refused(path, "holds more than 10 MB")


def test_no_regular_file(tmp_path: Path) -> None:
    path = tmp_path / "pipe"
    os.mkfifo(path)
    refused(path, "is not a regular file")


def test_unreadable_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "a.toml"
    path.write_text(BASE, encoding="utf-8")

    def denied(_: Path) -> bytes:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "read_bytes", denied)
    refused(path, "cannot be read: Permission denied")


def test_name_with_a_null_byte() -> None:
    with pytest.raises(InputError, match="cannot be read: embedded null byte"):
        read_text("a\0b")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("format = 1\nkg_m = 5,3\n", "a.toml:2:9: not TOML: expected newline"),
        ("format = 1\nname = coaster\n", "a.toml:2:8: not TOML: invalid value"),
        ("format = 1\n[ship\n", "a.toml:2:6: not TOML: expected ']'"),
        ("format = 1\nformat = 1\n", "a.toml:2:11: not TOML: cannot overwrite a value"),
        ("a = [1,\n 2", "a.toml:2:3: not TOML: unclosed array"),
        ("a = " + "[" * 100_000, "a.toml:1:35: tables or lists lie more than 30 levels deep"),
        ("a = " + "[" * 40 + "]" * 40, "a.toml:1:35: tables or lists lie more than 30 levels deep"),
        ("a." * 500 + "a = 1", "a.toml:1:1: tables or lists lie more than 30 levels deep"),
        ("a = " + "1" * 5000, "a.toml:1:5: a number of more than 1000 digits"),
    ],
)
def test_what_is_no_toml(text: str, said: str) -> None:
    with pytest.raises(InputError) as caught:
        loads(text, "a.toml")
    assert str(caught.value).startswith(said)


JUNK = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-(10**30), 10**30),
    st.floats(),
    st.text(max_size=5),
    st.just([]),
    st.just({}),
    st.just([{"kind": "kn"}]),
    st.just({"kind": "irregular", "x": [1]}),
    st.lists(st.floats(-5, 5), max_size=3),
)


def toml_of(value: Any) -> str:
    """A value in TOML's inline form."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return '"' + "".join(c if c.isalnum() else f"\\U{ord(c):08x}" for c in value) + '"'
    if isinstance(value, list):
        return "[" + ", ".join(map(toml_of, value)) + "]"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{toml_of(str(k))} = {toml_of(v)}" for k, v in value.items()) + "}"
    return repr(value)


@st.composite
def spoilt(draw: st.DrawFn) -> str:
    """The example with a few of its tables, keys and items replaced, removed or renamed."""
    raw = copy.deepcopy(tomllib.loads(EXAMPLE))
    for _ in range(draw(st.integers(1, 4))):
        here: Any = raw
        while True:
            keys = list(here) if isinstance(here, dict) else list(range(len(here)))
            if not keys:
                break
            key = draw(st.sampled_from(keys))
            if isinstance(here[key], dict | list) and draw(st.booleans()):
                here = here[key]
                continue
            junk = draw(JUNK)
            if junk is None:
                del here[key]
            elif isinstance(here, dict) and draw(st.integers(0, 3)) == 0:
                here[str(key) + "x"] = here.pop(key)
            else:
                here[key] = copy.deepcopy(junk)
            break
    return "\n".join(f"{toml_of(key)} = {toml_of(value)}" for key, value in raw.items())


@settings(max_examples=300, deadline=None, derandomize=True)
@given(spoilt())
def test_a_spoilt_file_loads_or_tells_its_faults(text: str) -> None:
    faults: tuple[Fault, ...] = ()
    try:
        assert loads(text, "a.toml").cases
    except InputError as error:
        faults = error.faults
    for fault in faults:
        assert fault.problem
        assert "validat" not in fault.text("a.toml").lower()
        assert "is not valid (" not in fault.problem


def test_reading_needs_no_heavy_imports() -> None:
    code = (
        "import sys, rollsim.scenario.load\n"
        "heavy = {'scipy', 'xarray', 'numba', 'dask', 'matplotlib', 'netCDF4'} & set(sys.modules)\n"
        "print(*heavy)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout.strip(), done.stderr.strip()) == (0, "", "")
