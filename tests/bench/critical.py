"""Critical KG at p = 0.05 to ±0.01 m: what runs it takes, in storms of several seeds."""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from rollsim import loads
from tests.bench.table import Row

SCENARIO = Path(__file__).parents[2] / "scenarios" / "limiting-kg.toml"
SEEDS = (1, 2, 7)
TOLERANCE = 0.01
EDITS = (
    ("tolerance = 0.015", f"tolerance = {TOLERANCE}"),
    ("{ from = 4.0, to = 8.0, steps = 5 }", "[4.0, 6.0, 7.0]"),
)


def rows() -> Iterator[Row]:
    """The most runs of a case and the widest interval, and CPU of a thousand runs with it all."""
    text = SCENARIO.read_text(encoding="utf-8")
    for old, new in EDITS:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    for seed in SEEDS:
        start = time.process_time()
        ds = loads(text.replace("seed = 7", f"seed = {seed}")).critical(workers=1)
        used = time.process_time() - start
        runs = ds["trial_runs"].values.sum(axis=1)
        half = 0.5 * (ds["critical_value_upper"] - ds["critical_value_lower"]).values
        yield Row(
            f"seed {seed}: most runs of {runs.size} cases", float(runs.max()), "", most=60_000
        )
        yield Row(f"seed {seed}: runs, median", float(np.median(runs)))
        yield Row(f"seed {seed}: widest half interval", float(half.max()), "m", most=TOLERANCE)
        yield Row(f"seed {seed}: CPU of 1000 runs of 600 s", 1e3 * used / runs.sum() * 1e3, "ms")
