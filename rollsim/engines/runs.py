"""Finished runs: what every engine gives, and its one conversion to the units of the result."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from rollsim.engines.limits import ROUNDING, Limits
from rollsim.measures.margins import limit_margin
from rollsim.names import RUN, SEARCHED, VARIABLES, Outcome

Floats = NDArray[np.float64]

HISTORIES = ("roll_angle", "roll_rate", "wave_slope", "heeling_lever")
"""The histories of a run, in the order in which `Runs.histories` holds them."""

NUMBERS = tuple(
    name for name, variable in VARIABLES.items() if variable.dims == RUN and name not in SEARCHED
)
"""The variables that every run has one value of."""


@dataclass(frozen=True, eq=False)
class Runs:
    """Some runs of one case: `numbers` (n,) by the names in NUMBERS.

    `histories` (4, n, outputs) float32, NaN after a run's end; without outputs where not kept.
    """

    numbers: dict[str, NDArray[Any]]
    histories: NDArray[np.float32]

    def __len__(self) -> int:
        return int(self.numbers["outcome"].size)

    def repeated(self, count: int) -> Runs:
        """The one run of these, `count` times over."""
        numbers = {name: np.repeat(values, count) for name, values in self.numbers.items()}
        return Runs(numbers, np.repeat(self.histories, count, axis=1))


def joined(parts: Sequence[Runs]) -> Runs:
    """Several runs of one case, one behind the other."""
    if len(parts) == 1:
        return parts[0]
    numbers = {name: np.concatenate([part.numbers[name] for part in parts]) for name in NUMBERS}
    return Runs(numbers, np.concatenate([part.histories for part in parts], axis=1))


@dataclass(frozen=True, eq=False)
class Measured:
    """Finished runs as an engine sees them: arrays (n,) in radians and seconds, NaN where none.

    `passed` (3, n) are the first counted passings of roll, flooding and capsize limit; `early`
    tells that a limit was passed before settle. `heel_most` is the greatest |ψ|, `energy` the
    greatest E/E_b, `roll_mean` and `roll_square` time averages of φ and φ², `end_heel` ψ at
    `end_time`, `to_port` and `to_starboard` the time on each side. `histories` (4, outputs, n):
    roll, rate, slope [rad], lever [m], good up to then.
    """

    roll_max: Floats
    roll_min: Floats
    heel_most: Floats
    passed: Floats
    early: NDArray[np.bool_]
    end_time: Floats
    end_heel: Floats
    energy: Floats
    roll_mean: Floats
    roll_square: Floats
    upcrossings: Floats
    side_changes: Floats
    changes_to_starboard: Floats
    to_port: Floats
    to_starboard: Floats
    message: NDArray[Any]
    histories: NDArray[np.float32]


def put_together(parts: Sequence[Measured]) -> Measured:
    """Several blocks of runs, one behind the other."""
    if len(parts) == 1:
        return parts[0]
    names = Measured.__dataclass_fields__
    return Measured(
        **{name: np.concatenate([getattr(p, name) for p in parts], axis=-1) for name in names}
    )


def arranged(parts: Sequence[Measured], places: Sequence[NDArray[np.intp]]) -> Measured:
    """Parts of a list of runs put together, each run at its place in the list."""
    whole = put_together(parts)
    if len(parts) == 1:
        return whole
    order = np.argsort(np.concatenate(places))
    names = Measured.__dataclass_fields__
    return Measured(**{name: getattr(whole, name)[..., order] for name in names})


def replaced(whole: Measured, which: NDArray[np.intp], part: Measured) -> Measured:
    """`whole` with the runs at the places `which` taken from `part`."""
    values = {}
    for name in Measured.__dataclass_fields__:
        values[name] = getattr(whole, name).copy()
        values[name][..., which] = getattr(part, name)
    return Measured(**values)


def in_units(measured: Measured, limits: Limits, times: Floats) -> Runs:
    """Runs in the units of the result; `times` [s] are those of the histories."""
    passed = np.where(np.isnan(measured.passed), math.inf, measured.passed)
    outcome = np.full(measured.end_time.size, Outcome.SURVIVED, dtype=np.int8)
    codes = (Outcome.ROLL_LIMIT, Outcome.FLOODED, Outcome.CAPSIZED)
    for code, row in zip(codes, passed, strict=True):
        outcome[np.isfinite(row)] = code
    outcome[measured.message != ""] = Outcome.NOT_SOLVED
    first = passed.min(axis=0)
    mean = measured.roll_mean
    variance = np.maximum(measured.roll_square - mean**2, 0.0)
    numbers = {
        "outcome": outcome,
        "failed_before_settle": measured.early.astype(np.int8),
        "failure_time": np.where(np.isfinite(first), first, math.nan),
        "roll_limit_time": measured.passed[0],
        "flooding_time": measured.passed[1],
        "capsize_time": measured.passed[2],
        "end_time": measured.end_time,
        "message": measured.message,
        "roll_max": np.degrees(measured.roll_max),
        "roll_min": np.degrees(measured.roll_min),
        "limit_margin": _limit_margin(measured, limits),
        "energy_margin": 1.0 - measured.energy,
        "roll_mean": np.degrees(mean),
        "roll_std": np.degrees(np.sqrt(variance)),
        "upcrossings": measured.upcrossings,
        "side_changes": measured.side_changes,
        "side_changes_to_starboard": measured.changes_to_starboard,
        "time_to_port": measured.to_port,
        "time_to_starboard": measured.to_starboard,
    }
    return Runs(
        {
            name: values.astype(_kind(name), copy=False)
            for name, values in numbers.items()
            if name in NUMBERS
        },
        _histories(measured, times),
    )


def _kind(name: str) -> Any:
    kind = VARIABLES[name].dtype
    return object if kind == "str" else kind


def _limit_margin(measured: Measured, limits: Limits) -> Floats:
    """The margin to the limits; a capsize counts at any time.

    What passed a limit by less than rounding has no margin either.
    """
    roll = np.fmax(measured.roll_max, -measured.roll_min)
    reached = np.stack([roll, measured.heel_most], axis=-1)
    margin = limit_margin(reached, [min(limits.roll, limits.capsize), limits.heel])
    passed = np.isfinite(measured.passed).any(axis=0)
    return np.where(passed, np.fmin(margin, 0.0), margin)


def _histories(measured: Measured, times: Floats) -> NDArray[np.float32]:
    histories = measured.histories.transpose(0, 2, 1).copy()
    if histories.shape[2]:
        # The last output may stand a rounding error past the end of the run.
        after = times > measured.end_time[:, None] * (1.0 + ROUNDING)
        histories[:, after] = math.nan
        # A run that could not be solved may stand at any number at all.
        with np.errstate(over="ignore"):
            histories[:3] = np.degrees(histories[:3])
    return histories
