"""Many starts in one storm: made once for all lanes, and the same as one by one."""

from __future__ import annotations

import math
from unittest.mock import patch

import numpy as np
import pytest
from engine_cases import Recipe, case_of

from rollsim.engines.base import RunList, run_list
from rollsim.engines.block.engine import BlockEngine
from rollsim.engines.scipy.engine import ScipyEngine
from rollsim.forcing.synthesis import Synthesis
from rollsim.ship.damping import Damping
from rollsim.ship.levers import Gravity
from rollsim.weather.sea import RegularWave
from rollsim.weather.spectra import bretschneider

STORM = Recipe(damping=Damping(0.03, 0.3), waves=bretschneider(6.0, peak_period=9.0), duration=60.0)
SWELL = Recipe(
    gravity=Gravity(5.8),
    damping=Damping(0.03, 0.3),
    waves=RegularWave(2.0, 9.0),
    added_share=0.2,
    duration=60.0,
)


def starts(count: int, realisation: int = 3) -> RunList:
    random = np.random.default_rng(2)
    roll, rate = random.uniform(-0.6, 0.6, count), random.uniform(-0.2, 0.2, count)
    return run_list(np.full(count, realisation), (roll, rate))


def test_a_storm_of_all_lanes_is_made_once() -> None:
    engine = BlockEngine(case_of(STORM))
    made = []
    rows = Synthesis.rows

    def counted(self: Synthesis, *arguments: object) -> object:
        made.append(1)
        return rows(self, *arguments)  # type: ignore[arg-type]

    with patch.object(Synthesis, "rows", counted):
        engine.run(starts(200), histories=False)
    assert len(made) == 1


def test_it_is_the_storm_of_mixed_lanes_to_the_last_bit() -> None:
    wanted = starts(64)
    alone = BlockEngine(case_of(STORM)).measured(wanted, histories=False)
    numbers = wanted.realisation.copy()
    numbers[1::2] = 9
    mixed = BlockEngine(case_of(STORM)).measured(
        wanted._replace(realisation=numbers), histories=False
    )
    np.testing.assert_array_equal(alone.roll_max[::2], mixed.roll_max[::2])
    assert not np.array_equal(alone.roll_max[1::2], mixed.roll_max[1::2])


@pytest.mark.parametrize("engine", [BlockEngine, ScipyEngine])
def test_the_heel_at_the_end(engine: type[BlockEngine] | type[ScipyEngine]) -> None:
    """ψ = φ − α, from the histories' last output; at a capsize the capsize angle itself."""
    ready = engine(case_of(SWELL))
    measured = ready.measured(starts(12), histories=True)
    roll, _, slope, _ = measured.histories.astype(np.float64)
    ended = np.isfinite(measured.passed[2])
    assert 0 < np.count_nonzero(ended) < 12
    last = (roll - slope)[-1]
    assert measured.end_heel[~ended] == pytest.approx(last[~ended], abs=2e-5)
    reached = np.abs(measured.end_heel[ended])
    assert np.all(reached <= math.radians(90.0) + 0.1)
    assert np.all(reached > 1.0)
