"""What the live model computes with: every case as a file of its own, its levers, its storm.

A case's file is resolved: nothing in it is left to be converted at a GM, so that it stands by
itself whatever is changed afterwards.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from rollsim.constants import GRAVITY
from rollsim.engines.base import Case
from rollsim.errors import Fault, InputError
from rollsim.forcing.single import FEW, channel_grid
from rollsim.scenario.expand.grid import BASE
from rollsim.scenario.schema import Scenario
from rollsim.ship.levers import Levers
from rollsim.ship.wave_levers import WaveLevers
from rollsim.study import live_papers as papers
from rollsim.study.plan import Plan
from rollsim.weather.draws import WIND, uniform_pairs
from rollsim.weather.sea import SeaState, realise
from rollsim.weather.spectra import SPECTRA
from rollsim.weather.wind import WindLines

Floats = NDArray[np.float64]

SAMPLE_STEP = 0.2
"""Time between the samples of a storm [s]: a sixth of the period of the shortest waves of any
ship of more than two metres of beam, and no turbulence is faster than 1 Hz."""
MOST_SAMPLED, MOST_OF_ALL = 1800.0, 18_000.0
"""Seconds of a storm that a page carries, and of the storms of all its cases: it stays small."""
SPARE = 4
"""Samples before the start and after the end, for the derivatives there."""
TRAIN_SECONDS = 600.0
TRAIN_HEIGHT, TRAIN_PERIOD = 3.0, 9.0
"""Length [s], significant height [m] and peak period [s] of the wave trains to choose from."""
KEPT = ("format", "title", "ship", "limits", "wind", "sea", "start", "events", "run")
"""Tables of a file that make one run."""
KEPT_OF_RUN = ("duration_s", "output_step_s", "settle_s", "seed", "accuracy_deg")


@dataclass(frozen=True, eq=False)
class LiveCase:
    """A case for the live model: its file as plain values, its curve, and samples of its storm.

    `channels` (n,) by name: "slope" [rad] and "elevation" [m] of an irregular sea, "wind" [m/s] of
    a turbulence, every SAMPLE_STEP from SPARE samples before the start, without ramp and events.
    `form` is the hull's own curve, without liquid; `tanks`, `stowed` weights and the `section`
    (2, n) [m] are for the drawing, and what the page may pump. `flooding` are the heels [degree]
    to port and starboard where they differ, `waves` her levers in waves from her hull,
    `filling` what liquid that moves adds while tanks fill, `papers` her own tables then.
    """

    index: int
    condition: str
    label: str
    file: dict[str, Any]
    levers: Levers
    form: Levers
    kb: float | None
    windage_assumed: bool
    channels: dict[str, Floats]
    tanks: list[dict[str, Any]]
    stowed: list[dict[str, Any]]
    section: list[list[float]] | None
    flooding: tuple[float, float] | None
    waves: WaveLevers | None
    filling: dict[str, Any] | None
    papers: dict[str, Any] | None


def live_cases(plan: Plan, realisation: int = 0) -> list[LiveCase]:
    """Every case of a plan that can start; the storm is that of one realisation.

    InputError for what the page cannot compute.
    """
    pairs = zip(plan.cases, plan.study.cases, strict=True)
    able = [(case, spec.scenario) for case, spec in pairs if math.isfinite(case.start[0])]
    if not able:
        problem = '"static", but no case has a heel to rest at'
        raise InputError(plan.study.file, [Fault("start.roll_deg", problem, "give a roll angle")])
    for case, _ in able:
        papers.refuse_unknown(case, plan.study.file)
    most = _carried(len(able))
    return [_live(case, scenario, realisation, most) for case, scenario in able]


def _carried(cases: int) -> float:
    """Seconds of its storm that each of so many cases carries."""
    return min(MOST_SAMPLED, MOST_OF_ALL / cases)


def _live(case: Case, scenario: Scenario, realisation: int, most: float) -> LiveCase:
    table, levers = papers.lever_table(case, scenario)
    file = resolved(case, scenario, table)
    assumed = scenario.ship.windage is None
    file["run"]["realisations"] = realisation + 1
    return LiveCase(
        index=case.index,
        condition=case.condition,
        label=label_of(case),
        file=file,
        levers=levers,
        form=case.levers.hull,
        kb=case.kb,
        windage_assumed=assumed,
        channels=_channels(case, realisation, most),
        tanks=papers.tanks(scenario),
        stowed=papers.stowed(scenario),
        section=papers.section(scenario),
        flooding=papers.flooding(case),
        waves=case.waves,
        filling=(filling := papers.filling(scenario)),
        papers=papers.by_papers(scenario) if filling else None,
    )


def label_of(case: Case) -> str:
    """The condition of a case and its values on the axes of the sweep."""
    values = [f"{name} {value:g}" if isinstance(value, float) else f"{name} {value}"
              for name, value in case.coordinates.items()]  # fmt: skip
    named = [] if case.condition == BASE and values else [case.condition]
    return ", ".join(named + values)


def notes(cases: Sequence[LiveCase]) -> list[str]:
    """What a page of these cases must say of its numbers."""
    lines = [
        "Waves and wind of a storm are samples every "
        f"{SAMPLE_STEP:g} s; after the last one, at {_sampled_seconds(cases):g} s, they die down.",
    ]
    if any(case.windage_assumed for case in cases):
        lines.append(
            "Her file gives no windage: that of a box up to one and a half depths is assumed."
        )
    return lines


def _sampled_seconds(cases: Sequence[LiveCase]) -> float:
    longest = max((case.file["run"]["duration_s"] for case in cases), default=0.0)
    return min(longest, _carried(max(len(cases), 1)))


def resolved(case: Case, scenario: Scenario, table: dict[str, Any]) -> dict[str, Any]:
    """The file of one case alone, by its keys, with the levers' `table`: all of it as numbers."""
    whole = scenario.model_dump(mode="json", by_alias=True, exclude_none=True, exclude_unset=True)
    file = {key: whole[key] for key in KEPT if key in whole}
    run = scenario.run.model_dump(mode="json")
    roll, rate = (math.degrees(angle) for angle in case.start)
    events = [
        event.model_dump(mode="json", by_alias=True, exclude_unset=True)
        for event in papers.plain_events(scenario)
    ]
    return file | {
        "limits": papers.limits_of(case, file.get("limits", {})),
        "ship": {**file["ship"], **_particulars(case, scenario), "levers": table},
        "start": {"roll_deg": roll, "roll_rate_deg_per_s": rate},
        "run": {key: run[key] for key in KEPT_OF_RUN},
        "sea": file.get("sea", {"kind": "calm"}),
        "events": events,
    }


def _particulars(case: Case, scenario: Scenario) -> dict[str, Any]:
    """What [ship] holds besides her levers, what followed from her papers put in as numbers."""
    ship, c = scenario.ship, case.coefficients
    sizes = ("name", "length_m", "beam_m", "draught_m", "depth_m", "displacement_t")
    held = {key: getattr(ship, key) for key in sizes if getattr(ship, key) is not None}
    gravity = ship.gravity.model_dump(mode="json")
    return held | {
        "gravity": {key: value for key, value in gravity.items() if value or key == "kg_m"},
        "inertia": {"gyradius_m": math.sqrt(c.inertia * GRAVITY), "added_share": c.added_share},
        "damping": {"linear_per_s": c.linear, "quadratic": c.quadratic, "cubic_s": c.cubic},
        "windage": windage(scenario),
        "loading": None,
    }


def windage(scenario: Scenario) -> dict[str, float]:
    """Windage [m², m], the loading's included; without any a box up to one and a half depths."""
    ship = scenario.ship
    if ship.whole_windage is not None:
        area, lever = ship.whole_windage
        return {"area_m2": area, "lever_m": lever}
    top = 1.5 * (1.5 * ship.draught_m if ship.depth_m is None else ship.depth_m)
    height = top - ship.draught_m
    return {
        "area_m2": round(ship.length_m * height, 1),
        "lever_m": round(0.5 * top, 2),  # from half the draught to the middle of that height
    }


def _channels(case: Case, realisation: int, most: float) -> dict[str, Floats]:
    channels: dict[str, Floats] = {}
    storm, duration = case.storm, min(case.duration, most)
    waves = realise(storm.sea, case.seed, realisation)
    if not storm.calm_water and waves.slope.size > FEW:
        # −sin is the cosine a quarter turn ahead.
        ahead = waves.phase + 0.5 * math.pi
        channels["slope"] = sampled(waves.frequency, waves.slope, ahead, duration)
        if storm.elevation:
            elevation = sampled(waves.frequency, waves.elevation, waves.phase, duration)
            channels["elevation"] = elevation
    if storm.wind is not None:
        channels["wind"] = _turbulence(storm.wind, case.seed, realisation, duration)
    return channels


def _turbulence(lines: WindLines, seed: int, realisation: int, duration: float) -> Floats:
    size, turns = uniform_pairs(seed, realisation, WIND, int(lines.place[0]), lines.place.size)
    frequency = np.asarray(lines.place * (math.tau / lines.repeat), dtype=np.float64)
    amplitude = lines.amplitude * np.sqrt(-np.log(size))
    return sampled(frequency, amplitude, math.tau * turns, duration)


def sampled(frequency: Floats, amplitude: Floats, phase: Floats, duration: float) -> Floats:
    """Σ amplitude cos(frequency t + phase) every SAMPLE_STEP over `duration` [s] and SPARE more."""
    earlier = phase - SPARE * SAMPLE_STEP * frequency
    count = math.ceil(duration / SAMPLE_STEP) + 2 * SPARE + 1
    grid: Floats = channel_grid(frequency, amplitude, earlier, SAMPLE_STEP, count)[:, 0]
    return np.ascontiguousarray(grid)


def wave_trains(case: Case, seeds: Sequence[int]) -> list[dict[str, Any]]:
    """Trains of beam waves for a ship, one a seed: its [sea] table, its length, its channels."""
    trains = []
    for seed in seeds:
        sea = SeaState(
            waves=SPECTRA["bretschneider"](TRAIN_HEIGHT, peak_period=TRAIN_PERIOD),
            length=case.storm.sea.length,
            beam=case.storm.sea.beam,
            draught=case.storm.sea.draught,
            shortest_wave=case.storm.sea.beam,
            duration=TRAIN_SECONDS,
        )
        waves = realise(sea, seed, 0)
        ahead = waves.phase + 0.5 * math.pi
        table = {
            "kind": "irregular",
            "spectrum": "bretschneider",
            "significant_height_m": TRAIN_HEIGHT,
            "peak_period_s": TRAIN_PERIOD,
        }
        slope = sampled(waves.frequency, waves.slope, ahead, TRAIN_SECONDS)
        channels = {"slope": slope}
        if case.storm.elevation:
            raised = sampled(waves.frequency, waves.elevation, waves.phase, TRAIN_SECONDS)
            channels["elevation"] = raised
        trains.append(
            {"seed": seed, "sea": table, "duration_s": TRAIN_SECONDS, "channels": channels}
        )
    return trains
