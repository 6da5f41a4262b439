"""What histories cost on the disk: bytes a sample, and how fast they are written."""

from __future__ import annotations

import os
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

from rollsim.engines.runs import HISTORIES
from rollsim.scenario.load import load
from rollsim.study.loop import run_plan
from rollsim.study.plan import make_plan
from rollsim.study.result import Results
from rollsim.study.run import write
from rollsim.study.workers import Where
from tests.bench.table import Row

SCENARIO = "scenarios/beam-gale.toml"


def rows() -> Iterator[Row]:
    """Of the study of the README's first command."""
    plan = make_plan(load(SCENARIO))
    results = Results(plan)
    for chunk, runs in run_plan(plan, Where(1)):
        results.take(chunk, runs)
    samples = len(HISTORIES) * plan.runs * plan.times.size
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "result.nc"
        start = time.perf_counter()
        write(results, path)
        seconds = time.perf_counter() - start
        size = os.path.getsize(path)
    yield Row("bytes of the file for each stored sample", size / samples, "B")
    yield Row("samples written, before compression", 4e-6 * samples / seconds, "MB/s")
    yield Row("size of the result", size / 1e6, "MB")
