"""What forces a case besides its timeline: the channels that act on her, and what is random."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from rollsim.weather.effective import ALIGNED
from rollsim.weather.sea import SeaState, component_grid, encounter_frequency
from rollsim.weather.spectra import Spectrum
from rollsim.weather.white import WhiteSlope
from rollsim.weather.wind import WindLines


@dataclass(frozen=True, eq=False)
class Storm:
    """Sea and turbulence as they reach one ship.

    `elevation`: her levers feel the effective elevation. `wind`: lines of a turbulence that finds
    windage to press on, None where there is none.
    """

    sea: SeaState
    elevation: bool = False
    wind: WindLines | None = None

    @property
    def slope(self) -> bool:
        """Whether the sea has a slope that acts on her: none in a calm, from ahead or astern."""
        aligned = abs(math.sin(self.sea.heading)) < ALIGNED
        return not (self.sea.waves is None or aligned or self.sea.slope_coefficient == 0.0)

    @property
    def raised(self) -> bool:
        """Whether an elevation acts on her: waves from abeam have none along her."""
        abeam = abs(math.cos(self.sea.heading)) < ALIGNED
        return self.elevation and self.sea.waves is not None and not abeam

    @property
    def calm_water(self) -> bool:
        """Whether no waves act on her."""
        return not (self.slope or self.raised)

    @property
    def encounter_period(self) -> float:
        """Period [s] at which she meets the regular wave, or the peak of the spectrum.

        NaN in a calm or a white slope, and where she keeps pace with the wave.
        """
        waves = self.sea.waves
        if waves is None or isinstance(waves, WhiteSlope):
            return math.nan
        omega = waves.peak_frequency if isinstance(waves, Spectrum) else math.tau / waves.period
        each = np.array([omega])
        met = abs(float(encounter_frequency(each, self.sea.speed, self.sea.heading)[0]))
        return math.tau / met if met > 1e-12 else math.nan

    @property
    def random(self) -> bool:
        """Whether anything that acts on her differs between realisations."""
        return self._random_sea or (
            self.wind is not None and bool(np.any(self.wind.amplitude > 0.0))
        )

    @property
    def _random_sea(self) -> bool:
        if not isinstance(self.sea.waves, Spectrum | WhiteSlope) or self.calm_water:
            return False
        slope, elevation = _acting(self.sea)
        return slope or (self.raised and elevation)


@lru_cache(maxsize=4096)
def _acting(sea: SeaState) -> tuple[bool, bool]:
    """Whether any component has a slope, and whether any has an elevation, that she feels."""
    grid = component_grid(sea)
    return bool(np.any(grid.slope != 0.0)), bool(np.any(grid.elevation != 0.0))
