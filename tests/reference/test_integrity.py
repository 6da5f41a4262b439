"""The integrity profile of the escape equation: b = 0.1, ω = 0.85, sixteen cycles from phase 0.

Areas over the one without a wave, in the window −0.8 .. 1.2 by ±0.8, were computed apart from this
code (converged from 200² to 600² starts, ±0.001). That the fall comes after 0.07 is known from the
literature (Soliman and Thompson, from memory).
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from steady_cases import driven, lasting

from rollsim.measures.integrity import falls_off
from rollsim.names import Outcome
from rollsim.scenario.schema import Basin
from rollsim.ship.damping import Damping
from rollsim.study.basin import basin_arrays

COMPUTED = {
    0.02: 0.985, 0.05: 0.954, 0.06: 0.942, 0.066: 0.930, 0.07: 0.917, 0.075: 0.740, 0.08: 0.457,
    0.09: 0.188, 0.10: 0.091,
}  # fmt: skip
CALM_AREA = 1.809


def safe_area(force: float, steps: int) -> float:
    case = lasting(driven(1.0, -1.0, damping=Damping(0.1), force=force, capsize=2.9), 16)
    ends = [float(end) for end in np.degrees([-0.8, 1.2])]
    window = {
        "roll_deg": {"from": ends[0], "to": ends[1], "steps": steps},
        "roll_rate_deg_per_s": {"from": ends[0], "to": -ends[0], "steps": steps},
    }
    made = basin_arrays(case, Basin.model_validate(window))
    safe = np.count_nonzero(made["outcome"] == Outcome.SURVIVED)
    return float(safe) * 2.0 / (steps - 1) * 1.6 / (steps - 1)


def test_the_safe_basin_before_and_after_the_fall() -> None:
    """On 80² starts: an edge of 5 counts for some hundredths of the area."""
    calm = safe_area(1e-9, 80)
    assert calm == pytest.approx(CALM_AREA, rel=0.02)
    assert safe_area(0.06, 80) / calm == pytest.approx(0.942, abs=0.02)
    assert safe_area(0.08, 80) / calm == pytest.approx(0.457, abs=0.03)


@pytest.mark.slow
def test_the_whole_profile() -> None:
    calm = safe_area(1e-9, 240)
    assert calm == pytest.approx(CALM_AREA, rel=0.005)
    shares = {force: safe_area(force, 240) / calm for force in COMPUTED}
    for force, share in COMPUTED.items():
        assert shares[force] == pytest.approx(share, abs=0.008), force
    forces = np.array(list(COMPUTED))
    falls = falls_off(forces, np.array(list(shares.values())))
    melnikov = 0.1 * math.sinh(math.pi * 0.85) / (5.0 * math.pi * 0.85**2)
    assert 0.069 < falls < 0.0725
    assert 1.1 < falls / melnikov < 1.18
