"""A case at other values is the case that a sweep over these values would hold."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from rollsim.engines.base import Case
from rollsim.errors import InputError
from rollsim.scenario.load import load, loads
from rollsim.study.at_value import VariedCase, case_with
from rollsim.study.plan import make_plan

SCENARIOS = Path(__file__).parents[2] / "scenarios"
FILES = sorted(path for path in SCENARIOS.glob("**/*.toml") if not path.stem.endswith("-hull"))
GALE = (SCENARIOS / "beam-gale.toml").read_text()


def same(one: Case, other: Case) -> None:
    assert one.gravity == other.gravity
    for a, b in zip(one.coefficients[1:], other.coefficients[1:], strict=True):
        np.testing.assert_array_equal(a, b)
    assert one.start == other.start
    assert np.array_equal(one.segments, other.segments)
    assert (one.heeling, one.limits, one.settle) == (other.heeling, other.limits, other.settle)
    assert np.array_equal(one.levers.grid[1], other.levers.grid[1])


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_at_its_own_value_it_is_itself(file: Path) -> None:
    study = load(file)
    number = len(study.cases) - 1
    ship, key = study.cases[number].scenario.ship, "ship.gravity.kg_m"
    value = ship.gravity.kg_m
    if ship.loading is not None:
        with pytest.raises(InputError, match=r"cannot stand beside \[ship\.loading\]"):
            case_with(study, number, {key: value})
        key, value = "ship.loading.lightship.mass_t", ship.loading.lightship.mass_t
    same(case_with(study, number, {key: value}), make_plan(study).cases[number])


def test_it_is_the_case_of_a_sweep() -> None:
    study = loads(GALE)
    swept = loads(GALE.replace("[[conditions]]", "[sweep]\n"
        '"sea.significant_height_m" = [4.0, 9.0]\n\n[[conditions]]', 1))  # fmt: skip
    varied = VariedCase(study, 1, ["sea.significant_height_m"])
    cases = make_plan(swept).cases
    for value, case in zip((4.0, 9.0), cases[2:4], strict=True):
        same(varied.at(value), case)
        assert varied.at(value).storm.sea.waves == case.storm.sea.waves


def test_a_value_that_is_not_sound_is_a_named_fault() -> None:
    study = loads(GALE)
    with pytest.raises(InputError, match=r"kg_m: .*got 300.*, with ship\.gravity\.kg_m = 300"):
        case_with(study, 0, {"ship.gravity.kg_m": 300.0})


def test_an_unknown_key() -> None:
    with pytest.raises(KeyError, match="no_such"):
        VariedCase(loads(GALE), 0, ["ship.no_such"])
