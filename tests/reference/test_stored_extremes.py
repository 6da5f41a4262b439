"""A linear ship in random seas, told by what is stored of every run: no history is kept.

Her roll is Gaussian: variance by the spectrum, upward crossings by Rice's formula, ν_u = (1/2π)
√(m₂/m₀) exp(−u²/2m₀), and the greatest roll within bounds that need nothing more (H. Cramér and
M. R. Leadbetter, Stationary and Related Stochastic Processes, Wiley 1967, from memory).
"""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
import xarray as xr
from numpy.typing import NDArray
from scipy import stats
from test_random_seas import COEFFICIENT, CUT, HEIGHT, NATURAL, ZERO_CROSSING, ZETA, by_spectrum

from rollsim import loads
from rollsim.constants import GRAVITY
from rollsim.measures.probability import clopper_pearson
from rollsim.names import VARIABLES
from rollsim.show.query.rolls import extremes_of

Floats = NDArray[np.float64]

RUNS, SETTLE, COUNTED = 640, 200.0, 1000.0
VARIANCE = by_spectrum(CUT, absolute=False)
SIGMA = math.degrees(math.sqrt(VARIANCE))
"""The exact standard deviation of roll [degree]."""
RATE = math.sqrt(by_spectrum(CUT, absolute=False, power=2) / VARIANCE) / math.tau
"""The exact rate of upward crossings of zero [1/s]."""
LIMIT = 3.5
"""The roll limit of the study in standard deviations."""
SHIP = f"""
format = 1
[ship]
name = "linear"
length_m = 84.0
beam_m = 14.0
draught_m = 5.2
displacement_t = 4250.0
levers = {{ kind = "polynomial", gz_m_per_rad = [0.7], kg_m = 5.0, heel_max_deg = 85.0 }}
gravity = {{ kg_m = 5.0 }}
inertia = {{ gyradius_m = {math.sqrt(0.7 * GRAVITY) / NATURAL} }}
damping = {{ linear_per_s = {2.0 * ZETA * NATURAL} }}
[limits]
roll_deg = {LIMIT * SIGMA}
[sea]
kind = "irregular"
spectrum = "bretschneider"
significant_height_m = {HEIGHT}
zero_crossing_period_s = {ZERO_CROSSING}
slope_coefficient = {COEFFICIENT}
shortest_wave_m = {math.tau * GRAVITY / CUT**2}
[run]
duration_s = {SETTLE + COUNTED}
settle_s = {SETTLE}
realisations = {RUNS}
seed = 3
[output]
histories = "none"
"""


@pytest.fixture(scope="module")
def ds(tmp_path_factory: pytest.TempPathFactory) -> xr.Dataset:
    """Her runs, without a history."""
    path: Path = tmp_path_factory.mktemp("linear") / "linear.nc"
    with loads(SHIP).run(path, workers=1) as result:
        return result.load()


def numbers(ds: xr.Dataset, name: str) -> Floats:
    """A number of every run."""
    return np.asarray(ds[name].values[0], dtype=float)


def close(found: Floats, exact: float, errors: float = 4.0) -> None:
    """The mean over the runs is the exact one within its own standard errors."""
    error = float(np.std(found, ddof=1)) / math.sqrt(found.size)
    assert error < 0.03 * exact
    assert float(np.mean(found)) == pytest.approx(exact, abs=errors * error)


def crossings(level: Floats | float) -> Floats:
    """Rice: mean number of upward crossings of a level [standard deviations] in a run."""
    return np.asarray(RATE * COUNTED * np.exp(-0.5 * np.asarray(level) ** 2))


def test_no_history_is_kept(ds: xr.Dataset) -> None:
    assert not [name for name in ds.data_vars if VARIABLES[str(name)].dims[-1:] == ("t",)
                and not str(name).startswith("centre_of_gravity")]  # fmt: skip


def test_variance_by_the_spectrum(ds: xr.Dataset) -> None:
    mean, deviation = numbers(ds, "roll_mean"), numbers(ds, "roll_std")
    close(deviation**2 + mean**2, SIGMA**2)


def test_upward_crossings_by_rice(ds: xr.Dataset) -> None:
    close(numbers(ds, "upcrossings"), float(crossings(0.0)))


@pytest.mark.parametrize("level", [2.5, 3.0, 3.5, 4.0])
def test_the_greatest_roll_keeps_to_the_bounds_of_cramer_and_leadbetter(
    ds: xr.Dataset, level: float
) -> None:
    """P(max > u) ≤ P(φ > u) + ν_u T; from below by the first two moments, here the half of it.

    Crossings come in groups in a narrow band, the less so the higher the level.
    """
    reached = numbers(ds, "roll_max") / SIGMA
    low, high = clopper_pearson(int(np.sum(reached > level)), RUNS, 0.999)
    bound = float(stats.norm.sf(level) + crossings(level))
    assert low <= bound
    independent = 1.0 - math.exp(-float(crossings(level)))
    assert high >= (0.5 if level < 3.5 else 0.7) * independent
    assert low <= 1.02 * independent


def test_the_greatest_rolls_are_those_of_rayleigh_maxima_where_they_are_rare(
    ds: xr.Dataset,
) -> None:
    """Of N maxima, each Rayleigh, the greatest is below u with probability (1 − e^(−u²/2))^N.

    N is the stored count of upward crossings of each run. High levels alone: below, the maxima of
    one group are not independent.
    """
    count = numbers(ds, "upcrossings")
    for level in (3.6, 3.8, 4.0):
        expected = np.mean(1.0 - (1.0 - math.exp(-0.5 * level**2)) ** count)
        over = int(np.sum(numbers(ds, "roll_max") > level * SIGMA))
        over += int(np.sum(-numbers(ds, "roll_min") > level * SIGMA))
        low, high = clopper_pearson(over, 2 * RUNS, 0.999)
        assert low <= expected
        assert high >= 0.75 * expected


def test_first_passages_of_a_high_level_come_at_a_steady_rate(ds: xr.Dataset) -> None:
    """Poisson flow: the times of first passing are exponential, cut off at the end of the run.

    Rice's rate of both sides is an upper bound of theirs, that of one side not far from a lower
    one: in a narrow band both sides are passed in the same group.
    """
    first = numbers(ds, "roll_limit_time") - SETTLE
    passed = first[np.isfinite(first)]
    assert passed.size > 100
    rate = float(ds["failure_rate"][0]) / 3600.0
    upper = float(ds["failure_rate_upper"][0]) / 3600.0
    rice = 2.0 * float(crossings(LIMIT)) / COUNTED
    assert float(ds["failure_rate_lower"][0]) / 3600.0 < rice
    assert upper > 0.5 * rice

    def truncated(time: Floats) -> Floats:
        return np.asarray(np.expm1(-rate * time) / math.expm1(-rate * COUNTED))

    assert stats.kstest(passed, truncated).pvalue > 0.01


def test_the_law_of_the_greatest_roll_comes_near_the_limit_of_rare_crossings(
    ds: xr.Dataset,
) -> None:
    """Once in 100 runs: 2 ν_u T = −log 0.99, exact in the limit of high levels; within 5 %."""
    law = extremes_of(ds, 0)
    level = next(each for each in law.levels if each.runs == 100)
    exact = SIGMA * math.sqrt(2.0 * math.log(2.0 * RATE * COUNTED / -math.log(0.99)))
    assert law.goodness > 0.05
    assert level.value == pytest.approx(exact, rel=0.05)
    assert level.lower < 1.01 * exact < 1.02 * level.upper
