"""Swings of a decay record: its mean line, its peaks, where the free decay begins and ends."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rollsim.decay.record import Record
from rollsim.errors import RollsimError

Floats = NDArray[np.float64]
Indices = NDArray[np.intp]

LEAST_PEAKS = 5
"""Peaks of a free decay below which nothing is said of damping: two whole rolls."""
A_ROLL = 10
"""Points that one roll needs at least."""
AROUND = 1.0 / 6.0
"""Half of the stretch about a peak, in periods, to which a quartic is fitted."""
FREE = (0.45, 2.2)
"""−φ″/(ω² φ) of a free peak; a ship that is held has 0, one that is let go of a jump."""
LASTS = (0.7, 1.4)
"""Twice a free half swing, in periods."""
GROWTH = 1.05
"""A peak that is greater than the one before by this factor, noise apart, is no free decay."""
PART = "  a roll that dies out by itself is needed; --from and --to choose a part"
DIES_OUT = 0.97
"""Last over first amplitude above which a record tells nothing of damping."""


class NoDecayError(RollsimError):
    """The record holds no free decay that could be read."""


@dataclass(frozen=True, eq=False)
class Swings:
    """Peaks of the free decay, to either side in turn.

    `time` [s], `angle` [rad] as recorded and `error` [rad], its standard error, of each; `mean` is
    the mean line, offset [rad] at the first peak and drift [rad/s]; `period` [s]; `noise` [rad] the
    standard deviation of what is no roll. `dropped` peaks came before, `cut` after, for the reasons
    in `notes`.
    """

    time: Floats
    angle: Floats
    error: Floats
    mean: tuple[float, float]
    period: float
    noise: float
    notes: tuple[str, ...]

    @property
    def heel(self) -> Floats:
        """The peaks about the mean line [rad], with their sign."""
        offset, drift = self.mean
        return np.asarray(self.angle - offset - drift * (self.time - self.time[0]))

    @property
    def amplitude(self) -> Floats:
        """Their size [rad]."""
        return np.abs(self.heel)


@dataclass(frozen=True, eq=False)
class _Even:
    """The record on even times, as it is and smoothed."""

    time: Floats
    angle: Floats
    smooth: Floats
    step: float
    period: float


def find_swings(record: Record) -> Swings:
    """The swings of the free decay in a record; NoDecayError where there is none."""
    even = _even(record)
    noise = _noise(even)
    turns = _peak_places(even, noise)
    if turns.size < LEAST_PEAKS:
        raise _too_few(turns.size)
    fits = np.array([_fit(record, even.time[i], even.period) for i in turns])
    time, angle, error, curvature = fits.T
    mean = _mean_line(time, angle)
    first, notes = _first(time, angle - np.polyval(mean, time), curvature, even.period, error)
    last, more = _last(angle - np.polyval(mean, time), error, first)
    which = slice(first, last)
    if last - first < LEAST_PEAKS:
        raise _too_few(last - first, *notes, *more)
    mean = _mean_line(time[which], angle[which])
    swings = Swings(
        time[which],
        angle[which],
        error[which],
        (float(np.polyval(mean, time[first])), float(mean[0])),
        2.0 * float(np.mean(np.diff(time[which]))),
        noise,
        (*notes, *more),
    )
    _require_decay(swings)
    return swings


def _too_few(count: int, *notes: str) -> NoDecayError:
    why = f" ({'; '.join(notes)})" if notes else ""
    return NoDecayError(
        f"too few swings: {count} peaks of a free decay{why}\n"
        f"  at least {LEAST_PEAKS} are needed, two whole rolls; --from and --to choose a part"
    )


def _even(record: Record) -> _Even:
    """The record on even times, smoothed over a quarter of its period."""
    from scipy.signal import savgol_filter

    span = float(record.time[-1] - record.time[0])
    step = float(np.median(np.diff(record.time)))
    count = min(int(span / step) + 1, 4 * record.time.size)
    time = np.linspace(record.time[0], record.time[-1], count)
    angle = np.interp(time, record.time, record.angle)
    step = float(time[1] - time[0])
    period = _period(time, angle)
    if period / step < A_ROLL:
        raise NoDecayError(
            f"too few points: {period / step:.3g} in a roll of {period:.3g} s\n"
            f"  at least {A_ROLL} are needed, some fifty are good"
        )
    window = max(5, 2 * round(0.125 * period / step) + 1)
    smooth = savgol_filter(angle, min(window, count - 1 + count % 2), 3)
    return _Even(time, angle, smooth, step, period)


def _period(time: Floats, angle: Floats) -> float:
    """The period [s] at which most of the roll is, slower than which there is only drift."""
    line = np.polyval(np.polyfit(time - time[0], angle, 1), time - time[0])
    rest = angle - line
    if not float(np.std(rest)) > 1e-9:
        raise NoDecayError("the angle does not change\n  is it the right column? --columns says")
    window = np.hanning(2 * rest.size)[rest.size :]  # full at the start, where the roll is great
    power = np.abs(np.fft.rfft(rest * window, 8 * rest.size)) ** 2
    frequency = np.fft.rfftfreq(8 * rest.size, float(time[1] - time[0]))
    slow = frequency < 1.5 / float(time[-1] - time[0])
    power[slow] = 0.0
    return 1.0 / float(frequency[int(np.argmax(power))])


def _noise(even: _Even) -> float:
    """Standard deviation of what the smoothing takes away [rad]."""
    return float(np.std(even.angle - even.smooth)) + 1e-12


def _peak_places(even: _Even, noise: float) -> Indices:
    """Where the smoothed record turns, to either side in turn; at its start where it is at rest."""
    from scipy.signal import find_peaks

    apart = max(1, int(0.6 * even.period / even.step))
    prominence = max(3.0 * noise, 0.01 * float(np.ptp(even.smooth)))
    top, _ = find_peaks(even.smooth, distance=apart, prominence=prominence)
    foot, _ = find_peaks(-even.smooth, distance=apart, prominence=prominence)
    places = [(int(i), 1) for i in top] + [(int(i), -1) for i in foot]
    kept: list[tuple[int, int]] = []
    for place, side in sorted(places):
        if kept and kept[-1][1] == side:
            if side * (even.smooth[place] - even.smooth[kept[-1][0]]) > 0.0:
                kept[-1] = place, side
        else:
            kept.append((place, side))
    at = np.array([place for place, _ in kept], dtype=np.intp)
    return at if at.size == 0 else _with_start(even, at, noise)


def _with_start(even: _Even, at: Indices, noise: float) -> Indices:
    """The peaks, the first point with them where she is let go from rest there."""
    if not 0.35 < (even.time[at[0]] - even.time[0]) / even.period < 0.65:
        return at
    few = max(3, int(0.1 * even.period / even.step))
    own = np.polyfit(even.time[: few + 1] - even.time[0], even.angle[: few + 1], 2)
    other = float(even.smooth[at[0]])
    size = 0.5 * abs(float(own[2]) - other)
    rate = abs(float(own[1])) * even.period / (2.0 * math.pi)
    return np.insert(at, 0, 0) if rate < 0.05 * size + noise else at


def _fit(record: Record, time: float, period: float) -> tuple[float, float, float, float]:
    """A peak by a quartic through the points about it: time, angle, standard error, curvature."""
    inside = np.abs(record.time - time) <= AROUND * period
    scale = AROUND * period
    x, y = (record.time[inside] - time) / scale, record.angle[inside]
    start = bool(x.min() > -0.5)  # the start of the record: nothing before it
    degree = 2 if x.size <= 8 else 3 if start else 4
    design = np.vander(x, degree + 1, increasing=True)
    weight, *_ = np.linalg.lstsq(design, y, rcond=None)
    curve = np.polynomial.Polynomial(weight)
    at = float(x.min()) if start else _turn(curve)
    row = np.power(at, np.arange(degree + 1))
    spread = float(np.sum((y - design @ weight) ** 2)) / max(1, x.size - degree - 1)
    variance = float(row @ np.linalg.pinv(design.T @ design) @ row) * spread
    # At an end only a parabola's curvature is steadier than the noise.
    bent = 2.0 * float(np.polyfit(x, y, 2)[0]) if start else float(curve.deriv(2)(at))
    return time + at * scale, float(curve(at)), math.sqrt(max(variance, 1e-16)), bent / scale**2


def _turn(curve: np.polynomial.Polynomial) -> float:
    """Where the fitted curve turns nearest to the middle, the middle where it does not."""
    turns = curve.deriv().roots()
    near = turns[(np.abs(turns.imag) < 1e-9) & (np.abs(turns.real) < 0.7)].real
    return float(near[np.argmin(np.abs(near))]) if near.size else 0.0


def _mean_line(time: Floats, angle: Floats) -> Floats:
    """The line midway between the peaks: drift and offset as numpy's polyfit has them."""
    middle = 0.25 * angle[:-2] + 0.5 * angle[1:-1] + 0.25 * angle[2:]
    # The curvature of the envelope puts these off its sides in turn: two by two it cancels.
    if middle.size < 4:
        return np.array([0.0, float(np.mean(0.5 * (middle[:-1] + middle[1:])))])
    pairs = 0.5 * (middle[:-1] + middle[1:])
    at = 0.5 * (time[1:-2] + time[2:-1])
    return np.asarray(np.polyfit(at, pairs, 1))


def _first(
    time: Floats, heel: Floats, curvature: Floats, period: float, error: Floats
) -> tuple[int, list[str]]:
    """The peak from which the decay is free, and what was left out before it."""
    size = np.abs(heel)
    free = -curvature / ((2.0 * math.pi / period) ** 2 * heel)
    first = int(np.argmax(size > 0.999 * size.max() - 2.0 * error.max()))
    if size.size - first < LEAST_PEAKS:
        raise NoDecayError(
            f"not a decay: the greatest roll comes last, at {time[first]:.4g} s\n{PART}"
        )
    notes = []
    if first:
        notes.append(f"left out: {first} peaks before the greatest")
    lasts = 2.0 * np.diff(time) / period
    released = first
    while released < size.size - LEAST_PEAKS and not (
        FREE[0] < free[released] < FREE[1] and LASTS[0] < lasts[released] < LASTS[1]
    ):
        released += 1
    if released > first:
        notes.append(
            f"left out: the start up to {time[released]:.4g} s, where she was not rolling free"
        )
    return released, notes


def _last(heel: Floats, error: Floats, first: int) -> tuple[int, list[str]]:
    """One past the last peak of the decay, and why it ends there."""
    size = np.abs(heel)
    for i in range(first + 1, size.size):
        if size[i] < max(4.0 * error[i], 0.01 * size[first]):
            return i, ["left out: the end, where the roll is lost in the noise"]
        if size[i] > GROWTH * size[i - 1] + 6.0 * error[i]:
            if i - first < LEAST_PEAKS:
                raise NoDecayError(f"not a decay: the roll grows again at once\n{PART}")
            return i, [f"left out: all from peak {i + 1} on, where the roll grows again"]
    return size.size, []


def _require_decay(swings: Swings) -> None:
    size = swings.amplitude
    if size[-1] > DIES_OUT * size[0]:
        raise NoDecayError(
            f"not a decay: the amplitude goes from {math.degrees(size[0]):.3g}° to "
            f"{math.degrees(size[-1]):.3g}° in {size.size} peaks\n"
            "  a roll that dies out by itself is needed, over a longer time"
        )
