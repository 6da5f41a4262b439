"""`rollsim keys`: the scenario reference in the terminal."""

from __future__ import annotations

import pytest
from cli_samples import Command

from rollsim.scenario.describe import tables


def test_without_a_key_every_table_and_key_is_listed(rollsim: Command) -> None:
    said = rollsim("keys")
    assert (said.code, said.err) == (0, "")
    for table in tables():
        assert f"{table.title}\n" in said.out
        for row in table.keys:
            assert row.key in said.out
    assert max(map(len, said.out.splitlines())) <= 100


@pytest.mark.parametrize(
    ("key", "lines"),
    [
        (
            "ship.gravity.kg_m",
            [
                "ship.gravity.kg_m",
                "  height of the centre of gravity above the keel in metres",
                "  holds a number above -20 and below 60 m",
                "  unit m",
                "  required",
            ],
        ),
        (
            '"events.0.over_s"',
            [
                'events.over_s (kind "move-weight")',
                "  how long it grows, in seconds; 0 is sudden",
                "  holds a number at least 0 and below 10000000 s",
                "  unit s",
                "  default 0.0",
            ],
        ),
        (
            "heel_law",
            ["wind.heel_law", '  holds "constant", "cos" or "cos2"', '  default "constant"'],
        ),
        ("[run.until]", ["[run.until]", "run.until.most", "run.until.of", "  default none"]),
        ("linear_per_s", ["ship.damping.linear_per_s", "  unit per s"]),
        ("conditions", ["[[conditions]]", "conditions.name"]),
        ("sweep", ["[sweep]", "sweep.steps", "sweep.add"]),
        ("surface_d", ["wind.turbulence.surface_drag", "  default 0.003"]),
    ],
)
def test_a_key_with_its_meaning_unit_bounds_and_default(
    key: str, lines: list[str], rollsim: Command
) -> None:
    said = rollsim("keys", key)
    assert (said.code, said.err) == (0, "")
    assert set(lines) <= set(said.out.splitlines())


def test_a_part_without_its_unit_names_every_key_of_it(rollsim: Command) -> None:
    told = rollsim("keys", "kg").out
    assert 'ship.levers.kg_m (kind "gz")' in told
    assert 'ship.levers.kg_m (kind "polynomial")' in told
    assert "ship.gravity.kg_m\n" in told
    assert "off_centre_m" not in told


@pytest.mark.parametrize(
    ("key", "words"),
    [
        ("ship.gravity.kgm", "Did you mean ship.gravity.kg_m?"),
        ("off_center_m", "Did you mean ship.gravity.off_centre_m"),
        ("xyzzy", "rollsim keys lists them all."),
        ("", "rollsim keys lists them all."),
        ("0", "rollsim keys lists them all."),
        ("k" * 100_000, f"called '{'k' * 60}'"),
        ("\x1b[31m", "'\\x1b[31m'"),
    ],
)
def test_an_unknown_key_names_the_nearest(key: str, words: str, rollsim: Command) -> None:
    said = rollsim("keys", key)
    assert (said.code, said.out) == (2, "")
    assert words in said.err
    assert len(said.err) < 400
