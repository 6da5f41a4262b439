"""The guard of the block engine: trouble is stepped finer, is never a capsize, harms no one."""

from __future__ import annotations

import math
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import numpy as np
import pytest
from engine_cases import Recipe, case_of, runs_of

from rollsim.engines.base import Case, RunList, run_list
from rollsim.engines.block import engine as block_engine
from rollsim.engines.block.engine import BlockEngine
from rollsim.engines.limits import Limits
from rollsim.engines.runs import NUMBERS, Runs
from rollsim.engines.scipy.engine import ScipyEngine
from rollsim.motion.timeline import Change
from rollsim.names import Outcome
from rollsim.ship.damping import Damping
from rollsim.weather.spectra import bretschneider

STORM = Recipe(
    damping=Damping(0.012, 0.35),
    waves=bretschneider(7.0, peak_period=10.0),
    duration=120.0,
    limits=Limits(math.radians(20.0), math.radians(25.0), math.radians(80.0)),
    changes=[Change(40.3, 20.0, across_moment=0.01)],
)


@pytest.fixture(scope="module")
def case() -> Case:
    """A storm in which G moves."""
    return case_of(STORM)


def same(one: Runs, other: Runs, where: slice | list[int] = slice(None)) -> bool:
    """Whether all bits of `one` are those of `other` at the places `where`."""
    numbers = all(
        np.array_equal(one.numbers[n], other.numbers[n][where], equal_nan=n != "message")
        for n in NUMBERS
    )
    return numbers and np.array_equal(one.histories, other.histories[:, where], equal_nan=True)


def spread(case: Case, count: int) -> RunList:
    """Runs that differ in storm, start and factors."""
    r = np.random.default_rng(5)
    return run_list(
        r.permutation(count),
        (r.uniform(-0.2, 0.2, count), r.uniform(-0.05, 0.05, count)),
        r.uniform(0.5, 1.5, count),
        1.0,
    )


@pytest.mark.parametrize(("miss", "levels"), [(1e-4, {0, 1}), (1e-9, {0, 1, 2})])
def test_a_strained_run_is_stepped_again_finer(
    case: Case, monkeypatch: pytest.MonkeyPatch, miss: float, levels: set[int]
) -> None:
    free = BlockEngine(case).run(runs_of(case, 4), histories=True)
    monkeypatch.setattr(block_engine, "MOST_MISS", 25.0 * miss)
    engine = BlockEngine(case)
    found = engine.run(runs_of(case, 4), histories=True)
    assert set(engine._steppers) >= levels
    assert np.array_equal(found.numbers["outcome"], free.numbers["outcome"])
    assert np.nanmax(np.abs(found.histories[0] - free.histories[0])) < 0.01


def test_the_reference_takes_over_what_no_step_is_fine_enough_for(
    case: Case, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(block_engine, "MOST_MISS", 1e-30)
    runs = runs_of(case, 3)
    found = BlockEngine(case).run(runs, histories=True)
    exact = ScipyEngine(case, block_engine.REFERENCE).run(runs, histories=True)
    assert same(found, exact)


def test_a_step_far_too_long_is_trouble_and_no_capsize() -> None:
    """Damping far beyond what the scheme bears: at this step it would run away at once."""
    recipe = Recipe(damping=Damping(0.0, 0.0, 50.0), start=(0.0, 3.0), duration=60.0)
    case = case_of(recipe)
    runs = runs_of(case, 1)
    engine = BlockEngine(case, 0.5)
    measured, trouble = engine._at(0, runs, histories=False)
    assert trouble.all()
    assert np.isnan(measured.passed).all()
    found = engine.run(runs, histories=True)
    exact = ScipyEngine(case, block_engine.REFERENCE).run(runs, histories=True)
    assert found.numbers["outcome"] == exact.numbers["outcome"] == Outcome.SURVIVED
    assert found.histories[0] == pytest.approx(exact.histories[0], abs=0.01)


@pytest.mark.parametrize("damping", [Damping(0.0, 0.0, 1e300), Damping(math.nan)])
def test_what_no_solver_can_do_is_not_solved_with_a_message(damping: Damping) -> None:
    case = case_of(Recipe(damping=damping, start=(0.1, 1.0), duration=20.0))
    found = BlockEngine(case, 0.1).run(runs_of(case, 1), histories=True)
    assert found.numbers["outcome"] == Outcome.NOT_SOLVED
    assert found.numbers["message"][0].startswith("DOP853 gave up at ")


def test_a_start_that_is_no_number_spoils_no_neighbour(case: Case) -> None:
    runs = spread(case, 5)
    alone = BlockEngine(case).run(runs, histories=True)
    broken = runs._replace(rate=np.where(np.arange(5) == 2, math.nan, runs.rate))
    found = BlockEngine(case).run(broken, histories=True)
    assert found.numbers["outcome"][2] == Outcome.NOT_SOLVED
    others = [0, 1, 3, 4]
    numbers = {name: values[others] for name, values in found.numbers.items()}
    assert same(Runs(numbers, found.histories[:, others]), alone, others)


def test_a_run_is_the_same_alone_in_any_order_and_in_any_company(case: Case) -> None:
    runs = spread(case, 70)
    engine = BlockEngine(case)
    together = engine.run(runs, histories=True)
    for i in (0, 33, 63, 64, 69):
        assert same(engine.run(runs.part(np.array([i])), histories=True), together, [i])
    order = np.random.default_rng(1).permutation(70)
    assert same(engine.run(runs.part(order), histories=True), together, list(order))


def test_company_that_strains_the_scheme_changes_nothing(
    case: Case, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Some lanes of a block are stepped again, others are not: all as if alone."""
    monkeypatch.setattr(block_engine, "MOST_MISS", 5.0)
    runs = spread(case, 12)
    engine = BlockEngine(case)
    strained = engine._at(0, runs, histories=False)[1]
    assert 0 < strained.sum() < 12
    together = engine.run(runs, histories=True)
    for i in range(12):
        assert same(engine.run(runs.part(np.array([i])), histories=True), together, [i])


def test_blocks_side_by_side_in_threads_give_the_same_bits(case: Case) -> None:
    """One engine, two threads: what is remade as G moves is every block's own."""
    parts = [spread(case, 70).part(slice(i, i + 35)) for i in (0, 35)]
    engine = BlockEngine(case)
    apart = [engine.run(part, histories=True) for part in parts]
    fresh = BlockEngine(case)
    with ThreadPoolExecutor(2) as pool:
        for _ in range(3):
            found = pool.map(lambda part: fresh.run(part, histories=True), parts)
            assert all(same(ours, theirs) for ours, theirs in zip(found, apart, strict=True))


def test_realisations_of_a_case_without_a_storm_are_one_run(case: Case) -> None:
    calm = case_of(replace(STORM, waves=None, start=(0.2, 0.0)))
    found = BlockEngine(calm).run(runs_of(calm, 3), histories=True)
    assert same(found, found, [0, 0, 0])
