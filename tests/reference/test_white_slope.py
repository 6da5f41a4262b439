"""White slope against exact stationary densities and the rate of hopping between lolls.

ψ″ + b ψ′ + V′(ψ) = σ ξ(t) has the density exp[−(2b/σ²)(ψ′²/2 + V)] whatever V (Caughey; from
memory, checked by simulation), and leaves a deep well at the rate of Kramers (1940). Here V =
(g/k²) ∫ GZ and σ² = π S (|GM| g/k²)².
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pytest
import xarray as xr
from numpy.typing import NDArray

import rollsim
from rollsim.constants import GRAVITY
from rollsim.errors import InputError
from rollsim.show.query.sides import sides

Floats = NDArray[np.float64]

K = 5.3
INERTIA = K**2 / GRAVITY
GM, CUBIC = -0.1, 2.5
"""Of a ship at loll: wells at ±√(−GM / cubic) = ±11.5°."""


@dataclass
class Trial:
    """GZ = gm φ + square φ² + cubic φ³, linear damping [1/s], temperature kT = σ²/2b [1/s²]."""

    gm: float
    cubic: float
    damping: float
    kt: float
    square: float = 0.0

    def mean(self, of: Callable[[Floats], Floats]) -> float:
        """Of a function of roll [rad], by the stationary density."""
        heel = np.linspace(-1.0, 1.0, 20_001)
        area = 0.5 * self.gm * heel**2 + self.square * heel**3 / 3.0 + 0.25 * self.cubic * heel**4
        p = np.exp(-(area - area.min()) / INERTIA / self.kt)
        return float(of(heel) @ p / p.sum())

    @property
    def mean_square(self) -> float:
        """Of roll [rad²], by the stationary density."""
        return self.mean(lambda heel: heel**2)

    def runs(self, hours: float, count: int, sea: str = "", run: str = "") -> xr.Dataset:
        """Runs that are counted over some hours each."""
        return rollsim.loads(self.text(hours, count, sea, run)).run(workers=1)

    def text(self, hours: float, count: int, sea: str = "", run: str = "") -> str:
        """The scenario."""
        s = 2.0 * self.damping * self.kt / (math.pi * (self.gm / INERTIA) ** 2)
        return f"""format = 1
[ship]
name = "Trial"
length_m = 60.0
beam_m = 12.0
draught_m = 4.0
displacement_t = 1000.0
[ship.levers]
kind = "polynomial"
gz_m_per_rad = [{self.gm}, {self.square}, {self.cubic}]
kg_m = 5.0
heel_max_deg = 58.0
[ship.gravity]
kg_m = 5.0
[ship.inertia]
gyradius_m = {K}
[ship.damping]
linear_per_s = {self.damping}
[sea]
kind = "white-slope"
slope_density_rad2_s = {s}
{sea}
[run]
duration_s = {3600.0 * hours + 600.0}
settle_s = 600.0
output_step_s = 10.0
realisations = {count}
{run}
[output]
histories = "none"
"""


def moments(ds: xr.Dataset) -> tuple[float, float]:
    """Mean square of roll [rad²] over all runs, and its standard error."""
    square = np.radians(ds["roll_std"].values[0]) ** 2 + np.radians(ds["roll_mean"].values[0]) ** 2
    return float(square.mean()), float(square.std(ddof=1) / math.sqrt(square.size))


TRIALS = [
    Trial(0.4, 0.0, 0.1, 0.003),
    Trial(0.4, 8.0, 0.1, 0.003),
    Trial(GM, CUBIC, 0.1, 3.5e-4),
    Trial(GM, CUBIC, 0.04, 2.0e-4),
]


@pytest.mark.slow
@pytest.mark.parametrize("trial", TRIALS)
def test_the_mean_square_of_roll_is_that_of_the_stationary_density(trial: Trial) -> None:
    mean, error = moments(trial.runs(2.0, 768))
    assert error < 0.01 * trial.mean_square
    assert mean == pytest.approx(trial.mean_square, abs=3.5 * error)


@pytest.mark.slow
def test_the_band_makes_no_difference_once_it_is_wide() -> None:
    """Left out by a cut at ω: some 5e-5 of the mean square at 10 times the roll's own frequency."""
    for band in (2.5, 10.0):
        trial = TRIALS[2]
        mean, error = moments(trial.runs(2.0, 768, f"band_rad_per_s = {band}"))
        assert mean == pytest.approx(trial.mean_square, abs=3.5 * error)


@pytest.mark.slow
def test_changes_of_side_approach_the_rate_of_kramers() -> None:
    """With equal shares and stays of both sides, which are alike, within their counting limits.

    k = (√(b²/4 + ω²) − b/2) √2 / 2π e^(−E), ω at the crest, √2 ω in the wells; 5 to 10 % above
    what is counted at E = 5 and less in deeper wells (finite barriers, by simulation)."""
    top = math.sqrt(-GM / INERTIA)
    barrier = GM**2 / (4.0 * CUBIC) / INERTIA
    ratios: list[float] = []
    for e, count in ((3.0, 256), (5.0, 1536)):
        ds = Trial(GM, CUBIC, top, barrier / e).runs(6.0, count)
        counted = float(ds["side_changes"].sum()) / (count * 6.0 * 3600.0)
        kramers = (math.sqrt(1.25) - 0.5) * top * math.sqrt(2.0) / math.tau * math.exp(-e)
        ratios.append(counted / kramers)
        assert int(ds["side_changes"].sum()) > 1000
        stays = sides(ds).stays
        assert stays is not None
        share = ds["time_to_starboard"].values[0] / (6.0 * 3600.0)
        error = share.std(ddof=1) / math.sqrt(count)
        assert float(stays.share[0]) == pytest.approx(share.mean())
        assert share.mean() == pytest.approx(0.5, abs=3.5 * error)
        for stay in (stays.port, stays.starboard):
            assert stay.lower[0] < 1.0 / (counted * 3600.0) < stay.upper[0]
    assert 0.7 < ratios[0] < ratios[1] < 1.0
    assert ratios[1] == pytest.approx(0.92, abs=0.06)


@pytest.mark.slow
def test_the_time_on_each_side_of_unequal_wells_is_that_of_the_density() -> None:
    """The side of the well last reached lags behind that of the heel: what has come over the crest
    and not to the bottom yet cancels within the error. Departures balance."""
    trial = Trial(GM, CUBIC, 0.1, 1.3e-4, square=-0.03)
    ds = trial.runs(4.0, 512)
    share = ds["time_to_starboard"].values[0] / (4.0 * 3600.0)
    error = float(share.std(ddof=1)) / math.sqrt(share.size)
    exact = trial.mean(lambda heel: (heel > 0.0).astype(float))
    assert 0.59 < exact < 0.6
    assert error < 0.007
    assert share.mean() == pytest.approx(exact, abs=3.5 * error)
    risen, all_of_them = (
        ds[name].values[0] for name in ("side_changes_to_starboard", "side_changes")
    )
    assert np.abs(all_of_them - 2 * risen).max() <= 1
    stays = sides(ds).stays
    assert stays is not None
    assert stays.port.upper[0] < stays.starboard.lower[0]


def test_both_engines_meet_the_same_noise() -> None:
    # A ship with one well: at a crest between two the least difference would grow.
    trial = TRIALS[1]
    block = trial.runs(0.02, 2)
    scipy = trial.runs(0.02, 2, run='method = "DOP853"\nrelative_tolerance = 1e-6')
    for name in ("roll_max", "roll_std", "roll_mean"):
        assert block[name].values == pytest.approx(scipy[name].values, abs=0.02)
    assert np.ptp(block["roll_std"].values) > 0.1


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("[run]", "heading_deg = 45.0\n[run]", "sea.heading_deg: does not belong to a white"),
        ("[run]", 'excitation = "relative"\n[run]', "sea.excitation: must be"),
        (f"[{GM}, ", "[0.0, ", "pushes by GM times the slope, and GM is 0"),
    ],
)
def test_what_is_refused(old: str, new: str, words: str) -> None:
    text = TRIALS[2].text(0.1, 1).replace(old, new)
    with pytest.raises(InputError, match=words):
        rollsim.loads(text)
