"""Responses that close upon themselves: a brute force of our own, harmonic balance of two terms.

x″ + b x′ + x + x³ = F cos ωt rolls once in three waves over an interval of F, a branch that no
continuation from calm water reaches (Nayfeh and Mook, Nonlinear Oscillations, 1979, from memory).
With x = B cos ωt + a cos(ωt/3 + γ), u = ¾ a² and D = 1 − ω²/9 + 3/2 B², the terms of ω/3 balance
where (u + D)² + (b ω/3)² = ¾ B² u, those of ω where F = |1 − ω² + ¾ B² + 3/2 a²| B, ¼ a³ cos 3γ
left out.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from steady_cases import COSINE, driven

from rollsim.map_names import BranchEnd, FoundBy
from rollsim.ship.damping import Damping
from rollsim.steady.family import WAVE_HEIGHT, Family
from rollsim.steady.islands import attractors
from rollsim.steady.search import Search

B, OMEGA = 0.05, 3.5
CASE = driven(1.0, 0.0, 1.0, damping=Damping(B), frequency=OMEGA, phase=COSINE, capsize=2.5)


def brute_force(force: float, side: int, waves: int) -> np.ndarray:
    """States (x, x′) at phase 0 after so many waves from a grid of starts, by Runge and Kutta."""
    x, v = np.meshgrid(np.linspace(-2.0, 2.0, side), np.linspace(-4.0, 4.0, side))
    steps = 60
    h = math.tau / OMEGA / steps

    def rate(t: float, x: np.ndarray, v: np.ndarray) -> np.ndarray:
        return np.asarray(force * math.cos(OMEGA * t) - B * v - x - x**3)

    for i in range(waves * steps):
        t = i * h
        k1, l1 = v, rate(t, x, v)
        k2, l2 = v + 0.5 * h * l1, rate(t + 0.5 * h, x + 0.5 * h * k1, v + 0.5 * h * l1)
        k3, l3 = v + 0.5 * h * l2, rate(t + 0.5 * h, x + 0.5 * h * k2, v + 0.5 * h * l2)
        k4, l4 = v + h * l3, rate(t + h, x + h * k3, v + h * l3)
        x = x + h / 6.0 * (k1 + 2.0 * k2 + 2.0 * k3 + k4)
        v = v + h / 6.0 * (l1 + 2.0 * l2 + 2.0 * l3 + l4)
    return np.unique(np.round(np.column_stack((x.ravel(), v.ravel())), 2), axis=0)


def test_a_grid_of_starts_comes_to_what_brute_force_finds() -> None:
    """At F = 2: the response of one wave and the three states of that of three waves."""
    states, ratios = attractors(Family(CASE, WAVE_HEIGHT), 2.0)
    found = brute_force(2.0, 16, 150)
    gaps = np.linalg.norm(states[:, None] - found[None], axis=2)
    assert np.all(gaps.min(axis=0) < 0.05)
    assert np.all(gaps.min(axis=1)[ratios <= 3] < 0.05)
    single, three = (states[ratios == ratio] for ratio in (1, 3))
    assert len(single) >= 1
    assert len(three) >= 3


@pytest.mark.slow
def test_the_island_closes_where_harmonic_balance_has_it() -> None:
    search = Search(CASE, WAVE_HEIGHT, 0.5, 6.5)
    (main,) = search.run()
    assert (main.found_by, main.island) == (FoundBy.CALM_WATER, False)
    search.from_grid(2.0, *attractors(Family(CASE, WAVE_HEIGHT), 2.0))
    (island,) = search.branches[1:]
    assert (island.ratio, island.found_by, island.island) == (3, FoundBy.GRID_OF_STARTS, True)
    assert island.ends == (BranchEnd.CLOSED, BranchEnd.CLOSED)
    folds = sorted(special.point.value for special in search.specials("fold"))
    delta, loss = 1.0 - OMEGA**2 / 9.0, B * OMEGA / 3.0
    # Where the two roots u meet: (63/16) B⁴ + 3 δ B² + 4 (b ω/3)² = 0.
    expected = []
    for square in sorted(np.roots([63.0 / 16.0, 3.0 * delta, 4.0 * loss**2]).real):
        u = 0.5 * (0.75 * square - 2.0 * (delta + 1.5 * square))
        size = abs(1.0 - OMEGA**2 + 0.75 * square + 2.0 * u)
        expected.append(size * math.sqrt(square))
    assert folds == pytest.approx(expected, rel=0.01)
    assert folds == pytest.approx([1.2195, 5.598], rel=1e-3)  # regression
