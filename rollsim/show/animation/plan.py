"""What an animation shows: which runs, which span of time, how fast, in how many frames."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from rollsim.errors import REPLAY, Fault, InputError
from rollsim.show.query import cases
from rollsim.show.query.runs import Run

if TYPE_CHECKING:
    import xarray as xr

PANELS = ("section", "lever", "history", "phase")
SIDE_BY_SIDE = 3
"""How many cases, and of each how many panels, one picture has room for."""
LENGTH = 30.0
"""How long a film takes at most [s] where no speed is requested."""
MOST_FRAMES = 6000
FASTEST = 8.0
"""Where the program chooses what to show, it goes no faster: a roll must stay visible."""
LEAD = 0.75
"""Share of a chosen span that lies before the moment it is chosen for."""
SIZES = (640, 3840)
SHAPES = (1.3, 1.8)
"""Bounds of the width [pixel], and of the ratio of width to height: 4:3 to 16:9."""


@dataclass(frozen=True)
class Wishes:
    """What the user requested; None is left to the program. Times in s of the run."""

    fps: int = 25
    size: tuple[int, int] = (1280, 720)
    speed: float | None = None
    start: float | None = None
    end: float | None = None
    panels: tuple[str, ...] = ()


@dataclass(frozen=True)
class FilmPlan:
    """What is drawn: `times` [s] of the run frame by frame, `speed` times as fast as true."""

    runs: tuple[Run, ...]
    times: NDArray[np.float64]
    speed: float
    fps: int
    size: tuple[int, int]
    panels: tuple[str, ...]
    whole: tuple[float, float]
    """The time that the runs cover [s]."""


def plan(ds: xr.Dataset, runs: Sequence[Run], wishes: Wishes) -> FilmPlan:
    """Choose what the user left open, refuse what cannot be drawn."""
    panels = _panels(wishes, len(runs))
    _require_size(wishes)
    spans = [_span(ds, run) for run in runs]
    whole = (min(first for first, _ in spans), max(last for _, last in spans))
    start, end, speed = _window(ds, runs, wishes, whole)
    step = speed / wishes.fps
    count = int((end - start) / step * (1.0 + 1e-12)) + 1
    if count >= MOST_FRAMES:
        hint = "ask for a higher --speed, a lower --fps, or less by --from and --to"
        raise _fault("", f"{count} frames; at most {MOST_FRAMES} can be made", hint)
    times = start + step * np.arange(count, dtype=np.float64)
    if end - times[-1] > 1e-9 * max(1.0, end):
        times = np.append(times, end)
    return FilmPlan(tuple(runs), times, speed, wishes.fps, wishes.size, panels, whole)


def _panels(wishes: Wishes, count: int) -> tuple[str, ...]:
    """The panels requested, in the order of `PANELS`."""
    if count > SIDE_BY_SIDE:
        raise _fault("--case", f"{count} cases", f"at most {SIDE_BY_SIDE} go side by side")
    if not wishes.panels:
        return PANELS if count == 1 else PANELS[:3]
    chosen = tuple(name for name in PANELS if name in wishes.panels)
    if count > 1 and len(chosen) > SIDE_BY_SIDE:
        raise _fault("--panels", "too many", f"side by side there is room for {SIDE_BY_SIDE}")
    return chosen


def _require_size(wishes: Wishes) -> None:
    width, height = wishes.size
    shape = width / height
    if width % 2 or height % 2 or not SIZES[0] <= width <= SIZES[1]:
        hint = f"even numbers, the width from {SIZES[0]} to {SIZES[1]}: 1280x720"
        raise _fault("--size", f"cannot draw {width}x{height}", hint)
    if not SHAPES[0] <= shape <= SHAPES[1]:
        raise _fault("--size", f"{width}x{height} has no room", "between 4:3 and 16:9: 1280x720")


def run_numbers(ds: xr.Dataset, run: Run) -> Run:
    """The numbers by which people know a run."""
    return cases.number_of(ds, "case", run[0]), cases.number_of(ds, "realisation", run[1])


def _span(ds: xr.Dataset, run: Run) -> tuple[float, float]:
    """First and last stored moment [s] of a run."""
    roll = cases.values(ds, "roll_angle", case=run[0], realisation=run[1])
    known = np.flatnonzero(np.isfinite(roll))
    if not known.size:
        case, realisation = run_numbers(ds, run)
        raise _fault("", f"case {case}, realisation {realisation} has no history", REPLAY)
    t = np.asarray(ds["t"].values, dtype=float)
    return float(t[known[0]]), float(t[known[-1]])


def _window(
    ds: xr.Dataset, runs: Sequence[Run], wishes: Wishes, whole: tuple[float, float]
) -> tuple[float, float, float]:
    """Start, end [s] and speed, 1, 2, 4 .. where none is requested, so that `LENGTH` is enough.

    Where neither speed nor span is requested and that is faster than `FASTEST`, a part is chosen.
    """
    start = whole[0] if wishes.start is None else max(wishes.start, whole[0])
    end = whole[1] if wishes.end is None else min(wishes.end, whole[1])
    if end < start or (wishes.start or 0.0) > whole[1]:
        hint = f"the run is stored from {whole[0]:g} to {whole[1]:g} s"
        raise _fault("--from, --to", "nothing lies between them", hint)
    if wishes.speed is not None:
        return start, end, wishes.speed
    speed = 2.0 ** max(0, math.ceil(math.log2(max((end - start) / LENGTH, 1e-9)) - 1e-9))
    if speed <= FASTEST or wishes.start is not None or wishes.end is not None:
        return start, end, speed
    span = FASTEST * LENGTH
    first = min(max(_moment(ds, runs) - LEAD * span, whole[0]), whole[1] - span)
    return first, first + span, FASTEST


def _moment(ds: xr.Dataset, runs: Sequence[Run]) -> float:
    """The time [s] that matters most: the first early end of a run, else the greatest roll."""
    t = np.asarray(ds["t"].values, dtype=float)
    early = [end for _, end in (_span(ds, run) for run in runs) if end < t[-1]]
    if early:
        return min(early)
    rolls = [np.abs(cases.values(ds, "roll_angle", case=c, realisation=r)) for c, r in runs]
    return float(t[int(np.nanargmax(np.fmax.reduce(rolls)))])


def speed_text(speed: float) -> str:
    """How fast the picture runs, in words."""
    return "true time" if speed == 1.0 else f"{speed:g} times true time"


def span_text(film: FilmPlan) -> str:
    """What part of the run is shown, by which rule, in words; nothing where it is all of it."""
    start, end = float(film.times[0]), float(film.times[-1])
    words = f"one frame in {film.speed / film.fps:.3g} s"
    if (start, end) == film.whole:
        return f"The whole run, {words}."
    return (
        f"Shown: {start:.4g} to {end:.4g} s of {film.whole[0]:g} to {film.whole[1]:g} s, {words}."
    )


def _fault(key: str, problem: str, hint: str) -> InputError:
    return InputError("", [Fault(key, problem, hint)])
