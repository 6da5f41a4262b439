"""A flooding limit of each side: openings may lie on one side alone."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from engine_cases import FINE, Recipe, case_of, runs_of

from rollsim.engines.base import Case, Engine
from rollsim.engines.block.engine import BlockEngine
from rollsim.engines.limits import NEVER, Limits, flooding_limits, flooding_span
from rollsim.engines.scipy.engine import ScipyEngine
from rollsim.ship.damping import Damping

ENGINES = {"block": BlockEngine, "scipy": lambda case: ScipyEngine(case, FINE)}


def limits(starboard: float, port: float) -> Limits:
    flooding, side = flooding_limits(math.radians(starboard), math.radians(port))
    return Limits(flooding=flooding, port=side, capsize=math.radians(90.0))


def decay(starboard: float, port: float) -> Case:
    """A free roll from 30° to starboard: about 24° to port half a period later."""
    recipe = Recipe(start=(math.radians(30.0), 0.0), damping=Damping(0.02, 0.3), duration=60.0)
    return replace(case_of(recipe), limits=limits(starboard, port))


@pytest.mark.parametrize("name", ENGINES)
@pytest.mark.parametrize(
    ("starboard", "port", "outcome"),
    [(35.0, 20.0, 3), (35.0, 35.0, 1), (35.0, math.inf, 1), (math.inf, 20.0, 3), (25.0, 35.0, 3)],
)
def test_each_side_has_its_own(name: str, starboard: float, port: float, outcome: int) -> None:
    case = decay(starboard, port)
    engine: Engine = ENGINES[name](case)  # type: ignore[operator]
    runs = engine.run(runs_of(case, 1), histories=True)
    assert runs.numbers["outcome"][0] == outcome
    heel = runs.histories[0][0].astype(float)
    most, least = runs.numbers["roll_max"][0], runs.numbers["roll_min"][0]
    shares = [most / min(starboard, 90.0), -least / min(port, 90.0)]
    assert runs.numbers["limit_margin"][0] == pytest.approx(1.0 - max(shares), abs=1e-6)
    if outcome == 3 and port == 20.0:
        time = float(runs.numbers["flooding_time"][0])
        assert 5.0 < time < 12.0
        assert np.interp(time, 0.5 * np.arange(heel.size), heel) == pytest.approx(-20.0, abs=0.1)


def test_both_engines_pass_at_one_time() -> None:
    case = decay(35.0, 20.0)
    ours, theirs = (
        engine.run(runs_of(case, 1), histories=True).numbers["flooding_time"][0]
        for engine in (BlockEngine(case), ScipyEngine(case, FINE))
    )
    assert ours == pytest.approx(theirs, abs=1e-3)


def test_limits_alike_are_one() -> None:
    assert flooding_limits(0.7, 0.7) == (0.7, 1.0)
    assert flooding_limits(math.inf, math.inf) == (math.inf, 1.0)
    assert flooding_limits(math.inf, 0.7) == (NEVER, NEVER / 0.7)
    assert flooding_span(0.7, 1.0) == (0.0, 0.7)
    np.testing.assert_allclose(flooding_span(0.6, 0.6 / 0.4), (0.1, 0.5))
    assert Limits(flooding=0.6, port=0.6 / 0.4, capsize=0.5).weight == pytest.approx(0.5 / 0.4)
