"""What liquid that moves in six slack tanks, and tanks that fill, cost a run."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np

from rollsim.engines.base import Case, run_list
from rollsim.engines.registry import engine_for
from rollsim.scenario.load import loads
from rollsim.study.plan import make_plan
from tests.bench.table import Row, cpu

SCENARIO = Path(__file__).parents[2] / "scenarios" / "beam-gale.toml"
TANKS, RUNS = 6, 64
TONNES, VIRTUAL_KG = 4250.0, 5.32
TANK = """
[[ship.loading.tanks]]
name = "{name}"
box_m = {{ aft = {aft}, fore = {fore}, port = -6.0, starboard = 6.0, bottom = 0.2, top = 1.4 }}
filling_percent = 50.0
divisions = 2
free_surface = "{kind}"
"""
ADD = """
[[events]]
kind = "add-weight"
mass_t = 59.0
height_m = 1.1
at_s = 100.0
over_s = 600.0
"""
FILL = """
[[events]]
kind = "fill-tank"
tank = "0"
to_percent = 100.0
at_s = 100.0
over_s = 600.0
"""


def rows() -> Iterator[Row]:
    """The figures of tanks."""
    without = _seconds(_case(""))
    yield Row("a loading without tanks, 64 runs of 900 s", without, "s")
    for kind in ("moment", "liquid"):
        ratio = _seconds(_case(kind)) / without
        most = 1.3 if kind == "liquid" else None
        yield Row(f"six slack tanks, {kind}, over one without", ratio, "x", most=most)
    adding = _seconds(_case("", ADD)) / without
    yield Row("a weight that comes on board in time, over one without", adding, "x")
    filling = _case("liquid", FILL)
    yield Row("one of them fills, over one without", _seconds(filling) / without, "x")
    yield Row("pieces of its path", float(len(filling.segments)))


def _case(kind: str, events: str = "") -> Case:
    """The coaster in the gale, of one GM, by her masses, with six tanks of a kind."""
    text = SCENARIO.read_text(encoding="utf-8")
    text = text[: text.index("[[conditions]]")].replace("displacement_t = 4250.0\n", "", 1)
    tanks = [
        TANK.format(name=i, aft=10.0 + 10.0 * i, fore=18.0 + 10.0 * i, kind=kind)
        for i in range(TANKS if kind else 0)
    ]
    liquid = 0.5 * 8.0 * 12.0 * 1.2 * 1.025 * len(tanks)
    rise = 1.025 * 8.0 * 12.0 * 6.0**2 / 12.0 * len(tanks) / TONNES
    height = ((VIRTUAL_KG - rise) * TONNES - 0.5 * liquid) / (TONNES - liquid)
    light = f"lightship = {{ mass_t = {TONNES - liquid}, height_m = {height} }}"
    start, end = text.index("[ship.gravity]"), text.index("[ship.inertia]")
    whole = text[:start] + f"[ship.loading]\n{light}\n{''.join(tanks)}\n" + text[end:] + events
    return make_plan(loads(whole)).cases[0]


def _seconds(case: Case) -> float:
    engine, runs = engine_for(case), run_list(np.arange(RUNS), case.start)
    engine.run(runs, histories=False)
    return cpu(lambda: engine.run(runs, histories=False), 5)
