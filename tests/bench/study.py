"""Whole studies: workers, further cases, checks, starts, memory; each command in a process."""

from __future__ import annotations

import math
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from rollsim.scenario.load import load
from rollsim.study.plan import make_plan
from rollsim.study.run import run_to_file
from rollsim.study.workers import Where
from tests.bench.table import Row

SHIP = """
format = 1
[ship]
name = "Bench"
length_m = 84.0
beam_m = 14.0
draught_m = 5.2
displacement_t = 4250.0
[ship.levers]
kind = "kn"
heel_deg = [0, 10, 20, 30, 40, 50, 60, 75, 90]
kn_m = [0.0, 0.983, 1.969, 2.923, 3.658, 4.160, 4.444, 4.520, 4.264]
km_m = 5.659
[ship.gravity]
kg_m = 5.2
[ship.inertia]
gyradius_m = 5.3
[ship.damping]
linear_per_s = 0.012
quadratic = 0.35
[limits]
roll_deg = 40.0
flooding_deg = 42.0
[sea]
kind = "irregular"
spectrum = "bretschneider"
significant_height_m = 9.0
peak_period_s = 12.0
[output]
histories = "none"
"""
HEIGHTS = '[sweep]\n"sea.significant_height_m" = {{ from = 2.0, to = 10.0, steps = {} }}\n'
GRAVITIES = '[sweep]\n"ship.gravity.kg_m" = {{ from = 4.8, to = 5.6, steps = {} }}\n'
STARTS = '[sweep]\n"start.roll_deg" = {{ from = -30.0, to = 30.0, steps = {} }}\n'


class Cost(NamedTuple):
    """What a command took: seconds on the wall and of the processor, and memory at most [MB]."""

    wall: float
    cpu: float
    memory: float


MEASURED = """
import os, resource, sys
from rollsim.cli.main import run
code = run(sys.argv[1:])
sys.stdout.flush()
os._exit(code)
"""


def cost(text: str, *command: str) -> Cost:
    """A command of ours on a scenario."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "bench.toml"
        file.write_text(text)
        out = ["-o", str(Path(folder) / "bench.nc"), "--no-plots"] if command[0] == "run" else []
        start = time.perf_counter()
        process = subprocess.Popen(
            [sys.executable, "-c", MEASURED, command[0], str(file), *out, *command[1:]],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        _, status, used = os.wait4(process.pid, 0)
        wall = time.perf_counter() - start
    if os.waitstatus_to_exitcode(status) != 0:
        raise RuntimeError(f"rollsim {command[0]} ended with {os.waitstatus_to_exitcode(status)}")
    return Cost(wall, used.ru_utime + used.ru_stime, used.ru_maxrss / 1e3)


def scenario(runs: int, duration: float = 3600.0, more: str = "") -> str:
    """The ship of the bench in so many storms of a duration [s]."""
    return (
        f"{SHIP}[run]\nduration_s = {duration}\nrealisations = {runs}\noutput_step_s = 1.2\n{more}"
    )


def rows(share: float = 1.0) -> Iterator[Row]:
    """All figures of the study's part; `share` of the full sizes."""
    cost(scenario(64, 60.0), "run", "--workers", "1")  # compiles
    yield from workers(round(150_000 * share))
    yield from cases(round(2000 * share) + 20)
    yield from checks(round(10_000 * share) + 100)
    yield from starts(round(100_000 * share) - 200)
    yield from memory(round(100_000 * share) + 2000)


def small() -> Iterator[Row]:
    """The same at a fiftieth of the sizes, for a quick look."""
    yield from rows(0.02)


def workers(hours: int) -> Iterator[Row]:
    """One worker against two, and what was estimated.

    The study from its file to its result in a process that is under way; and as a command, where
    the start of Python, imports and the tables count as well, which one core does whatever the
    number of workers.
    """
    text = scenario(hours)
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "bench.toml"
        file.write_text(text)
        guess = make_plan(load(file)).seconds
        one, two = _in_process(file)
    yield Row(f"one worker, {hours} storm-hours, wall", one, "s")
    yield Row("one worker / two workers, wall", one / two, "", least=1.8)
    alone, both = (cost(text, "run", "--workers", n) for n in ("1", "2"))
    yield Row("  the whole command: one worker, wall", alone.wall, "s")
    yield Row("  the whole command: one worker / two workers, wall", alone.wall / both.wall)
    yield Row("estimate / CPU of a long study", guess / alone.cpu, "", least=0.5, most=2.0)


def _in_process(file: Path, turns: int = 2) -> tuple[float, float]:
    """Least seconds of a study with one worker and with two, in turn."""
    seconds: dict[int, float] = {1: math.inf, 2: math.inf}
    for count in (1, 2) * turns:
        start = time.perf_counter()
        plan = make_plan(load(file))
        run_to_file(plan, file.with_suffix(".nc"), replace=True, where=Where(count))
        seconds[count] = min(seconds[count], time.perf_counter() - start)
    return seconds[1], seconds[2]


def cases(count: int) -> Iterator[Row]:
    """A further case of a sweep, its set-up, its block of short runs and its part of the file."""
    few, many = (
        cost(scenario(1, 30.0, GRAVITIES.format(n)), "run", "--workers", "1") for n in (2, count)
    )
    yield Row("a further case of a sweep, CPU", 1e3 * (many.cpu - few.cpu) / count, "ms", most=3.0)
    text = scenario(1, 30.0, GRAVITIES.format(count))
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "bench.toml"
        file.write_text(text)
        guess = make_plan(load(file)).seconds
    yield Row("estimate / CPU of many small cases", guess / many.cpu, "", least=0.5, most=2.0)


def checks(count: int) -> Iterator[Row]:
    """`rollsim check` of many cases."""
    for name, axis in (("heights", HEIGHTS), ("loadings", GRAVITIES)):
        used = cost(scenario(10, 3600.0, axis.format(count)), "check")
        yield Row(f"check of {count} {name}, CPU", used.cpu, "s", most=5.0)


def starts(count: int) -> Iterator[Row]:
    """Initial conditions as a sweep against as many realisations of one case."""
    storms = cost(scenario(count, 60.0), "run", "--workers", "1")
    sweep = cost(scenario(1, 60.0, STARTS.format(count)), "run", "--workers", "1")
    more = 1e3 * (sweep.cpu - storms.cpu) / count
    yield Row(f"{count} storms of a minute, CPU", storms.cpu, "s")
    yield Row("a start of a sweep beyond that of a storm, CPU", more, "ms", most=0.3)


def memory(count: int) -> Iterator[Row]:
    """Memory of a large study over that of a small one."""
    few, many = (cost(scenario(n, 60.0), "run", "--workers", "2") for n in (200, count))
    yield Row(f"memory of {count} runs", many.memory, "MB")
    yield Row(
        "beyond that of 200 runs, per run",
        1e6 * (many.memory - few.memory) / count,
        "B",
        most=1500.0,
    )
