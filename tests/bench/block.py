"""The block engine: storm-hours against the script, a stack and a compiled integrator; scaling."""

from __future__ import annotations

import math
import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from itertools import count as numbers

import numpy as np
from numpy.typing import NDArray

from rollsim.engines.block.engine import BlockEngine
from rollsim.engines.block.lanes import LANES
from rollsim.engines.scipy.engine import ScipyEngine
from tests.bench.compiled import RUNS, storm_hours
from tests.bench.script import script
from tests.bench.ship import EXACT, HOUR, KG, OUTPUT_STEP, SPAN, case, engine, script_waves, storms
from tests.bench.stacked import given_sea, stack
from tests.bench.table import Row, cpu, in_turn

Floats = NDArray[np.float64]

LOOKS, STACKED, STORMS = 1280, 1000, 32
"""Runs of the block engine and of a stack for each measurement; storms that errors are of."""
TURNS = 15
"""Turns in which the least of each is looked for: a neighbour on the machine slows one or the other
by a tenth for a second or two."""
TOLERANCES = (1e-5, 1e-4)
"""Of the stacks: the first for an error like the block engine's."""
OFTEN = 0.5
"""The shorter output step [s]."""
MILLION = 1_000_000
IN_CALL = 64 * LANES


def run(ready: BlockEngine, first: int, count: int) -> float:
    """Realisations [first, first + count), maxima and outcomes kept; the greatest roll [degree]."""
    most = 0.0
    for start in range(first, first + count, IN_CALL):
        runs = storms(start, min(IN_CALL, first + count - start))
        most = max(most, float(np.nanmax(ready.run(runs, histories=False).numbers["roll_max"])))
    return most


def rows() -> Iterator[Row]:
    """CPU per storm-hour and core, forcing included, and what it is compared with."""
    ready, often = engine(), engine(output_step=OFTEN)
    run(ready, 0, LANES)
    run(often, 0, LANES)
    waves = script_waves()
    given = given_sea(ready, STACKED)
    alike, loose = (stack(ready, given, each) for each in TOLERANCES)
    works: dict[str, Callable[[], object]] = {
        "block": lambda: run(ready, 0, LOOKS),
        "often": lambda: run(often, 0, LOOKS),
        "script": lambda: script(waves, HOUR),
        "stack": lambda: alike(HOUR, None),
        "loose stack": lambda: loose(HOUR, None),
    }
    if (compiled := storm_hours()) is not None:
        works["CyRK"] = compiled
    seconds = in_turn(works, TURNS)
    ours, stacked = seconds["block"] / LOOKS, seconds["stack"] / STACKED
    off = errors(ready)
    yield Row("block engine at default accuracy, the step it takes", ready.step, "s")
    yield Row("block engine, CPU for a storm-hour", 1e3 * ours, "ms")
    yield Row(f"the same with outputs every {OFTEN} s", 1e3 * seconds["often"] / LOOKS, "ms")
    yield Row("script written by hand / block", seconds["script"] / ours, "", least=8000)
    yield Row(
        f"block engine, greatest error over 600 s of {STORMS} storms", off[0], "deg", most=0.01
    )
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
    yield from _threads()
    yield from _further_case()
    yield from _overheads()


def errors(ready: BlockEngine) -> list[float]:
    """Greatest error [degree] over SPAN of the first storms: the engine's, then the stacks'.

    Against DOP853 at 1e-11, in the same storms to their first ten minutes, which none ends.
    """
    exact = ScipyEngine(case(duration=SPAN), EXACT).run(storms(0, STORMS), histories=True)
    true = exact.histories[0].astype(float)
    count = true.shape[1]
    ours = ready.run(storms(0, STORMS), histories=True).histories[0, :, :count].astype(float)
    times: Floats = np.asarray(OUTPUT_STEP * np.arange(count))
    given = given_sea(ready, STORMS)
    stacked = [np.degrees(stack(ready, given, each)(times[-1], times)) for each in TOLERANCES]
    return [float(np.max(np.abs(each - true))) for each in (ours, *stacked)]


def _scaling(ready: BlockEngine) -> Iterator[Row]:
    """The cost by number of runs, the largest in parts with the smaller ones between them."""
    most, parts = 100_000, 10
    spent = dict.fromkeys((100, 1000, 10_000, most), 0.0)
    before = _peak_memory()
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
    yield Row("memory that 100000 runs add to the peak", _peak_memory() - before, "MB", most=32.0)


def _peak_memory() -> float:
    """Greatest memory of this process so far [MB]."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0


def _threads() -> Iterator[Row]:
    """Two threads of one process, an engine each, against one, in turn."""
    count, turns = 6400, 5
    engines = [engine(), engine()]
    for each in engines:
        run(each, 0, LANES)
    one, two = [], []
    with ThreadPoolExecutor(2) as pool:
        for _ in range(turns):
            start = time.perf_counter()
            pool.submit(run, engines[0], 0, count).result()
            one.append(time.perf_counter() - start)
            start = time.perf_counter()
            list(pool.map(run, engines, (0, count // 2), (count // 2,) * 2))
            two.append(time.perf_counter() - start)
    yield Row("one thread / two threads of one process, wall", min(one) / min(two), "", least=1.8)


def _further_case() -> Iterator[Row]:
    """A case of a sweep over KG after the first: everything that is made before its first step."""
    turns = numbers(1)
    seconds = cpu(lambda: BlockEngine(case(kg=KG + 1e-4 * next(turns))).stepper(), 12)
    yield Row("a further case of a sweep made ready, CPU", 1e3 * seconds, "ms", most=3.0)


COMMAND = "scenarios/beam-gale.toml"
FIRST = "from tests.bench.block import *; import time; t = time.process_time(); "
FIRST += "run(engine(), 0, 1); print(time.process_time() - t)"


def _overheads() -> Iterator[Row]:
    """What a study pays once: start, imports and machine code, compiled or from the cache."""
    with tempfile.TemporaryDirectory() as folder:
        empty = _children(), float(_first_run(folder)), _children()
        again = float(_first_run(folder))
    whole = empty[2] - empty[0]
    with tempfile.TemporaryDirectory() as folder:
        before = _children()
        command = [sys.executable, "-m", "rollsim", "run", COMMAND, "--no-plots"]
        subprocess.run(
            [*command, "-o", f"{folder}/first.nc"],
            env={**os.environ, "NUMBA_CACHE_DIR": folder},
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            check=True,
        )
        command_whole = _children() - before
    yield Row("first block with an empty compile cache, whole process, CPU", whole, "s", most=8.0)
    yield Row("first `rollsim run`, with an empty compile cache, CPU", command_whole, "s", most=8.0)
    yield Row("overhead: start of Python and imports, CPU", whole - empty[1], "s")
    yield Row("overhead: code from the cache, tables, first block, CPU", again, "s")


def _first_run(folder: str) -> str:
    """A first run in a process of its own, its machine code kept in `folder`."""
    command = [sys.executable, "-c", FIRST]
    return subprocess.check_output(
        command, env={**os.environ, "NUMBA_CACHE_DIR": folder}, text=True
    )


def _children() -> float:
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def million() -> Iterator[Row]:
    """A million storm-hours of one case on two threads; minutes long, so only when asked for."""
    parts = 20
    engines = [engine(), engine()]
    for each in engines:
        run(each, 0, LANES)
    start = time.perf_counter()
    with ThreadPoolExecutor(2) as pool:
        halves = list(pool.map(_half, engines, (0, 1), (parts, parts)))
    wall = time.perf_counter() - start
    yield Row("a million storm-hours on two cores, wall", wall, "s")
    yield Row("storm-hours in a second", MILLION / wall, "1/s")
    yield Row("memory of the process, peak", _peak_memory() / 1024.0, "GiB", most=2.0)
    yield Row("greatest roll of all", max(halves), "deg")


def _half(ready: BlockEngine, first: int, parts: int) -> float:
    """Every second part of the million from the part `first` on; the greatest roll [degree]."""
    each = MILLION // parts
    return max((run(ready, part * each, each) for part in range(first, parts, 2)), default=math.nan)
