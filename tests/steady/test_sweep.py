"""Slow sweeps: they follow the stable branch to its fold, jump, and come back another way."""

from __future__ import annotations

import math

import numpy as np
import pytest
from steady_samples import sample

from rollsim.ship.damping import Damping
from rollsim.steady.family import PERIOD, WAVE_HEIGHT
from rollsim.steady.search import Search
from rollsim.steady.sweep import up_and_down


def test_hysteresis_between_the_folds(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("rollsim.steady.sweep.MOST", 50)
    case = sample(height=1.5, damping=Damping(0.02, 0.05))
    search = Search(case, PERIOD, 10.4, 12.8)
    search.run()
    low, high = (special.point.value for special in search.specials("fold"))
    middle = 0.5 * (low + high)
    values = np.array([10.4, low - 0.15, middle - 0.05, middle + 0.05, high + 0.3, 12.8])
    up, down = up_and_down(case, PERIOD, values)
    inside = np.array([False, False, True, True, False, False])
    assert np.all(up.amplitude[inside] > 1.3 * down.amplitude[inside])
    apart = ~inside
    assert up.amplitude[apart] == pytest.approx(down.amplitude[apart], rel=0.1)
    assert up.ratio[0] == down.ratio[0] == 1
    # Each stands on a stable point of the branch.
    (branch,) = [b for b in search.branches if b.ratio == 1]
    for sweep in (up, down):
        for value, size in zip(values[[0, -1]], sweep.amplitude[[0, -1]], strict=True):
            near = min(branch.points, key=lambda p: abs(p.value - value))
            assert size == pytest.approx(near.course.amplitude, rel=0.08)


def test_a_capsize_ends_a_sweep() -> None:
    values = np.linspace(1.0, 31.0, 6)
    up, down = up_and_down(sample(period=8.0), WAVE_HEIGHT, values)
    alive = np.isfinite(up.amplitude)
    assert alive[0]
    assert not alive[-1]
    assert np.all(np.diff(alive.astype(int)) <= 0)
    # Down she cannot start at the greatest height: she starts where she was lost on the way up.
    assert np.isnan(down.amplitude[~alive]).all()
    assert np.isfinite(down.amplitude[0])


def test_a_stop_comes_through() -> None:
    def stop() -> None:
        raise RuntimeError("enough")

    with pytest.raises(RuntimeError, match="enough"):
        up_and_down(sample(), PERIOD, np.array([9.0, 10.0]), stop)
    with pytest.raises(RuntimeError, match="enough"):
        Search(sample(), PERIOD, 9.0, 10.0, stop).run()
    assert math.isfinite(sample().duration)
