"""Basins: what becomes of a ship from every start of a grid of roll and roll rate, case by case."""

from __future__ import annotations

import math
import os
import threading
from collections.abc import Callable
from dataclasses import replace
from functools import cache, partial
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from rollsim.engines.base import CAPSIZE, Case, RunList, run_list
from rollsim.engines.block.engine import BlockEngine
from rollsim.engines.registry import engine_for
from rollsim.engines.runs import Measured, in_units
from rollsim.engines.scipy.engine import ScipyEngine
from rollsim.errors import Fault, InputError
from rollsim.map_names import MAPS
from rollsim.names import Outcome
from rollsim.scenario.schema import Basin
from rollsim.scenario.schema.maps import RateRange, RollRange
from rollsim.scenario.text.faults import Finding, located
from rollsim.ship.equilibria import equilibria
from rollsim.steady.family import resting_curve
from rollsim.steady.melnikov import wave_heights
from rollsim.store.disk import require_space
from rollsim.store.maps import write_map
from rollsim.study.at_rest import of_cases
from rollsim.study.pieces import Arrays, Pieces, works_to_file
from rollsim.study.plan import Plan
from rollsim.study.run import NOBODY, Listener, attributes, axes
from rollsim.study.workers import ALL_CORES, Where
from rollsim.weather.sea import RegularWave

Floats = NDArray[np.float64]

BASIN = "basin"
MAP = {"outcome": np.int8, "failure_time": np.float32, "well": np.int8}
"""What every start has, and how it is kept."""
EACH = sum(np.dtype(kind).itemsize for kind in MAP.values())
"""Bytes of a start."""
COPIES = 2.5
"""How often all starts are held in memory while the file is written, at most."""
PIECE, AT_ONCE = 1 << 16, 1 << 12
"""Starts of a piece that is kept when it is finished, and between two looks for an interruption."""
EXAMPLE = (
    "add the table [basin] with the ranges roll_deg and roll_rate_deg_per_s, each such as "
    "{ from = -60.0, to = 60.0, steps = 400 }"
)


def basin_to_file(
    plan: Plan,
    path: Path,
    *,
    replace: bool = False,
    where: Where = ALL_CORES,
    listener: Listener = NOBODY,
) -> bool:
    """Make the basins of all cases and write them to `path`; False if interrupted."""
    table = basin_of(plan)
    require_space(path, _starts(plan, table) * EACH)
    progress = _Progress(listener.progress, pieces_of(table))
    works = [_work(case, table, progress.piece) for case in plan.cases]

    def write(made: list[Arrays]) -> None:
        arrays = made_whole(made, table) | _of_cases(plan)
        says = attributes(plan) | {"history": f"rollsim basin {Path(plan.study.file).name}"}
        says.pop("histories")
        kept = {name: values for name, values in arrays.items() if name in _known()}
        write_map(path, BASIN, kept, axes(plan), says, plan.study.text)

    heard = Listener(progress.works, listener.tell)
    return works_to_file(
        plan.study.text, path, BASIN, works, write, replace=replace, where=where, listener=heard
    )


class _Progress:
    """Tells how many pieces of all cases are there: each as it is made, those of a finished case
    that an earlier run had left as well."""

    def __init__(self, tell: Callable[[int], None], each: int) -> None:
        self._tell, self._each = tell, each
        self._made = self._finished = 0
        self._lock = threading.Lock()

    def piece(self) -> None:
        """One more is made."""
        with self._lock:
            self._made += 1
            self._tell(max(self._made, self._finished))

    def works(self, finished: int) -> None:
        """So many cases are finished."""
        with self._lock:
            self._finished = finished * self._each
            self._tell(max(self._made, self._finished))


def basin_of(plan: Plan) -> Basin:
    """The table of the file; InputError without one, or where the grid is past the memory."""
    table, study = plan.study.base.basin, plan.study
    if table is None:
        raise InputError(study.file, [Fault("basin", "is missing", EXAMPLE)])
    rolls, rates = table.roll_deg.steps, table.roll_rate_deg_per_s.steps
    size = _starts(plan, table) * EACH * COPIES
    if size > memory():
        fit = math.isqrt(int(memory() / (len(plan.cases) * EACH * COPIES)))
        problem = (
            f"{len(plan.cases)} x {rolls} x {rates} starts take {size / 1e9:.3g} GB, more than the "
            f"memory of this machine, {memory() / 1e9:.3g} GB"
        )
        hint = f"steps = {fit // 10 * 10} for roll and roll rate fit; or take fewer cases"
        findings = [Finding(("basin", "roll_deg", "steps"), problem, hint)]
        raise InputError(study.file, located(findings, study.text))
    return table


def _starts(plan: Plan, table: Basin) -> int:
    """Starts of all cases."""
    return len(plan.cases) * table.roll_deg.steps * table.roll_rate_deg_per_s.steps


def memory() -> int:
    """Bytes of memory of this machine."""
    return os.sysconf("SC_PHYS_PAGES") * os.sysconf("SC_PAGE_SIZE")


def grid(given: RollRange | RateRange) -> Floats:
    """The values of a range [degree, degree/s]."""
    return np.linspace(given.from_, given.to, given.steps)


def _rows(table: Basin) -> int:
    """Roll rates of a piece."""
    return max(1, PIECE // table.roll_deg.steps)


def pieces_of(table: Basin) -> int:
    """Pieces of a case."""
    return -(-table.roll_rate_deg_per_s.steps // _rows(table))


def basin_arrays(
    case: Case,
    table: Basin,
    pieces: Pieces | None = None,
    made: Callable[[], None] = lambda: None,
) -> Arrays:
    """Outcome, failure time [s] and well from every start, (roll rate, roll) each.

    `made` is called for every piece that is made.
    """
    roll, rate = grid(table.roll_deg), grid(table.roll_rate_deg_per_s)
    rows, make = _rows(table), _maker(case, table, roll, rate)

    def piece(first: int) -> Arrays:
        arrays = make(first, first + rows, pieces)
        made()
        return arrays

    wanted = {
        f"basin {case.index} rates {first} {rows}": partial(piece, first)
        for first in range(0, rate.size, rows)
    }
    parts = [each() for each in wanted.values()] if pieces is None else pieces.all(wanted)
    return {name: np.concatenate([part[name] for part in parts]) for name in MAP}


def _work(case: Case, table: Basin, made: Callable[[], None]) -> Callable[[Pieces], Arrays]:
    def work(pieces: Pieces) -> Arrays:
        regular = isinstance(case.storm.sea.waves, RegularWave)
        # The orbits of the estimate know no tank that fills.
        heights = wave_heights(case) if regular and case.filling is None else None
        estimates = np.array((math.nan, math.nan) if heights is None else heights)
        return basin_arrays(case, table, pieces, made) | {"estimates": estimates}

    return work


def _maker(
    case: Case, table: Basin, roll: Floats, rate: Floats
) -> Callable[[int, int, Pieces | None], Arrays]:
    """What makes the starts of some roll rates; the engine is ready for the most violent."""
    most = math.radians(np.abs(roll).max()), math.radians(np.abs(rate).max())
    ready = replace(case, start=most, output_step=case.duration)
    crests, count = _crests(case)
    realisation = table.realisation if case.random else 0

    @cache
    def engine() -> BlockEngine | ScipyEngine:
        made = engine_for(ready)
        assert isinstance(made, BlockEngine | ScipyEngine)
        return made

    def make(first: int, last: int, pieces: Pieces | None) -> Arrays:
        rates, rolls = np.meshgrid(rate[first:last], roll, indexing="ij")
        place = np.radians(rolls.ravel()), np.radians(rates.ravel())
        starts = run_list(realisation, place, until=CAPSIZE)
        arrays: dict[str, NDArray[Any]] = {
            "outcome": np.full(starts.size, Outcome.CAPSIZED, dtype=np.int8),
            "failure_time": np.zeros(starts.size, dtype=np.float32),
            "well": np.zeros(starts.size, dtype=np.int8),
        }
        within = np.flatnonzero(np.abs(starts.roll) < case.limits.capsize)
        for k in range(0, within.size, AT_ONCE):
            if pieces is not None:
                pieces.stop_if_asked()
            which = within[k : k + AT_ONCE]
            for name, values in _made(engine(), starts.part(which), crests, count).items():
                arrays[name][which] = values
        return {name: values.reshape(rolls.shape) for name, values in arrays.items()}

    return make


def _made(
    engine: BlockEngine | ScipyEngine, starts: RunList, crests: Floats, wells: int
) -> dict[str, NDArray[Any]]:
    """The runs from some starts."""
    measured: Measured = engine.measured(starts, histories=False)
    numbers = in_units(measured, engine.case.limits, engine.outputs.times).numbers
    outcome = numbers["outcome"]
    side = np.sign(2 * np.searchsorted(crests, measured.end_heel) - (wells - 1))
    well = np.where(outcome == Outcome.SURVIVED, side, 0) if wells > 1 else np.zeros(outcome.size)
    return {"outcome": outcome, "failure_time": numbers["failure_time"], "well": well}


def _crests(case: Case) -> tuple[Floats, int]:
    """Heels [rad] of the crests between wells at the end of the run, and the wells' number."""
    at = [e for e in equilibria(resting_curve(case)) if abs(e.heel) < case.limits.capsize]
    wells = [e.heel for e in at if e.kind == "stable"]
    crests = [
        e.heel for e in at if e.kind == "unstable" and wells and wells[0] < e.heel < wells[-1]
    ]
    return np.array(crests, dtype=np.float64), len(wells)


def made_whole(made: list[Arrays], table: Basin) -> Arrays:
    """The basins of all cases with what is counted of them."""
    roll, rate = grid(table.roll_deg), grid(table.roll_rate_deg_per_s)
    arrays: Arrays = {name: np.stack([each[name] for each in made]) for name in MAP}
    for each in made:
        for name in MAP:
            del each[name]
    safe = np.count_nonzero(arrays["outcome"] == Outcome.SURVIVED, axis=(1, 2))
    cell = math.radians(roll[1] - roll[0]) * math.radians(rate[1] - rate[0])
    estimates = np.array([each["estimates"] for each in made])
    return arrays | {
        "roll": roll,
        "roll_rate": rate,
        "safe_share": safe / (roll.size * rate.size),
        "safe_area": safe * cell,
        "melnikov_height": estimates[:, 0],
        "melnikov_height_between": estimates[:, 1],
    }


def _of_cases(plan: Plan) -> Arrays:
    """What the cases have at rest, and the height of their waves [m], NaN where not regular."""
    waves = [case.storm.sea.waves for case in plan.cases]
    heights = [wave.height if isinstance(wave, RegularWave) else math.nan for wave in waves]
    return of_cases(plan, range(len(plan.cases))) | {"wave_height": np.array(heights)}


def _known() -> set[str]:
    return {"case", "condition", *MAPS[BASIN]}
