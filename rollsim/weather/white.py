"""A white slope: random numbers of a flat spectrum in place of waves, for checks by theory."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class WhiteSlope:
    """A slope of one density S [rad² s, one-sided over rad/s] up to the frequency `band` [rad/s].

    As the moment |GM| α it drives the roll by σ ξ(t), ξ of unit intensity, with
    σ² = π S (|GM| g / k²)².
    """

    density: float
    band: float
