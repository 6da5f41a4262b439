"""A small ship in regular waves for the tests of steady responses."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from rollsim.constants import GRAVITY
from rollsim.engines.base import Case
from rollsim.engines.limits import Limits, Tolerances
from rollsim.forcing.storm import Storm
from rollsim.motion.coefficients import calm_coefficients
from rollsim.motion.timeline import Base, mean_wind, timeline
from rollsim.ship.damping import Damping
from rollsim.ship.levers import Gravity, from_gz_table
from rollsim.ship.righting import Heeling
from rollsim.weather.sea import RegularWave, SeaState

KG, WIND = 3.3, 2e-5
HEEL = np.radians(np.arange(0.0, 61.0, 5.0))
GZ = [0.0, 0.0345, 0.067, 0.092, 0.104, 0.101, 0.083, 0.050, 0.002, -0.058, -0.125, -0.195, -0.27]
LEVERS = from_gz_table(HEEL, GZ, KG, 0.4)
"""Low freeboard: she rolls the slower the farther."""


def sample(
    height: float = 1.5, period: float = 10.0, damping: Damping | None = None, **changes: object
) -> Case:
    """The ship abeam to a regular sea; `changes` of the case's fields, or of the sea's."""
    duration, base = 100.0, Base(Gravity(KG), 8.0)
    sea = SeaState(RegularWave(height, period, 0.3), 32.0, 8.0, 3.0, 8.0, duration)
    own = {name: changes.pop(name) for name in list(changes) if hasattr(sea, name)}
    gm_per_m = float(changes.pop("gm_per_m", 0.0))  # type: ignore[arg-type]
    share = float(changes.pop("added_share", 0.0))  # type: ignore[arg-type]
    c = calm_coefficients(
        LEVERS, 3.2**2 / GRAVITY, damping or Damping(0.02, 0.05), WIND, "cos2", gm_per_m
    )
    case = Case(
        index=0,
        condition="base",
        coordinates={},
        beam=8.0,
        draught=3.0,
        depth=math.nan,
        levers=LEVERS,
        gravity=Gravity(KG),
        kb=None,
        heeling=Heeling(WIND * 64.0, "cos2"),
        coefficients=c._replace(added_share=share),
        segments=timeline(duration, base),
        mean_wind=mean_wind(duration, base),
        storm=Storm(replace(sea, **own), elevation=gm_per_m != 0.0),  # type: ignore[arg-type]
        start=(0.0, 0.0),
        limits=Limits(capsize=math.radians(60.0)),
        settle=0.0,
        output_step=0.5,
        seed=1,
        method="block",
        tolerances=Tolerances(),
        accuracy=math.radians(0.01),
        gm_per_m=gm_per_m,
    )
    return replace(case, **changes)  # type: ignore[arg-type]
