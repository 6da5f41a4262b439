"""Live pages for the tests: a scenario's page in a browser, and what is asked of it."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from page_browser import Browser

from rollsim.cli.live import page_data
from rollsim.scenario.load import Study, loads
from rollsim.show.live.write import write_live

ROOT = Path(__file__).parents[2]
SCENARIOS = ROOT / "scenarios"

SHIP = """
format = 1
title = "a wall-sided hull"
[ship]
name = "Marit"
length_m = 84.0
beam_m = 14.0
draught_m = 5.2
depth_m = 8.1
displacement_t = 4250.0
[ship.levers]
kind = "kn"
heel_deg = [0, 5, 10, 15, 20, 25, 30, 35, 40, 45, 50, 55, 60, 70, 80, 90]
kn_m = [
    0.0, 0.4942, 0.99, 1.4894, 1.9953, 2.506, 2.9693, 3.3707,
    3.7123, 3.9959, 4.2227, 4.3958, 4.52, 4.6345, 4.5863, 4.3889,
]
km_m = 5.66
kb_m = 2.765
[ship.gravity]
kg_m = 5.30
[ship.inertia]
gyradius_m = 5.3
[ship.damping]
linear_per_s = 0.04
quadratic = 0.30
[ship.windage]
area_m2 = 520.0
lever_m = 5.6
[run]
duration_s = 120.0
output_step_s = 0.25
"""


def opened(
    browser: Browser,
    folder: Path,
    scenario: str | Study = SHIP,
    size: tuple[int, int] = (1280, 800),
) -> Path:
    """The live page of a scenario, or of its text, opened in the browser."""
    path = folder / "live.html"
    study = loads(scenario) if isinstance(scenario, str) else scenario
    write_live(path, page_data(study, "sample.toml"))
    browser.open(path, *size)
    return path


def do(browser: Browser, method: str, values: Any = None) -> Any:
    """Call a method of the page's `window.rollsim`."""
    argument = "" if values is None else json.dumps(values)
    return browser.run(f"window.rollsim.{method}({argument})")


def state(browser: Browser) -> dict[str, Any]:
    """What the page says of her."""
    held: dict[str, Any] = do(browser, "state")
    return held


def released(
    browser: Browser, values: Mapping[str, float], roll: float = 0.0, rate: float = 0.0
) -> None:
    """Values set, she let go at a roll [degree] and rate [degree/s], and the clock stopped."""
    do(browser, "set", dict(values))
    start = {"roll_deg": roll, "roll_rate_deg_per_s": rate}
    browser.run(f"(window.rollsim.release({json.dumps(start)}), window.rollsim.pause())")


def rolls(browser: Browser, times: list[float]) -> list[float | None]:
    """Roll [degree] at some times [s] from 0 on, None once she has capsized."""
    held: list[float | None] = browser.run(
        f"{json.dumps(times)}.map((t) => {{ const r = window.rollsim;"
        "r.advance(t - r.state().time_s); const s = r.state();"
        "return s.time_s < t - 1e-9 ? null : s.roll_deg; })"
    )
    return held


def drawn(browser: Browser) -> None:
    """Wait until the page has drawn."""
    twice = "requestAnimationFrame(() => requestAnimationFrame(() => { window.drawn = true; }))"
    browser.run(f"window.drawn = false; {twice}")
    browser.wait_for("window.drawn")
