"""Where a free decay begins and ends, and what is no decay."""

from __future__ import annotations

import numpy as np
import pytest
from decay_samples import Made, recorded

from rollsim.decay.record import Record
from rollsim.decay.swings import NoDecayError, find_swings

TIME = np.arange(0.0, 60.0, 0.1)


def rolling(amplitude: float) -> np.ndarray:
    return np.asarray(amplitude * np.sin(2.0 * np.pi * TIME / 10.0))


def joined(first: np.ndarray, second: Record) -> Record:
    """A stretch of angles [degree] before a record."""
    time = np.concatenate((np.arange(first.size) * 0.1 - 0.1 * first.size, second.time))
    return recorded(time, np.concatenate((first, np.degrees(second.angle))))


def test_peaks_of_a_clean_record_are_those_of_the_solution() -> None:
    """Linear damping: opposite peaks are in the ratio exp(−π ζ/√(1 − ζ²)), half a period apart."""
    swings = find_swings(Made(b1=0.05, b2=0.0).record())
    fraction = 0.05 * 10.0 / (4.0 * np.pi)
    ratio = np.exp(-np.pi * fraction / np.sqrt(1.0 - fraction**2))
    size = np.abs(swings.angle)
    assert np.degrees(size[0]) == pytest.approx(25.0, abs=0.01)
    assert size[1:] / size[:-1] == pytest.approx(ratio, abs=3e-4)
    assert swings.period == pytest.approx(10.0 / np.sqrt(1.0 - fraction**2), rel=1e-4)
    assert np.all(np.diff(np.sign(swings.angle)) != 0)
    assert swings.notes == ()


def test_the_mean_line_is_found() -> None:
    swings = find_swings(Made(noise=0.1, offset=2.0, drift=0.02).record())
    offset, drift = np.degrees(swings.mean)
    assert offset == pytest.approx(2.0, abs=0.08)
    assert drift == pytest.approx(0.02, abs=0.002)


def test_a_held_start_is_left_out() -> None:
    held = np.full(70, 25.0) + np.random.default_rng(1).normal(0.0, 0.1, 70)
    swings = find_swings(joined(held, Made(noise=0.1).record()))
    assert swings.time[0] == pytest.approx(5.0, abs=0.2)
    assert abs(np.degrees(swings.angle[0])) < 24.0


def test_rocking_before_the_greatest_roll_is_left_out() -> None:
    time = np.arange(-40.0, 0.0, 0.1)
    rocked = 0.6 * (time + 40.0) * np.cos(2.0 * np.pi * time / 10.0)
    swings = find_swings(joined(rocked, Made(noise=0.1).record()))
    assert swings.time[0] == pytest.approx(0.0, abs=0.3)
    assert any("before the greatest" in note for note in swings.notes)


def test_the_end_in_the_noise_is_left_out() -> None:
    swings = find_swings(Made(b1=0.2, b2=0.0, noise=0.05).record())
    assert any("lost in the noise" in note for note in swings.notes)
    assert swings.time[-1] < 60.0


def test_a_knock_ends_the_decay() -> None:
    record = Made(noise=0.05, duration=150.0).record()
    since = np.maximum(record.time - 70.0, 0.0)
    knock = 8.0 * np.exp(-0.02 * since) * np.sin(0.63 * since)
    swings = find_swings(recorded(record.time, np.degrees(record.angle) + knock))
    assert swings.time[-1] < 75.0
    assert any("grows again" in note for note in swings.notes)


NO_DECAY = {
    "steady": (recorded(TIME, rolling(10.0)), "not a decay: the amplitude goes from 10"),
    "growing": (recorded(TIME, TIME / 60.0 * rolling(10.0)), "the greatest roll comes last"),
    "noise": (
        recorded(TIME, np.random.default_rng(2).normal(0.0, 1.0, TIME.size)),
        "too few points|too few swings|not a decay",
    ),
    "nothing": (recorded(TIME, np.full(TIME.size, 3.0)), "the angle does not change"),
    "short": (Made(duration=18.0).record(), "too few swings: 4 peaks"),
    "coarse": (Made(step=2.0).record(), "too few points: 5 in a roll"),
}


@pytest.mark.parametrize("name", NO_DECAY)
def test_what_is_no_decay_is_told(name: str) -> None:
    record, words = NO_DECAY[name]
    with pytest.raises(NoDecayError, match=words):
        find_swings(record)
