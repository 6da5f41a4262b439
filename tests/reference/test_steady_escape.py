"""Steady rolls of a listed ship: x″ + 0.1 x′ + x − x² = F sin 0.85 t (Thompson, from memory).

Folds, flip and fixed points were computed apart from this code, by continuation with fixed-step
Runge-Kutta; the orbits of one wave and of two are made again here by scipy.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from steady_cases import along, driven

from rollsim.map_names import BranchEnd, FoundBy
from rollsim.ship.damping import Damping
from rollsim.steady.family import WAVE_HEIGHT
from rollsim.steady.rest import from_rest
from rollsim.steady.search import Search

B, OMEGA = 0.1, 0.85
PERIOD = math.tau / OMEGA


@pytest.fixture(scope="module")
def search() -> Search:
    made = Search(driven(1.0, -1.0, damping=Damping(B)), WAVE_HEIGHT, 0.04, 0.104)
    made.run()
    return made


def test_folds_and_the_first_flip(search: Search) -> None:
    folds = [special.point.value for special in search.specials("fold")]
    assert folds == pytest.approx([0.04718, 0.06879], abs=1e-5)
    flips = [special.point.value for special in search.specials("flip")]
    assert flips[0] == pytest.approx(0.10050, abs=1e-5)
    assert not search.specials("branching")


def test_one_branch_through_both_folds_and_one_of_two_waves(search: Search) -> None:
    once, twice = search.branches
    assert (once.ratio, twice.ratio) == (1, 2)
    assert once.ends == (BranchEnd.RANGE, BranchEnd.RANGE)
    assert [p.value for p in (once.points[0], once.points[-1])] == pytest.approx([0.04, 0.104])
    # Stable, unstable between the folds, stable, and unstable beyond the flip.
    stable = along(once, lambda p: float(p.stable))  # type: ignore[attr-defined]
    assert np.count_nonzero(np.diff(stable)) == 3
    assert twice.points[5].stable
    assert twice.points[0].value == pytest.approx(0.10050, abs=1e-5)


def test_a_branch_that_a_doubling_leads_to_is_no_island(search: Search) -> None:
    """Met by a simulation on the doubled branch, it is followed to where the doubling ends."""
    point = search.branches[1].points[5]
    other = Search(search.case, WAVE_HEIGHT, 0.04, 0.104)
    other.from_seed(point.made.start, point.value, 2, FoundBy.SLOW_SWEEP)
    (branch,) = other.branches
    assert BranchEnd.JOINED in branch.ends
    assert not branch.island
    assert min(p.value for p in branch.points) == pytest.approx(0.10050, abs=2e-5)


def test_what_is_not_followed_is_counted(search: Search, monkeypatch: pytest.MonkeyPatch) -> None:
    assert search.not_followed == 0
    monkeypatch.setattr("rollsim.steady.search.MOST_BRANCHES", 1)
    few = Search(search.case, WAVE_HEIGHT, 0.09, 0.104)
    few.run()
    assert len(few.branches) == 1
    assert few.not_followed > 0


def test_a_way_from_calm_water_that_is_lost_is_counted(
    search: Search, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("rollsim.steady.follower.MOST_POINTS", 3)
    lost: list[None] = []
    found = list(from_rest(search.case, WAVE_HEIGHT, 0.09, lost=lambda: lost.append(None)))
    assert (len(found), len(lost)) == (0, 1)
    cut = Search(search.case, WAVE_HEIGHT, 0.09, 0.104)
    assert cut.run() == []
    assert cut.not_followed == 2  # from either end of the range


def test_the_product_of_the_multipliers_is_fixed_by_the_damping(search: Search) -> None:
    """Liouville: det M = exp(−b T) over the response's period T."""
    for branch in search.branches:
        expected = math.exp(-B * branch.ratio * PERIOD)
        for point in branch.points:
            assert np.prod(point.multipliers).real == pytest.approx(expected, rel=1e-7)


# F, and (x, x′) at phase 0 of the orbit that a ship finds from rest, or of the large one.
@pytest.mark.parametrize(
    ("force", "state"),
    [
        (0.06, (-0.041499, 0.207342)),
        (0.08, (-0.155644, -0.513144)),
        (0.095, (-0.074138, -0.551802)),
    ],
)
def test_fixed_points(search: Search, force: float, state: tuple[float, float]) -> None:
    point = search.follower(1).at_value(np.array(state), force)
    assert point is not None
    assert point.stable
    assert point.made.start == pytest.approx(state, abs=2e-6)


def test_multipliers_of_the_small_orbit(search: Search) -> None:
    point = search.follower(1).at_value(np.array([-0.041499, 0.207342]), 0.06)
    assert point is not None
    first, second = point.multipliers
    assert first == pytest.approx(second.conjugate())
    assert abs(first.real) == pytest.approx(0.53106, abs=1e-5)
    assert abs(first.imag) == pytest.approx(0.44212, abs=1e-5)


def test_the_doubled_response_repeats_after_two_waves_alone(search: Search) -> None:
    from scipy.integrate import solve_ivp

    point = search.branches[1].points[-1]
    force = point.value

    def rates(time: float, x: np.ndarray) -> list[float]:
        return [x[1], force * math.sin(OMEGA * time) - B * x[1] - x[0] + x[0] ** 2]

    done = solve_ivp(
        rates, (0.0, 2.0 * PERIOD), point.made.start, "DOP853", [PERIOD, 2.0 * PERIOD],
        rtol=1e-11, atol=1e-12,
    )  # fmt: skip
    assert done.y[:, 1] == pytest.approx(point.made.start, abs=1e-7)
    assert np.abs(done.y[:, 0] - point.made.start).max() > 0.05
