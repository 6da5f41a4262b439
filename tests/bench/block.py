"""The block engine: storm-hours against the script, a stack and a compiled integrator; scaling."""

from __future__ import annotations

import resource
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from functools import cache, partial
from multiprocessing import get_context

import numpy as np
from rollsim.engines.block.prepare import BlockEngine

from rollsim.engines.block.lanes import LANES
from tests.bench.compiled import RUNS, storm_hours
from tests.bench.script import script
from tests.bench.ship import HOUR, engine, script_waves
from tests.bench.stacked import errors, given_sea, stack
from tests.bench.table import Row, cpu, in_turn

LOOKS, STACKED = 1280, 1000
TOLERANCES = (1e-5, 1e-4)
"""Of the stacks: the first for an error like the block engine's."""
DEFAULT_STEP = 0.3
"""What the default accuracy asks for with outputs 1.2 s apart."""
MILLION = 1_000_000


def run(ready: BlockEngine, first: int, count: int) -> float:
    """Realisations [first, first + count), maxima and outcomes kept; the greatest roll."""
    most = 0.0
    for start in range(first, first + count, LANES):
        end = min(start + LANES, first + count)
        runs = ready.run(7, np.arange(start, end, dtype=np.uint64), histories=False)
        most = max(most, float(np.nanmax(runs.roll_max)))
    return most


def rows() -> Iterator[Row]:
    """CPU per storm-hour and core, forcing included, and what it is compared with."""
    ready = engine(DEFAULT_STEP)
    run(ready, 0, LANES)
    waves = script_waves()
    slopes = given_sea(ready, STACKED)
    alike, loose = (stack(ready, slopes, each) for each in TOLERANCES)
    works: dict[str, Callable[[], object]] = {
        "block": lambda: run(ready, 0, LOOKS),
        "script": lambda: script(waves, HOUR),
        "stack": lambda: alike(HOUR, None),
        "loose stack": lambda: loose(HOUR, None),
    }
    if (compiled := storm_hours()) is not None:
        works["CyRK"] = compiled
    seconds = in_turn(works)
    ours, stacked = seconds["block"] / LOOKS, seconds["stack"] / STACKED
    yield Row("block engine, default accuracy, CPU for a storm-hour", 1e3 * ours, "ms")
    yield Row("script written by hand / block", seconds["script"] / ours, "", least=6000)
    off = errors(DEFAULT_STEP, TOLERANCES)
    yield Row("block engine, greatest error over 600 s of 32 storms", off[0], "deg")
    yield Row("stack of 1000 by solve_ivp, forcing given, for a storm-hour", 1e3 * stacked, "ms")
    yield Row("  its greatest error", off[1], "deg")
    yield Row("stack / block", stacked / ours, "", least=4)
    yield Row("the same at a looser tolerance / block", seconds["loose stack"] / STACKED / ours)
    yield Row("  its greatest error", off[2], "deg")
    if compiled is None:
        print("  (CyRK is not installed: pip install CyRK to compare with it)")
    else:
        theirs = seconds["CyRK"] / RUNS
        yield Row("CyRK, forcing given, CPU for a storm-hour", 1e3 * theirs, "ms")
        yield Row("CyRK / block", theirs / ours, "", least=12)
    yield from _scaling(ready)
    yield from _workers()
    yield from _overheads()


def _scaling(ready: BlockEngine) -> Iterator[Row]:
    """The cost by number of runs, the largest in parts with the smaller ones between them."""
    most, parts = 100_000, 10
    spent = dict.fromkeys((100, 1000, 10_000, most), 0.0)
    for part in range(parts):
        first = part * most // parts
        spent[most] += cpu(partial(run, ready, first, most // parts), 1)
        for count in (100, 1000, 10_000):
            spent[count] += cpu(partial(run, ready, first, count), 1)
    cost = {n: s / (n if n == most else n * parts) for n, s in spent.items()}
    for count, seconds in cost.items():
        yield Row(f"CPU for a storm-hour at {count} runs", 1e3 * seconds, "ms")
    many = [cost[count] for count in (1000, 10_000, most)]
    spread = max(many) / min(many) - 1.0
    yield Row("spread of the cost from 1000 to 100000 runs", spread, "", most=0.15)


def _workers() -> Iterator[Row]:
    """Two worker processes against one, both warm, in turn."""
    count, turns = 6400, 3
    halves = [(first, count // 2) for first in (0, count // 2)]
    one, two = [], []
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as pool:
        list(pool.map(_share, [(0, LANES)] * 8))
        for _ in range(turns):
            start = time.perf_counter()
            pool.submit(_share, (0, count)).result()
            one.append(time.perf_counter() - start)
            start = time.perf_counter()
            list(pool.map(_share, halves))
            two.append(time.perf_counter() - start)
    yield Row("two workers / one", min(one) / min(two), "", least=1.8)


@cache
def _ready() -> BlockEngine:
    return engine(DEFAULT_STEP)


def _share(part: tuple[int, int]) -> float:
    return run(_ready(), *part)


def _overheads() -> Iterator[Row]:
    """What a study pays once: start and imports, machine code from the cache, dask's workers."""
    code = "from tests.bench.block import *; import time; t = time.perf_counter(); "
    code += "run(engine(DEFAULT_STEP), 0, 1); print(time.perf_counter() - t)"
    start = time.perf_counter()
    first = float(subprocess.check_output([sys.executable, "-c", code]))
    yield Row("overhead: start of Python and imports", time.perf_counter() - start - first, "s")
    yield Row("overhead: machine code from the cache, tables of a case, first block", first, "s")
    code = "from distributed import LocalCluster; import time; t = time.perf_counter(); "
    code += "c = LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address='127.0.0.1:0'); "
    code += "print(time.perf_counter() - t); c.close()"
    dask = subprocess.check_output([sys.executable, "-c", f"if __name__ == '__main__':\n {code}"])
    yield Row("overhead: two workers of dask", float(dask), "s")


def million() -> Iterator[Row]:
    """A million storm-hours of one case on two processes; minutes long, so only when asked for."""
    start = time.perf_counter()
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as pool:
        parts = pool.map(_part, range(0, MILLION, MILLION // 20))
        most = max(parts)
    wall = time.perf_counter() - start
    peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 2**20
    yield Row("a million storm-hours on two cores, wall", wall, "s")
    yield Row("storm-hours in a second", MILLION / wall, "1/s")
    yield Row("memory of a worker, peak", peak, "GiB", most=2.0)
    yield Row("greatest roll of all", float(np.degrees(most)), "deg")


def _part(first: int) -> float:
    return run(_ready(), first, MILLION // 20)
