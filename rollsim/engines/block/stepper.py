"""A case made ready to be stepped in blocks at one step length, and the blocks run."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from rollsim.compiled import aligned
from rollsim.engines.at_outputs import AtOutputs
from rollsim.engines.base import FIRST_LIMIT, WHOLE, RunList
from rollsim.engines.block import lanes as at
from rollsim.engines.block.counting import angles, begin_counting, flag_start, set_bounds
from rollsim.engines.block.drawn import Drawn
from rollsim.engines.block.given import Storms, Watch
from rollsim.engines.block.heart import Ship
from rollsim.engines.block.lanes import LANES, Block, flat_of, new_block
from rollsim.engines.block.steps import BEGINNING, adams_steps
from rollsim.engines.block.stretches import Grid, Piece, pieces
from rollsim.engines.block.tables import Tables, make_tables, own_tables
from rollsim.engines.limits import AT_REST
from rollsim.engines.runs import Measured
from rollsim.engines.sides import side_numbers
from rollsim.forcing.interpolation import band_for
from rollsim.forcing.synthesis import Channels, channels

Floats = NDArray[np.float64]
Reals = NDArray[Any]


@dataclass(frozen=True)
class Bounds:
    """What the scheme bears: `miss` of the extrapolated acceleration [rad/s²], and step times slope
    of the `damping`."""

    miss: float
    damping: float


class Course(NamedTuple):
    """The pieces of a run and what it is watched for."""

    pieces: list[Piece]
    watch: Watch


class Stepper:
    """A case ready at one step length: what all lanes share is made once.

    `storm` in place of the channels that the case's own storm makes.
    """

    def __init__(
        self, outputs: AtOutputs, grid: Grid, bounds: Bounds, storm: Channels | None = None
    ) -> None:
        self.outputs, self.grid = outputs, grid
        case = outputs.case
        self.channels = storm or channels(case.storm, band_for(case.accuracy, grid.weight))
        self.tables = make_tables(case, grid.kind, grid.periods)
        self.pieces = list(pieces(outputs, self.channels, grid))
        self.ship = _ship(outputs, self.tables, grid, bounds)
        self.law = self.tables.law if case.coefficients.heel_law > 0 else None
        self.watch = Watch(case.limits, outputs.wells.astype(grid.kind), outputs.bottoms)
        self.half_inertia = grid.kind(0.5 * case.coefficients.inertia)
        self._sought = Course(
            [_without_outputs(piece) for piece in self.pieces],
            self.watch._replace(bottoms=np.zeros(0)),
        )
        self._whole = Course(self.pieces, self.watch)

    def run(
        self,
        runs: RunList,
        levels: Floats | None = None,
        drawn: Drawn | None = None,
        *,
        histories: bool,
    ) -> tuple[Measured, NDArray[np.bool_]]:
        """Make up to LANES runs; which of them the scheme could not bear stands beside.

        `levels` [rad] are the heels whose upward crossings are counted, by default each start's
        static heel. Storms that were `drawn` for the block before are taken from there.
        """
        levels = self.outputs.levels(runs.roll) if levels is None else levels
        wanted = runs.size
        company = np.minimum(np.arange(LANES), wanted - 1)
        lanes = runs.part(company)
        storms = self.storms(lanes, drawn)
        block = self.started(lanes, storms, histories=histories)
        # Lanes that have ended are stepped on, and may come to no number at all.
        sought = bool(np.all(lanes.until != WHOLE))
        with np.errstate(all="ignore"):
            self._step_through(block, storms, levels[company], sought=sought)
        trouble = block.record[at.TROUBLE, :wanted] > 0.0
        return self._measured(block, lanes, wanted), trouble

    def storms(self, lanes: RunList, drawn: Drawn | None = None) -> Storms:
        """The channels' rows for every lane, None where there is none."""
        case, kind = self.outputs.case, self.grid.kind
        rows = drawn.of(lanes.realisation) if drawn else None
        if rows is None:
            rows = tuple(
                None if channel is None else channel.rows(case.seed, lanes.realisation, kind)
                for channel in self.channels
            )
            if drawn:
                drawn.realisations, drawn.rows = lanes.realisation, rows
        slope, elevation, gust = rows
        if np.any(lanes.waves != 1.0):
            factor: Reals = lanes.waves.astype(kind)
            slope, elevation = (_times(rows, factor) for rows in (slope, elevation))
        return Storms(slope, elevation, gust)

    def started(self, lanes: RunList, storms: Storms, *, histories: bool) -> Block:
        """A block at t = 0."""
        case, kind = self.outputs.case, self.grid.kind
        block = new_block(self.outputs.times.size if histories else 0, kind)
        block.states[at.AFTER, at.Y], block.states[at.AFTER, at.RATE] = lanes.roll, lanes.rate
        if added := case.coefficients.added_share:
            slope, rate = self._slope_at_start(storms)
            block.states[at.AFTER, at.Y] = lanes.roll - added * slope
            block.states[at.AFTER, at.RATE] = lanes.rate - added * rate
        block.keep[at.WIND_FACTOR] = lanes.wind
        block.keep[at.WIND_SQUARE] = lanes.wind * np.abs(lanes.wind)
        block.record[at.SIDES] = np.searchsorted(self.outputs.crests, lanes.roll, side="right")
        block.record[at.STOPS] = lanes.until == FIRST_LIMIT
        return block

    def _slope_at_start(self, storms: Storms) -> tuple[Reals, Reals]:
        """Slope [rad] and its rate at t = 0, for every lane."""
        if storms.slope is None:
            return np.zeros(LANES), np.zeros(LANES)
        start = self.pieces[0].start
        taps = start.weights.shape[1] // 2
        near = np.asarray(storms.slope[start.rows[0] : start.rows[0] + taps], dtype=np.float64)
        return start.weights[0, :taps] @ near, start.weights[0, taps:] @ near

    def _step_through(self, block: Block, storms: Storms, levels: Floats, *, sought: bool) -> None:
        pieces, watch = self._sought if sought else self._whole
        limits, tables = watch.limits, own_tables(self.tables)
        set_bounds(block, limits)
        counting, flat = False, flat_of(block)
        for piece in pieces:
            stretch = piece.stretch
            given = flat, *storms, self.law, tables, stretch, piece.start
            case = watch, self.ship, piece.scheme, self.half_inertia
            adams_steps(*given, BEGINNING, 0, *case)
            if piece is pieces[0] and not stretch.counts:
                flag_start(block, limits, self.ship)
            if stretch.counts and not counting:
                counting = True
                begin_counting(block, stretch.start, limits, self.ship, None if sought else levels)
            count = stretch.output.size
            made = adams_steps(*given, 0, count, *case)
            if made < count or not block.record[at.LIVE].any():
                break

    def _measured(self, block: Block, lanes: RunList, wanted: int) -> Measured:
        record, keep = block.record[:, :wanted], block.keep[:, :wanted].astype(np.float64)
        case = self.outputs.case
        ended = ~np.isnan(record[at.END])
        end_time = np.where(ended, record[at.END], case.duration)
        most = np.where(ended, record[at.KEPT_MAX], keep[at.ROLL_MAX])
        least = np.where(ended, record[at.KEPT_MIN], keep[at.ROLL_MIN])
        counted = np.isfinite(most) & np.isfinite(least)
        widest = np.where(ended, record[at.KEPT_HEEL], keep[at.HEEL_MOST])
        searched = np.all(lanes.until != WHOLE)
        wells = 0 if searched else self.outputs.bottoms.size
        rises = np.where(ended, record[at.KEPT_UPCROSSINGS], keep[at.UPCROSSINGS])
        with np.errstate(divide="ignore", invalid="ignore"):
            over = np.where(end_time > case.settle, end_time - case.settle, math.nan)
            mean, square = record[at.SUM] / over, record[at.SQUARES] / over
        return Measured(
            roll_max=np.where(counted, most, math.nan),
            roll_min=np.where(counted, least, math.nan),
            heel_most=np.where(counted, widest, math.nan),
            passed=record[at.PASSED_ROLL : at.PASSED_CAPSIZE + 1].copy(),
            early=record[at.EARLY] > 0.0,
            end_time=end_time,
            end_heel=np.where(ended, record[at.END_HEEL], angles(block, self.ship)[2][:wanted]),
            energy=self._energy(block, lanes, wanted),
            roll_mean=mean,
            roll_square=square,
            upcrossings=rises,
            **side_numbers(record[at.SIDES :], end_time, case.settle, wells),
            message=np.full(wanted, "", dtype=object),
            histories=block.histories[:, :, :wanted],
        )

    def _energy(self, block: Block, lanes: RunList, wanted: int) -> Floats:
        """The greatest E/E_b of every run; NaN where at some counted moment nothing is stable, in
        another wind than the case's, and where the runs are made for a search."""
        if np.all(lanes.until != WHOLE):
            return np.full(wanted, math.nan)
        record, outputs = block.record[:, :wanted], self.outputs
        ended = ~np.isnan(record[at.END])
        end_time = np.where(ended, record[at.END], outputs.case.duration)
        energy = np.where(ended, record[at.KEPT_ENERGY], block.keep[at.ENERGY, :wanted])
        capsized = ended & ~np.isnan(record[at.PASSED_CAPSIZE])
        if capsized.any():
            times = outputs.times
            last = np.searchsorted(times, end_time[capsized], side="right") - 1
            c = outputs.case.coefficients
            heel = np.clip(record[at.END_HEEL, capsized], c.heel_min, c.heel_max)
            at_end = outputs.energy_ratio(last, heel, record[at.END_HEEL_RATE, capsized])
            energy[capsized] = np.fmax(np.fmax(energy[capsized], at_end), 1.0)
        blind = outputs.times[
            np.isnan(outputs.wells[:, 0]) & (outputs.times >= outputs.case.settle)
        ]
        unseen = ~np.isfinite(energy) | (end_time >= (blind[0] if blind.size else math.inf))
        unseen |= lanes.wind[:wanted] != 1.0
        return np.asarray(np.where(unseen, math.nan, energy))


def _times(rows: Reals | None, factor: Reals) -> Reals | None:
    """The rows of a channel times a factor by lane."""
    if rows is None:
        return None
    return np.asarray(np.multiply(rows, factor, out=aligned(rows.shape, rows.dtype.type)))


def _without_outputs(piece: Piece) -> Piece:
    """A piece as a search steps it: the same steps, without outputs and averages."""
    stretch = piece.stretch
    output, sample = np.full_like(stretch.output, -1), np.zeros_like(stretch.sample)
    searched = stretch._replace(at_start=-1, output=output, sample=sample)
    return piece._replace(stretch=searched)


def _ship(outputs: AtOutputs, tables: Tables, grid: Grid, bounds: Bounds) -> Ship:
    """The numbers of a case in the block's float type."""
    c = outputs.case.coefficients
    numbers = {
        "per_inertia": 1.0 / c.inertia,
        "linear": c.linear,
        "quadratic": c.quadratic,
        "cubic": c.cubic,
        "twice_quadratic": 2.0 * c.quadratic,
        "thrice_cubic": 3.0 * c.cubic,
        "third_quadratic": c.quadratic / 3.0,
        "tiny": 1e-30,
        "slack": AT_REST,
        "share": (1.0 if c.relative else 0.0) - c.added_share,
        "added": c.added_share,
        "absolute_gm": c.absolute_gm,
        "per_step": 1.0 / tables.step,
        "step": tables.step,
        "upright": tables.upright,
        "top": tables.shape.shape[1] - 1,
        "first_level": tables.first_level,
        "per_level": 1.0 / tables.level_step,
        "last_level": max(tables.kn.shape[0] - 2, 0),
        "least_level": 0.0 if tables.kn.shape[0] > 2 else -math.inf,
        "most_level": tables.kn.shape[0] - 1.0 if tables.kn.shape[0] > 2 else math.inf,
        "port_weight": outputs.case.limits.weight,
        "port_reach": max(1.0, outputs.case.limits.weight),
        "per_most_miss": 1.0 / bounds.miss,
        "per_most_damping": grid.step / bounds.damping,
        "zero": 0.0,
        "half": 0.5,
        "one": 1.0,
    }
    # A damping beyond single precision is infinite: the guard sees what comes of it.
    with np.errstate(over="ignore"):
        return Ship(**{name: grid.kind(number) for name, number in numbers.items()})
