"""The timeline of a case cut into even steps, with all that the steps share between lanes."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from rollsim.engines.at_outputs import AtOutputs
from rollsim.engines.base import Case
from rollsim.engines.block.adams import STEPS, Scheme, scheme
from rollsim.engines.block.given import Start, Stretch
from rollsim.forcing.interpolation import TAPS, weights
from rollsim.forcing.synthesis import Channel, Channels
from rollsim.motion.moments import ramp
from rollsim.motion.timeline import (
    ACROSS,
    END,
    FILLING,
    FREE_SURFACE,
    HEIGHT,
    JOINS,
    LEVER,
    MASS,
    SAME_TIME,
    START,
    WAVES,
    WIND,
)

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]

SAMPLES = 8
"""Samples for the averages in the shortest roll period, at least."""
LONGEST_SAMPLE = 1.0
"""Greatest time between samples [s]: who lolls may go over far sooner than she rolls."""


class Piece(NamedTuple):
    """A stretch with the scheme of its step, and its start."""

    stretch: Stretch
    scheme: Scheme
    start: Start


class Grid(NamedTuple):
    """How a case is stepped: `step` [s], samples every `stride` steps, in float type `kind`; errors
    last for so many `periods` of her shortest roll, and what the sea's rows miss has a `weight`."""

    step: float
    stride: int
    kind: type
    periods: float = 1.0
    weight: float = 1.0


def pieces(outputs: AtOutputs, channels: Channels, grid: Grid) -> Iterator[Piece]:
    """Segments that join as one step to the grid of steps, whole steps, and one to their end."""
    step = grid.step
    for segment in _joined(outputs.case.segments, step):
        start, end = float(segment[0, START]), float(segment[-1, END])
        first = math.ceil(start / step - 1e-9)
        last = math.floor(end / step + 1e-9)
        if first > last:
            yield _piece(outputs, channels, grid, segment, (start, end - start, 1))
            continue
        borders = first * step, last * step
        if borders[0] - start > 1e-9:
            yield _piece(outputs, channels, grid, segment, (start, borders[0] - start, 1))
        if last > first:
            yield _piece(outputs, channels, grid, segment, (borders[0], step, last - first))
        if end - borders[1] > 1e-9:
            yield _piece(outputs, channels, grid, segment, (borders[1], end - borders[1], 1))


def _joined(segments: Floats, step: float) -> Iterator[Floats]:
    """Segments (n, columns) that a scheme of several steps may go through together.

    Its first steps are made in the first of them, which must be long enough.
    """
    first = 0
    for i in range(1, len(segments) + 1):
        joins = i < len(segments) and segments[i, JOINS] and np.all(
            segments[i, WAVES : WIND + 3] == segments[first, WAVES : WIND + 3]
        )  # fmt: skip
        if not joins or segments[first, END] - segments[first, START] < (STEPS + 1) * step:
            yield segments[first:i]
            first = i


def _piece(
    outputs: AtOutputs,
    channels: Channels,
    grid: Grid,
    segments: Floats,
    span: tuple[float, float, int],
) -> Piece:
    case, kind = outputs.case, grid.kind
    begin, step, count = span
    ends: Floats = np.asarray(begin + step * np.arange(1, count + 1))
    segment = _in_force(segments, begin, np.array([begin]))[0]
    # One value more, the last, is that of the stretch's start: index -1 finds it.
    acting = _acting(case, segments, begin, np.append(ends, begin), kind)
    steady = acting["steady"]
    rates = [MASS + 1, HEIGHT + 1, ACROSS + 1, LEVER + 1, FREE_SURFACE + 1, FILLING + 1]
    moving = bool(np.any(segments[:, rates]))
    moving = moving or bool(np.any(steady != steady[0]))
    rows, found = _sea(case.coefficients.ramp, channels, segment, span, kind)
    gust_rows, gust_found = _gusts(channels.wind, span, kind)
    clock = case.output_step, case.duration, outputs.times.size
    noted = _noted(span, float(segments[-1, END]), clock, grid.stride, kind)
    output, place = noted["output"], noted["place"]
    holds = np.flatnonzero(output >= 0)
    noted_rows, noted_weights = _gusts_at(
        channels.wind, begin + step * (holds + place[holds]), kind
    )
    started = min(STEPS - 1, count)
    stretch = Stretch(
        start=begin,
        step=step,
        counts=bool(segment[START] >= case.settle),
        moves=moving,
        rows=rows,
        weights=found,
        gust_rows=gust_rows,
        gust_weights=gust_found,
        noted_rows=noted_rows,
        noted_weights=noted_weights,
        first_output=int(output[holds[0]]) if holds.size else 0,
        **acting,
        at_start=_output_at(clock, begin),
        **noted,
        started=started,
    )
    places: Floats = np.asarray(begin + 0.5 * step * np.arange(2 * started + 1))
    start = _start(case, channels, segments, places, kind)
    return Piece(stretch, scheme(step, kind), start)


def _in_force(segments: Floats, begin: float, times: Floats) -> Floats:
    """Of segments that join, those in force at times from `begin` on, where one begins; a single
    one stands for all times."""
    if len(segments) == 1:
        return segments
    borders = segments[1:, START]
    first = np.searchsorted(borders, begin + SAME_TIME)
    return np.asarray(segments[np.maximum(np.searchsorted(borders, times - SAME_TIME), first)])


def _acting(
    case: Case, segments: Floats, begin: float, times: Floats, kind: type
) -> dict[str, Any]:
    """What the timeline brings at times from `begin` on, as `Stretch` has it."""
    rows = _in_force(segments, begin, times).T
    passed = times - rows[START]
    mass, height, across, lever, free, filling = (
        rows[k] + rows[k + 1] * passed for k in (MASS, HEIGHT, ACROSS, LEVER, FREE_SURFACE, FILLING)
    )
    speed = rows[WIND] + passed * (rows[WIND + 1] + passed * rows[WIND + 2])
    press = case.coefficients.wind / mass
    mean = case.mean_wind_at(times)
    return {
        "speed": speed.astype(kind),
        "press": press.astype(kind),
        "steady": press * mean * np.abs(mean),
        "lever": lever.astype(kind),
        "height": height / mass + free,
        "across": across / mass,
        "filling": filling,
    }


@lru_cache(maxsize=16)
def _noted(
    span: tuple[float, float, int],
    segment_end: float,
    clock: tuple[float, float, int],
    stride: int,
    kind: type,
) -> dict[str, NDArray[Any]]:
    """The outputs within the steps of a span and the samples at their ends, as in a Stretch.

    The same for all cases that are stepped alike, and not to be changed. `clock` is the time
    between outputs and the duration [s], and the number of outputs.
    """
    _, step, count = span
    output, place = _outputs(span, segment_end, clock)
    sample, since = _samples(count, step, stride)
    cubic: NDArray[Any] = _cubic(place, step).astype(kind)
    return {"output": output, "place": place, "cubic": cubic, "sample": sample, "since": since}


def _cubic(place: Floats, step: float) -> Floats:
    """Weights (n, 7) of the cubic through value and rate at both ends of a step, and of its slope
    by the values' difference and both rates."""
    x, z = place, 1.0 - place
    value = z * z * (1.0 + 2.0 * x), x * x * (1.0 + 2.0 * z), step * x * z * z, -step * x * x * z
    rate = 6.0 * x * z / step, z * (1.0 - 3.0 * x), x * (1.0 - 3.0 * z)
    return np.stack((*value, *rate), axis=1)


def _samples(count: int, step: float, stride: int) -> tuple[Floats, Floats]:
    """Time since the last sample at each step's end, 0 where none is taken, and at its start."""
    number = np.arange(1, count + 1)
    taken = (number % stride == 0) | (number == count)
    last = stride * ((number - 1) // stride)
    since = step * (number - 1 - last)
    return np.where(taken, since + step, 0.0), np.asarray(since, dtype=np.float64)


def _outputs(
    span: tuple[float, float, int], segment_end: float, clock: tuple[float, float, int]
) -> tuple[Whole, Floats]:
    """Number of the output within each step or -1, and its place in the step, in (0, 1].

    A step holds one output at most. An output at the end of a segment belongs to the next one, but
    for the run's own end.
    """
    begin, step, count = span
    spacing, duration, outputs = clock
    number, place = np.full(count, -1, dtype=np.int64), np.ones(count)
    end = begin + step * count
    known = np.arange(
        math.floor(begin / spacing + 1e-9 / spacing) + 1,
        min(math.floor(end / spacing + 1e-9 / spacing) + 1, outputs),
    )
    later = (np.abs(known * spacing - segment_end) < 1e-9) & (segment_end < duration)
    known = known[~later]
    passed = (known * spacing - begin) / step
    which = np.clip(np.ceil(passed - 1e-9).astype(np.int64) - 1, 0, count - 1)
    number[which] = known
    place[which] = np.minimum(passed - which, 1.0)
    return number, place


def _output_at(clock: tuple[float, float, int], time: float) -> int:
    """Number of the output at a time [s], or -1."""
    spacing, _, outputs = clock
    number = round(time / spacing)
    on_grid = math.isclose(number * spacing, time, abs_tol=1e-9)
    return number if on_grid and number < outputs else -1


@lru_cache(maxsize=8)
def _even_weights(
    begin: float, step: float, count: int, spacing: float, band: float, kind: type
) -> tuple[Whole, NDArray[Any]]:
    """Rows and weights at even times: they depend on no case, so a sweep makes them once."""
    ends: Floats = np.asarray(begin + step * np.arange(1, count + 1))
    rows, found = weights(ends, spacing, band)
    return rows, found.astype(kind)


def _sea(
    length: float, channels: Channels, segment: Floats, span: tuple[float, float, int], kind: type
) -> tuple[Whole, NDArray[Any]]:
    """Where and with which weights the sea is found, its growth at first included."""
    begin, step, count = span
    sea = channels.slope or channels.elevation
    if sea is None:
        return np.zeros(1, dtype=np.int64), np.zeros((1, 2 * TAPS), dtype=kind)
    rows, found = _even_weights(begin, step, count, sea.step, sea.band, kind)
    ends: Floats = np.asarray(begin + step * np.arange(1, count + 1))
    return rows, _grown(found, ends, length, segment)


def _grown(found: NDArray[Any], times: Floats, length: float, segment: Floats) -> NDArray[Any]:
    """Weights times what ramp and events make of the waves at `times` [s]."""
    passed = times - segment[START]
    height = segment[WAVES] + segment[WAVES + 1] * passed
    if times[0] >= length and np.all(height == 1.0) and segment[WAVES + 1] == 0.0:
        return found
    by_ramp = np.array([ramp(time, length) for time in times])
    factor = by_ramp[:, 0] * height
    growth = by_ramp[:, 1] * height + by_ramp[:, 0] * segment[WAVES + 1]
    grown = found.copy()
    grown[:, TAPS:] = factor[:, None] * found[:, TAPS:] + growth[:, None] * found[:, :TAPS]
    grown[:, :TAPS] *= factor[:, None]
    return grown


def _gusts(
    wind: Channel | None, span: tuple[float, float, int], kind: type
) -> tuple[Whole, NDArray[Any]]:
    begin, step, count = span
    if wind is None:
        return np.zeros(1, dtype=np.int64), np.zeros((1, TAPS), dtype=kind)
    rows, found = _even_weights(begin, step, count, wind.step, wind.band, kind)
    return rows, np.ascontiguousarray(found[:, :TAPS])


def _gusts_at(wind: Channel | None, times: Floats, kind: type) -> tuple[Whole, NDArray[Any]]:
    if wind is None:
        return np.zeros(0, dtype=np.int64), np.zeros((0, TAPS), dtype=kind)
    rows, found = weights(times, wind.step, wind.band)
    return rows, np.ascontiguousarray(found[:, :TAPS].astype(kind))


def _start(case: Case, channels: Channels, segments: Floats, places: Floats, kind: type) -> Start:
    rows, found = np.zeros(places.size, dtype=np.int64), np.zeros((places.size, 2 * TAPS))
    gust_rows, gust_found = rows, found[:, :TAPS]
    sea = channels.slope or channels.elevation
    if sea is not None:
        rows, found = weights(places, sea.step, sea.band)
        segment = _in_force(segments, places[0], places[:1])[0]
        found = _grown(found, places, case.coefficients.ramp, segment)
    if channels.wind is not None:
        gust_rows, gust_found = weights(places, channels.wind.step, channels.wind.band)
    gust_found = np.ascontiguousarray(gust_found[:, :TAPS])
    acting = _acting(case, segments, float(places[0]), places, kind)
    return Start(rows, found.astype(kind), gust_rows, gust_found.astype(kind), **acting)
