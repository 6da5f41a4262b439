"""Texts made to cost time or memory: refused soon, in few words, with the first errors alone."""

from __future__ import annotations

import time
import tracemalloc

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scenario_samples import BASE

from rollsim.errors import InputError
from rollsim.scenario.checks.time import displacement_changes
from rollsim.scenario.load import loads
from rollsim.scenario.schema import AddWeight, RemoveWeight
from rollsim.scenario.text.parse import MOST_LEVELS

SECONDS = 2.0
"""CPU seconds within which a text that goes past all measure is refused."""

MANY_SECONDS = 30.0
"""The same for 300 000 errors, of which a tenth of that was seen."""

KEY = "k" * 9_900_000
TOO_DEEP = f"lie more than {MOST_LEVELS} levels deep in each other"
MANY = range(300_000)


def refused(text: str, seconds: float) -> str:
    begin = time.process_time()
    with pytest.raises(InputError, match=r"^a\.toml:") as caught:
        loads(text, "a.toml")
    assert time.process_time() - begin < seconds
    assert len(str(caught.value)) < 20_000
    return str(caught.value)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (".".join(["a"] * 60_000) + " = 1", f"a.toml:1:1: tables or lists {TOO_DEEP}"),
        (".".join(["a"] * 200_000) + " = 1", TOO_DEEP),
        ("[" + " . ".join(["'a'"] * 200_000) + "]", TOO_DEEP),
        ("a = { " + ".".join(['"a"'] * 200_000) + " = 1 }", TOO_DEEP),
        ("a = " + "[" * 50_000, "a.toml:1:35: tables"),
        ("a = " + "[" * 50_000 + "]" * 50_000, TOO_DEEP),
        ("a = " + "{ a = " * 50_000, TOO_DEEP),
        ("a = [\n" * 3 + "1" * 5000, "a.toml:4:1: a number of more than 1000 digits"),
        (BASE.replace("5.30", "5." + "3" * 5000), "digits"),
        (BASE + "#" * 10_000_000, "a.toml: holds more than 10 MB"),
    ],
    ids=lambda value: value[:20],
)
def test_what_goes_past_all_measure_never_meets_the_parser(text: str, said: str) -> None:
    tracemalloc.start()
    message = refused(text, SECONDS)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert said in message
    assert len(message.splitlines()) <= 2
    assert peak < 2_000_000


@pytest.mark.parametrize(
    "text",
    [
        "# " + "a." * 40 + "\n",
        f'title = "{"a." * 40}"\n',
        f"title = '''\n{'a.' * 40} [[[[ \n'''\n",
        f'title = """{"a." * 40}{"[" * 40} \\""" "" """\n',
        "# " + "1" * 2000 + "[" * 50 + "\n",
    ],
)
def test_words_and_comments_may_hold_what_keys_may_not(text: str) -> None:
    body = BASE.replace('title = "beam gale"\n', "")
    assert loads(text + body).base.format == 1


@pytest.mark.parametrize(
    "text",
    [
        f"{KEY} = 1\n{BASE}",
        f'"{KEY}" = 1\n{BASE}',
        f"{BASE}[sweep]\n{KEY} = [1]\n",
        f'{BASE}[sweep]\n"{KEY[: len(KEY) // 2].replace("k", "k.")}" = [1]\n',
        f"{BASE}[[conditions]]\nname = 'a'\n{KEY} = 1\n",
    ],
    ids=["bare", "quoted", "sweep", "dotted", "condition"],
)
def test_a_long_key_is_cut(text: str) -> None:
    message = refused(text, MANY_SECONDS)
    assert '..."' in message
    assert "unknown key" in message
    assert len(message) < 300


@pytest.mark.slow
@pytest.mark.parametrize(
    "text",
    [
        "".join(f"k{i} = 1\n" for i in MANY) + BASE,
        BASE + "".join(f"[k{i}]\n" for i in MANY),
        BASE + "[[conditions]]\nname = 'a'\n" + "".join(f"k{i} = 1\n" for i in MANY),
        BASE + "[sweep]\n" + "".join(f"k{i} = [1]\n" for i in MANY),
    ],
    ids=["keys", "tables", "condition", "sweep"],
)
def test_of_many_unknown_keys_the_first_are_told(text: str) -> None:
    message = refused(text, MANY_SECONDS)
    assert message.count("unknown key") == 50
    assert message.endswith("a.toml: and 299950 more errors\n  correct the first ones first")
    assert "k0: unknown key" in message
    assert "k49: unknown key" in message


def test_many_wrong_items_are_told_alike() -> None:
    message = refused(BASE.replace("0.493,", '"x",' * 30_000), MANY_SECONDS)
    assert message.count('must be a number, got "x"') == 50
    assert "and 29950 more errors" in message


def test_thousands_of_events_and_gusts_are_checked_soon() -> None:
    events = "".join(
        f"[[events]]\nkind = 'add-weight'\nat_s = {i / 10}\nover_s = 300\nmass_t = 0.01\n"
        "height_m = 1\n"
        for i in range(3000)
    )
    gusts = "".join(
        f"[[wind.gust]]\nat_s = {100 + i}\nrise_s = 0.1\nhold_s = 0.1\nspeed_factor = 1.1\n"
        for i in range(3000)
    )
    begin = time.process_time()
    assert loads(BASE + events + gusts).warnings == ()
    assert time.process_time() - begin < MANY_SECONDS


WEIGHTS = st.lists(
    st.tuples(
        st.booleans(), st.sampled_from([0.0, 1.0, 2.5, 4.0]), st.sampled_from([0.0, 0.5, 3.0]),
        st.floats(0.1, 100.0),
    ),
    max_size=6,
)  # fmt: skip


@settings(max_examples=200, deadline=None, derandomize=True)
@given(WEIGHTS)
def test_changes_of_displacement_are_the_sum_of_all_weights(
    weights: list[tuple[bool, float, float, float]],
) -> None:
    events = tuple(
        AddWeight(kind="add-weight", at_s=at, over_s=over, mass_t=mass, height_m=1.0)
        if comes
        else RemoveWeight(kind="remove-weight", at_s=at, over_s=over, mass_t=mass, height_m=1.0)
        for comes, at, over, mass in weights
    )

    def change(moment: float) -> float:
        shares = [
            float(moment >= e.at_s)
            if e.over_s == 0
            else min(max((moment - e.at_s) / e.over_s, 0), 1)
            for e in events
        ]
        signs = [1.0 if comes else -1.0 for comes, *_ in weights]
        return sum(s * e.mass_t * share for s, e, share in zip(signs, events, shares, strict=True))

    times = sorted({(t, i) for i, e in enumerate(events) for t in (e.at_s, e.at_s + e.over_s)})
    changes = list(displacement_changes(events))
    assert sorted(index for index, _ in changes) == sorted(index for _, index in times)
    for (moment, _), (_, value) in zip(times, changes, strict=True):
        assert value == pytest.approx(change(moment), abs=1e-9)


@pytest.mark.parametrize(
    ("text", "hint"),
    [
        ("format = .039", "write 0.039"),
        ("format = -.5 # half", "write -0.5"),
        ("format = 5.", "write 5.0"),
        ("kg_m = 5,3", "write 5.3"),
        ("a = [1, .5]", "write 0.5"),
        ("a = b", "decimals with a point"),
    ],
)
def test_numbers_that_toml_does_not_know(text: str, hint: str) -> None:
    assert refused(text, SECONDS).endswith(hint) or hint == "decimals with a point"
    assert hint in refused(text, SECONDS)
