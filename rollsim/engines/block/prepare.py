"""The block engine: many realisations of one case side by side, at a fixed step.

What all realisations share (tables, steps, weights) is made once a case by `prepare`; `run` then
steps LANES realisations at a time. A single run is stepped in a block of its own, so that its bits
are the same whatever its company.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rollsim.engines.base import RunList
from rollsim.engines.block.adams import STEPS
from rollsim.engines.block.lanes import (
    EARLY,
    END,
    ENERGY,
    HEEL,
    HEEL_BOUND,
    HEEL_RATE,
    KEPT_ENERGY,
    KEPT_MAX,
    KEPT_MIN,
    LANES,
    PASSED_CAPSIZE,
    PASSED_FLOODING,
    PASSED_ROLL,
    RATE,
    ROLL,
    ROLL_BOUND,
    ROLL_MAX,
    ROLL_MIN,
    SLOPE,
    Block,
    new_block,
)
from rollsim.engines.block.steps import (
    Stretch,
    Tables,
    adams_steps,
    complete_state,
    own_tables,
    remake,
    settle_state,
)
from rollsim.engines.solution import Limits, output_times
from rollsim.forcing.interpolation import TAPS, weights
from rollsim.forcing.synthesis import Sea
from rollsim.motion.coefficients import HEEL_LAWS, Coefficients
from rollsim.motion.equation import lever_on
from rollsim.motion.moments import fall, ramp, righting_lever
from rollsim.motion.timeline import ACROSS, HEIGHT, LEVER, MASS, START, WIND
from rollsim.motion.timeline import END as SEGMENT_END
from rollsim.ship.levers import Levers
from rollsim.ship.statics import HEELING_LAWS

Floats = NDArray[np.float64]

TABLE_STEP = math.radians(0.1)
"""Spacing of the lever tables; value and slope at the nearest node are off by 4e-6 m at most
where the curve bends by 8 m/rad²."""


@dataclass(frozen=True, eq=False)
class BlockProblem:
    """Runs of one case: the equation without its sea, the sea, the start, what is watched.

    `step` [s] divides `output_step`. `low` and `barrier` [m rad] are those of the well at every
    output time; `mean_wind` [m/s] is the wind without gusts.
    """

    levers: Levers
    coefficients: Coefficients
    segments: Floats
    sea: Sea
    output_step: float
    step: float
    limits: Limits
    settle: float
    mean_wind: float
    low: Floats
    barrier: Floats

    @property
    def duration(self) -> float:
        """Length of a run [s]."""
        return float(self.segments[-1, SEGMENT_END])


@dataclass(frozen=True, eq=False)
class BlockRuns:
    """Finished runs, arrays by run: the record's numbers in radians and seconds, NaN where none.

    `histories` (4, outputs, runs): roll, rate, slope [rad], lever [m], good up to `end_time`.
    """

    roll_max: Floats
    roll_min: Floats
    passed: Floats
    early: NDArray[np.bool_]
    end_time: Floats
    energy: Floats
    solved: NDArray[np.bool_]
    histories: NDArray[np.float32]


class BlockEngine:
    """A case made ready for blocks."""

    def __init__(self, problem: BlockProblem) -> None:
        self.problem = problem
        self.tables = _tables(problem)
        self.stretches = list(_stretches(problem))
        self.outputs = output_times(problem.duration, problem.output_step).size

    def run(self, seed: int, runs: RunList, histories: bool) -> BlockRuns:
        """Make up to LANES runs."""
        wanted = runs.count
        lanes = runs.part(np.minimum(np.arange(LANES), wanted - 1))
        waves = self.problem.sea.slopes(seed, lanes.realisation) * lanes.waves
        block = self._stepped(waves, (lanes.roll, lanes.rate), histories)
        return _runs(block, self.problem, wanted)

    def _stepped(self, waves: Floats, start: tuple[Floats, Floats], histories: bool) -> Block:
        problem = self.problem
        block = new_block(self.outputs if histories else 0)
        block.states[0, ROLL], block.states[0, RATE] = start
        block.record[ROLL_MAX], block.record[ROLL_MIN] = math.inf, -math.inf
        _set_bounds(block, problem.limits)
        tables = own_tables(self.tables)
        counting = False
        for stretch in self.stretches:
            complete_state(block, waves, stretch, problem.coefficients)
            if stretch is self.stretches[0] and not stretch.counts:
                _flag_start(block, problem.limits)
            if stretch.counts and not counting:
                counting = True
                _begin_counting(block, stretch.start, problem.limits)
            remake(tables, stretch, -1)
            # Lanes that have ended are stepped on, and may come to no number at all.
            with np.errstate(all="ignore"):
                self._note_output(block, stretch, tables)
            count = stretch.output.size
            made = adams_steps(
                block,
                waves,
                tables,
                stretch,
                0,
                count,
                problem.limits,
                problem.coefficients,
            )
            settle_state(block, made)
            if made < count or not np.isnan(block.record[END]).any():
                break
        return block

    def _note_output(self, block: Block, stretch: Stretch, tables: Tables) -> None:
        """The output at the very start of a stretch, under the loading that begins there."""
        problem = self.problem
        number = round(stretch.start / problem.output_step)
        on_grid = math.isclose(number * problem.output_step, stretch.start, abs_tol=1e-9)
        if not on_grid or number >= self.outputs:
            return
        state, record = block.states[0], block.record
        if block.histories.shape[1]:
            lever = [
                lever_on(roll, stretch.start, problem.coefficients, stretch.segment)
                for roll in state[ROLL]
            ]
            block.histories[:, number] = state[ROLL], state[RATE], state[SLOPE], lever
        if stretch.counts:
            table = tables.potential[:, 0]
            heels = tables.step * (np.arange(table.size) - tables.upright)
            energy = np.interp(state[HEEL], heels, table) - problem.low[number]
            energy += 0.5 * problem.coefficients.inertia * state[HEEL_RATE] ** 2
            ratio = energy / problem.barrier[number]
            np.fmax(record[ENERGY], ratio, out=record[ENERGY], where=np.isnan(record[END]))


def _flag_start(block: Block, limits: Limits) -> None:
    """Flag what starts past a limit before limits count: a ship at rest never passes it."""
    roll, flooding = _past(block, limits)
    block.record[EARLY, roll | flooding] = 1.0


def _past(block: Block, limits: Limits) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Which lanes stand past the roll limit, and which past the flooding limit."""
    state = block.states[0]
    return np.abs(state[ROLL]) >= limits.roll, np.abs(state[HEEL]) >= limits.flooding


def _begin_counting(block: Block, time: float, limits: Limits) -> None:
    """From here on extremes and limits count; what is past a limit already passes it now."""
    state, record = block.states[0], block.record
    under_way = np.isnan(record[END])
    for row in (ROLL_MAX, ROLL_MIN):
        record[row] = np.where(under_way, state[ROLL], record[row])
    roll, flooding = _past(block, limits)
    record[PASSED_ROLL, under_way & roll] = time
    record[PASSED_FLOODING, under_way & flooding] = time
    _set_bounds(block, limits)


def _set_bounds(block: Block, limits: Limits) -> None:
    """From which |roll| and |heel| on a step needs a closer look: the limits not yet passed."""
    record = block.record
    under_way = np.isnan(record[END])
    for bound, passed, limit in (
        (ROLL_BOUND, PASSED_ROLL, limits.roll),
        (HEEL_BOUND, PASSED_FLOODING, limits.flooding),
    ):
        ahead = np.where(np.isnan(record[passed]), limit, math.inf)
        record[bound] = np.where(under_way, np.minimum(ahead, limits.capsize), math.inf)


def _runs(block: Block, problem: BlockProblem, wanted: int) -> BlockRuns:
    record = block.record[:, :wanted]
    ended = ~np.isnan(record[END])
    end_time = np.where(ended, record[END], problem.duration)
    first_blind = _first_blind(problem)
    energy = np.where(ended, record[KEPT_ENERGY], record[ENERGY])
    energy = np.where((end_time >= first_blind) | ~np.isfinite(energy), math.nan, energy)
    solved = ended | np.isfinite(block.states[0, : HEEL_RATE + 1, :wanted]).all(axis=0)
    seen = np.where(ended, record[KEPT_MAX], record[ROLL_MAX])
    least = np.where(ended, record[KEPT_MIN], record[ROLL_MIN])
    counted = np.isfinite(seen) & np.isfinite(least)
    return BlockRuns(
        roll_max=np.where(counted, seen, math.nan),
        roll_min=np.where(counted, least, math.nan),
        passed=record[PASSED_ROLL : PASSED_CAPSIZE + 1].copy(),
        early=record[EARLY] > 0.0,
        end_time=end_time,
        energy=energy,
        solved=solved,
        histories=block.histories[:, :, :wanted],
    )


def _first_blind(problem: BlockProblem) -> float:
    """The first counted output time at which nothing is stable; infinite where there is none."""
    times = problem.output_step * np.arange(problem.barrier.size)
    blind = times[np.isnan(problem.barrier) & (times >= problem.settle)]
    return float(blind[0]) if blind.size else math.inf


def _tables(problem: BlockProblem) -> Tables:
    """Tables over the levers' whole range; their righting lever is that of the moments."""
    levers, c = problem.levers, problem.coefficients
    sides = -levers.heel_min, levers.heel_max
    port, starboard = (max(1, math.ceil(side / TABLE_STEP - 1e-9)) for side in sides)
    step = max(sides[0] / port, sides[1] / starboard)
    heel: Floats = np.asarray(step * np.arange(-port, starboard + 1))
    # The last row of a side may lie past its levers, which go on straight for that part of a step.
    known: Floats = np.asarray(np.clip(heel, levers.heel_min, levers.heel_max))
    count, slope = heel.size, levers.slope(known)
    kn = np.array([righting_lever(x, -c.free_surface, 0.0, c) for x in known])
    law = HEELING_LAWS[list(HEEL_LAWS)[c.heel_law]]
    falls = np.array([fall(x, c) for x in heel])
    shape: list[Floats] = [
        heel,
        np.sin(heel),
        np.cos(heel),
        levers.integral(known) + kn * (heel - known),
        law.integral(heel),
    ]
    return Tables(
        upright=port,
        step=step,
        righting=np.zeros((count, 2)),
        potential=np.zeros((count, 2)),
        kn=np.column_stack((kn + slope * (heel - known), slope)),
        shape=np.column_stack(shape),
        law=np.column_stack((falls, law.slope(heel))),
    )


def _stretches(problem: BlockProblem) -> Iterator[Stretch]:
    """Every segment as one step to the grid of steps, whole steps, and one step to its end."""
    for segment in problem.segments:
        start, end = float(segment[START]), float(segment[SEGMENT_END])
        first = math.ceil(start / problem.step - 1e-9)
        last = math.floor(end / problem.step + 1e-9)
        if first > last:
            yield _stretch(problem, segment, start, end - start, 1)
            continue
        borders = first * problem.step, last * problem.step
        if borders[0] - start > 1e-9:
            yield _stretch(problem, segment, start, borders[0] - start, 1)
        if last > first:
            yield _stretch(problem, segment, borders[0], problem.step, last - first)
        if end - borders[1] > 1e-9:
            yield _stretch(problem, segment, borders[1], end - borders[1], 1)


def _stretch(
    problem: BlockProblem, segment: Floats, start: float, step: float, count: int
) -> Stretch:
    c = problem.coefficients
    ends: Floats = np.asarray(start + step * np.arange(1, count + 1))
    started = min(STEPS - 1, count)
    stages = start + step * (np.arange(started)[:, None] + np.array([0.5, 1.0]))
    rows, found = sea_weights(problem, ends)
    start_rows, start_found = sea_weights(problem, stages.ravel())
    before_row, before_found = sea_weights(problem, np.array([start]))
    # One value more, the last, is that of the stretch's start: index -1 finds it.
    passed = np.append(ends, start) - segment[START]
    mass, height, across, lever, wind = (
        segment[k] + segment[k + 1] * passed for k in (MASS, HEIGHT, ACROSS, LEVER, WIND)
    )
    moving = bool(np.any(segment[[MASS + 1, HEIGHT + 1, ACROSS + 1, LEVER + 1]]))
    number, low, barrier = _outputs(problem, ends, float(segment[SEGMENT_END]))
    return Stretch(
        start=start,
        step=step,
        counts=bool(segment[START] >= problem.settle),
        moves=moving,
        rows=rows,
        weights=found,
        wind=c.wind * wind**2 / mass,
        steady=c.wind * problem.mean_wind**2 / mass,
        lever=lever,
        height=height / mass + c.free_surface,
        across=across / mass,
        output=number,
        low=low,
        barrier=barrier,
        start_rows=start_rows.reshape(stages.shape),
        start_weights=start_found.reshape(*stages.shape, 2 * TAPS),
        before_row=int(before_row[0]),
        before_weights=before_found[0],
        segment=segment,
    )


def _outputs(
    problem: BlockProblem, ends: Floats, segment_end: float
) -> tuple[NDArray[np.int64], Floats, Floats]:
    """Number of the output at each step's end, or -1, with well and barrier there.

    An output at the end of a segment belongs to the next one, but for the run's own end.
    """
    number = np.round(ends / problem.output_step).astype(np.int64)
    on_grid = np.isclose(number * problem.output_step, ends, rtol=0.0, atol=1e-9)
    later = (np.abs(ends - segment_end) < 1e-9) & (segment_end < problem.duration)
    number = np.where(on_grid & ~later & (number < problem.low.size), number, -1)
    return number, problem.low[number], problem.barrier[number]


def sea_weights(problem: BlockProblem, times: Floats) -> tuple[NDArray[np.int64], Floats]:
    """Where and with which weights the sea is found at `times`, its growth at first included."""
    if problem.sea.calm:
        return np.zeros(times.size, dtype=np.int64), np.zeros((times.size, 2 * TAPS))
    rows, found = weights(times, problem.sea.step, problem.sea.band)
    for i in np.flatnonzero(times < problem.coefficients.ramp):
        factor, growth = ramp(times[i], problem.coefficients.ramp)
        found[i, TAPS:] = factor * found[i, TAPS:] + growth * found[i, :TAPS]
        found[i, :TAPS] *= factor
    return rows, found
