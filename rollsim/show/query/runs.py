"""The runs of a result: their histories, how they ended, and which of them are the worst."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from rollsim.errors import REPLAY, Fault, InputError
from rollsim.measures import outcome as outcomes
from rollsim.names import Outcome
from rollsim.show.query import cases
from rollsim.show.query.cases import number, values

if TYPE_CHECKING:
    import xarray as xr

Run = tuple[int, int]
"""A case and a realisation."""


def with_history(ds: xr.Dataset, case: int, runs: Sequence[int]) -> list[int]:
    """Those of the realisations of a case whose histories the result holds."""
    if "roll_angle" not in ds.variables:
        return []
    if "kept" not in ds["roll_angle"].dims:
        return list(runs)
    here = ds["kept_realisation"].values[ds["kept_case"].values == case]
    return [run for run in runs if run in here]


def history(ds: xr.Dataset, name: str, case: int, realisation: int) -> NDArray[np.float64] | None:
    """A history of one run over `t`; None where the result holds none of it."""
    if name not in ds.variables or not with_history(ds, case, [realisation]):
        return None
    stored = values(ds, name, case=case, realisation=realisation).astype(np.float64)
    return stored if np.isfinite(stored).any() else None


SPANS = 1000
"""A line that is drawn with more points than twice this is thinned."""


def thinned(
    t: NDArray[np.float64], values: NDArray[np.float64], spans: int = SPANS
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """A line with no peak lost: of each of `spans` equal spans its least and greatest value.

    Lines of at most twice as many points stay as they are.
    """
    if values.size <= 2 * spans:
        return t, values
    kept: list[int] = []
    for part in np.array_split(np.arange(values.size), spans):
        known = part[np.isfinite(values[part])]
        if known.size == 0:
            known = part[:1]  # a gap stays a gap
        ends = {int(known[pick(values[known])]) for pick in (np.argmin, np.argmax)}
        kept.extend(sorted(ends))
    return t[kept], values[kept]


def outcome_of(ds: xr.Dataset, case: int, realisation: int) -> Outcome:
    """How a run ended."""
    return Outcome(int(values(ds, "outcome", case=case, realisation=realisation)))


def solved(ds: xr.Dataset, case: int) -> NDArray[np.bool_]:
    """Which runs of a case have a result."""
    return outcomes.solved(values(ds, "outcome", case=case))


def random(ds: xr.Dataset, case: int) -> bool:
    """Whether anything differs between the runs of a case; not denied where none is solved."""
    if np.isfinite(number(ds, "failure_probability", case=case)):
        return True
    return not solved(ds, case).any() and cases.random(ds)


NO_RESULT = {Outcome.NOT_RUN: "not run", Outcome.NOT_SOLVED: "not solved"}
"""What a case is called of which no run has a result."""


def without_result(ds: xr.Dataset, case: int) -> str:
    """Why a case has no result at all: "not run" or "not solved"; empty where it has one."""
    if solved(ds, case).any():
        return ""
    codes = values(ds, "outcome", case=case)
    return NO_RESULT[Outcome(int(np.max(codes)))] if codes.size else NO_RESULT[Outcome.NOT_RUN]


def worst_roll(ds: xr.Dataset, case: int) -> NDArray[np.float64]:
    """The roll angle [degree] of greatest size in every run of a case, with its sign."""
    most, least = values(ds, "roll_max", case=case), values(ds, "roll_min", case=case)
    return np.where(np.abs(most) >= np.abs(least), most, least)


def greatest_worst_roll(ds: xr.Dataset, case: int) -> float:
    """The worst roll [degree] of all solved runs of a case, with its sign; NaN without any."""
    roll = worst_roll(ds, case)[solved(ds, case)]
    roll = roll[np.isfinite(roll)]
    return float(roll[np.argmax(np.abs(roll))]) if roll.size else float("nan")


def by_severity(ds: xr.Dataset, case: int, realisations: Sequence[int]) -> list[int]:
    """The solved runs of a case from the worst on."""
    picked = np.asarray(realisations, dtype=int)
    names = ("outcome", "failure_time", "end_time")
    outcome, failure, end = (values(ds, name, case=case)[picked] for name in names)
    order = outcomes.severity(outcome, failure, end, worst_roll(ds, case)[picked])
    return [int(run) for run in picked[order]]


def worst_cases(ds: xr.Dataset, chosen: Sequence[int], count: int) -> list[int]:
    """The `count` worst of the chosen cases, in their own order."""
    if not chosen:
        return []
    outcome = np.array([values(ds, "outcome", case=case) for case in chosen])
    roll = np.array([worst_roll(ds, case) for case in chosen])
    order = outcomes.worst_first(outcomes.tally(outcome, roll, axis=1))
    return sorted(chosen[i] for i in order[:count])


def worst_run(ds: xr.Dataset, chosen: Sequence[int]) -> int:
    """The realisation that is the worst in any of the cases, of those whose histories are kept."""
    runs = list(range(ds.sizes["realisation"]))
    if not any(with_history(ds, case, runs) for case in chosen):
        raise _fault("holds no history", REPLAY)
    for case in chosen:  # all cases are shown in one and the same storm
        runs = with_history(ds, case, runs)
    if not runs:
        hint = f"name one case, or one --realisation; {REPLAY}"
        raise _fault("no storm has its history kept in all of these cases", hint)
    first = [(case, run) for case in chosen for run in by_severity(ds, case, runs)[:1]]
    if not first:
        raise _fault("holds no solved run", "name one by --realisation to see it all the same")
    names = ("outcome", "failure_time", "end_time")
    outcome, failure, end = (
        [number(ds, name, case=case, realisation=run) for case, run in first] for name in names
    )
    roll = [worst_roll(ds, case)[run] for case, run in first]
    return first[int(outcomes.severity(outcome, failure, end, roll)[0])][1]


def _fault(problem: str, hint: str) -> InputError:
    return InputError("", [Fault("--case", problem, hint)])


def outcome_text(ds: xr.Dataset, case: int, realisation: int) -> str:
    """How a run ended, in words, with the time that belongs to it."""
    outcome = outcome_of(ds, case, realisation)
    words = outcome.label.replace("_", " ")
    passed = outcome in (Outcome.ROLL_LIMIT, Outcome.FLOODED)
    time = number(ds, "failure_time" if passed else "end_time", case=case, realisation=realisation)
    if outcome in (Outcome.SURVIVED, Outcome.NOT_RUN) or not np.isfinite(time):
        return words
    return f"{words} at {time:.4g} s"
