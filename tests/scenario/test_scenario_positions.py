"""The scanner finds exactly the paths that tomllib reads, each at its place."""

from __future__ import annotations

import tomllib
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scenario_samples import EXAMPLE

from rollsim.scenario.text.positions import KeyPath, Position, missing_place, positions

SCALARS = st.one_of(
    st.integers(-(2**60), 2**60).map(str),
    st.floats(allow_nan=False, allow_infinity=False).map(lambda v: repr(float(v))),
    st.sampled_from(["true", "false", "nan", "-inf", "0x1F", "1_000", "1e-3", "+1.5"]),
    st.sampled_from(["1979-05-27", "1979-05-27 07:32:00", "1979-05-27T07:32:00Z", "07:32:00.5"]),
    st.sampled_from(
        [
            '"a # [b] = {c}"',
            r'"quote \" and \\"',
            "'literal \\'",
            '"""two\n "" lines # = \\""" and """"',
            "'''three ''\n[x] = 1'''",
            '""',
            "''",
            '""""""',
            "''''''",
            '"""""""',
        ]
    ),
)
KEYS = st.one_of(
    st.text("abcXYZ019_-", min_size=1, max_size=4),
    st.text("ab. #=]\"'\\é", max_size=4).map(
        lambda t: '"' + t.replace("\\", "\\\\").replace('"', '\\"') + '"'
    ),
    st.text("ab. #=[", max_size=4).map(lambda t: f"'{t}'"),
)
SPACE = st.sampled_from(["", " ", "\t ", "  "])
BREAK = st.sampled_from(["", " ", "\n", " # note ] } \n", "\r\n  "])


@st.composite
def arrays(draw: st.DrawFn, values: st.SearchStrategy[str]) -> str:
    items = draw(st.lists(values, max_size=3))
    gaps = [draw(BREAK) for _ in range(2 * len(items) + 1)]
    inside = ",".join(gaps[2 * i] + item + gaps[2 * i + 1] for i, item in enumerate(items))
    comma = draw(st.sampled_from(["", ","])) if items else ""
    return f"[{inside}{comma}{gaps[-1]}]"


@st.composite
def inline_tables(draw: st.DrawFn, values: st.SearchStrategy[str]) -> str:
    pairs = [
        f"{draw(SPACE)}{draw(KEYS)}{draw(SPACE)}={draw(SPACE)}{draw(values)}"
        for _ in range(draw(st.integers(0, 3)))
    ]
    return "{" + ",".join(pairs) + draw(SPACE) + "}"


VALUES = st.recursive(SCALARS, lambda v: arrays(v) | inline_tables(v), max_leaves=6)
DOTTED = st.lists(KEYS, min_size=1, max_size=3).flatmap(
    lambda keys: SPACE.map(lambda space: f"{space}.{space}".join(keys))
)


@st.composite
def documents(draw: st.DrawFn) -> str:
    lines = []
    for _ in range(draw(st.integers(0, 8))):
        kind = draw(st.sampled_from(["pair", "pair", "pair", "table", "list", "note"]))
        space, key = draw(SPACE), draw(DOTTED)
        end = draw(st.sampled_from(["", " # end", "\t"]))
        line = {
            "pair": f"{space}{key}{space}={space}{draw(VALUES)}",
            "table": f"{space}[{space}{key}{space}]",
            "list": f"{space}[[{key}]]",
            "note": "# [not] = a table",
        }[kind]
        lines.append(line + end + draw(st.sampled_from(["\n", "\r\n", "\n\n"])))
    return "".join(lines)


def paths_of(value: Any, path: KeyPath = ()) -> set[KeyPath]:
    found = {path} if path else set()
    if isinstance(value, dict | list):
        items = value.items() if isinstance(value, dict) else enumerate(value)
        for key, item in items:
            found |= paths_of(item, (*path, key))
    return found


@settings(max_examples=500, deadline=None, derandomize=True)
@given(documents())
def test_same_paths_as_tomllib(text: str) -> None:
    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return
    assert set(positions(text)) == paths_of(raw)


@settings(max_examples=150, deadline=None, derandomize=True)
@given(documents())
def test_scalars_stand_where_they_are_said_to(text: str) -> None:
    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return
    lines = text.split("\n")
    for path, place in positions(text).items():
        value: Any = raw
        for part in path:
            value = value[part]
        if isinstance(value, bool):
            assert lines[place.line - 1][place.column - 1 :].startswith(str(value).lower())


def test_generated_documents_are_often_sound() -> None:
    sound = []

    @settings(max_examples=200, deadline=None, derandomize=True, database=None)
    @given(documents())
    def count(text: str) -> None:
        try:
            sound.append(len(paths_of(tomllib.loads(text))))
        except tomllib.TOMLDecodeError:
            sound.append(0)

    count()
    assert sum(n > 3 for n in sound) > 60


@pytest.mark.parametrize(
    ("path", "place"),
    [
        (("format",), Position(1, 10, 1, 1)),
        (("ship",), Position(4, 1, 4, 1)),
        (("ship", "levers", "kn_m", 1), Position(15, 14, 15, 14)),
        (("wind", "gust", 0, "rise_s"), Position(48, 10, 48, 1)),
        (("sweep", "sea.significant_height_m", "steps"), Position(85, 63, 85, 55)),
        (("conditions", 0), Position(87, 1, 87, 1)),
    ],
)
def test_places_in_the_example(path: KeyPath, place: Position) -> None:
    assert positions(EXAMPLE)[path] == place


def test_a_header_of_its_own_outdoes_one_that_implies_it() -> None:
    assert positions("[a.b]\nc = 1\n[a]\nd = 1\n")[("a",)].line == 3


def test_a_missing_key_stands_at_the_nearest_table() -> None:
    places = positions("[a]\nb = 1\n[a.c]\n")
    assert missing_place(places, ("a", "c", "x", 0)).line == 3
    assert missing_place(places, ("z", "x")) == Position(1, 1, 1, 1)
