"""The severity factors of a result: what was searched for, the samples, and loadings compared."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import combinations
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from rollsim.measures import severity as measures
from rollsim.measures.severity import LOW_QUANTILE, Quantile, Ratio
from rollsim.show.query import cases

if TYPE_CHECKING:
    import xarray as xr

    from rollsim.show.query.lineup import Group

Floats = NDArray[np.float64]

WHAT = {"waves": "the waves", "wind": "the wind", "weather": "waves and wind"}
"""What a factor multiplies, in words."""
VERBS = {"capsize": "capsizes", "failure": "fails"}


class Asked(NamedTuple):
    """What the severity factors of a result are: `on` what, `of` which event, from `first` to
    `last`."""

    on: str
    of: str
    first: float
    last: float

    @property
    def tried(self) -> tuple[float, float]:
        """The least and the greatest factor of the search."""
        return self.first, self.last

    @property
    def meaning(self) -> str:
        """What the factor is, in a sentence."""
        return (
            f"Severity factor: by how much {WHAT.get(self.on, self.on)} of this very storm must be "
            f"multiplied until she {VERBS.get(self.of, 'fails')}; above 1 there is a margin. "
            f"Searched from {self.first:g} to {self.last:g}."
        )


def asked(ds: xr.Dataset) -> Asked | None:
    """What the severity factors of a result are; None where it holds none."""
    if "severity_found" not in ds.variables or not cases.values(ds, "severity_found").any():
        return None
    on, of = (str(ds.attrs.get(f"severity_{name}", "")) for name in ("on", "of"))
    ends = [ds.attrs.get(f"severity_{end}") for end in ("from", "to")]
    first, last = (float(end) if isinstance(end, float) else math.nan for end in ends)
    # Another hand may have been at the attributes.
    return Asked(on, of, first, last) if 0.0 < first < last < math.inf else None


def sample(ds: xr.Dataset, case: int) -> Floats:
    """The factors of a case that have an answer, ±inf beyond the range.

    One where nothing is random.
    """
    factor, found = (
        cases.values(ds, f"severity_{name}", case=case) for name in ("factor", "found")
    )
    known = measures.extended(factor, found)
    return known if is_random(ds, case) else known[:1]


def is_random(ds: xr.Dataset, case: int) -> bool:
    """Whether the runs of a case differ, so that its factors are a sample."""
    return bool(np.isfinite(cases.number(ds, "failure_probability", case=case)))


def middle(ds: xr.Dataset, case: int) -> Quantile:
    """The median factor of a case with its limits; without limits where nothing is random."""
    return measures.quantile(sample(ds, case), 0.5)


def low(ds: xr.Dataset, case: int) -> Quantile:
    """The 5 % quantile of a case's factors with its limits."""
    return measures.quantile(sample(ds, case), LOW_QUANTILE)


def text(value: float, tried: tuple[float, float]) -> str:
    """A factor in a few characters: beyond the range it is known to be above or below its end."""
    if math.isnan(value):
        return "–"
    if math.isinf(value):
        return f"> {tried[1]:g}" if value > 0.0 else f"< {tried[0]:g}"
    return f"{value:.3f}" if value < 0.1 else beside_one(value)


MOST_DECIMALS = 6


def beside_one(*values: float) -> str:
    """Values written alike, of two decimals or as many as tell each from 1, with commas between.

    Which side of 1 a factor, a ratio or its limit lies on is the answer: 0.998 is no 1.00.
    """
    near = [value for value in values if value != 1.0 and not math.isnan(value)]
    digits = next(
        (d for d in range(2, MOST_DECIMALS) if all(round(value, d) != 1.0 for value in near)),
        MOST_DECIMALS,
    )
    return ", ".join("–" if math.isnan(value) else f"{value:.{digits}f}" for value in values)


def quantile_text(value: Quantile, tried: tuple[float, float]) -> str:
    """A quantile with its limits, never without a word on them."""
    middle, lower, upper = (text(each, tried) for each in value)
    return middle if math.isnan(value.value) else f"{middle} [{lower}, {upper}]"


def run_text(ds: xr.Dataset, case: int, run: int) -> str:
    """The factor of one run and on what it is: "1.25 × the waves"; empty where there is none."""
    search = asked(ds)
    if search is None:
        return ""
    factor, code = (
        cases.values(ds, f"severity_{name}", case=case, realisation=run).reshape(1)
        for name in ("factor", "found")
    )
    known = measures.extended(factor, code)
    if not known.size:
        return ""
    return f"{text(float(known[0]), search.tried)} × {WHAT.get(search.on, search.on)}"


class Weak(NamedTuple):
    """A run among the weakest: its case, realisation, factor (extended) and islands."""

    case: int
    realisation: int
    factor: float
    islands: int


def weakest(ds: xr.Dataset, chosen: Sequence[int], most: int) -> list[Weak]:
    """The runs of least factor of the chosen cases, from the weakest on."""
    found = []
    for case in chosen:
        factor, code, islands = (
            cases.values(ds, f"severity_{name}", case=case)
            for name in ("factor", "found", "islands")
        )
        which = np.flatnonzero(measures.answered(code))
        which = which if is_random(ds, case) else which[:1]
        known = measures.extended(factor, code)
        found += [
            Weak(case, int(run), float(value), int(islands[run]))
            for run, value in zip(which, known, strict=False)
        ]
    return sorted(found, key=lambda run: run.factor)[:most]


class Compared(NamedTuple):
    """Loadings `a` and `b` of a group of loadings, by the ratio of their factors."""

    a: int
    b: int
    ratio: Ratio

    def words(self, a: str, b: str) -> str:
        """Which of the two stands more, or that no difference is shown."""
        if not self.ratio.pairs:
            return "not compared, no storm in which both have an answer"
        if not self.ratio.shown:
            return "no difference shown"
        more, less = (a, b) if self.ratio.lower > 1.0 else (b, a)
        return f"{more} stands more than {less}"


def compared(group: Group) -> list[Compared]:
    """Every loading of a group against every other, over the storms that both have met.

    Empty where nothing is random or the loadings were not searched alike.
    """
    searches = [asked(each.ds) for each in group.loadings]
    first = searches[0]
    if not group.random or first is None or any(search != first for search in searches):
        return []
    found = [
        tuple(
            cases.values(each.ds, f"severity_{name}", case=each.case)
            for name in ("factor", "found")
        )
        for each in group.loadings
    ]
    result = []
    for a, b in combinations(range(len(found)), 2):
        common = min(found[a][0].size, found[b][0].size)
        one, other = ((found[i][0][:common], found[i][1][:common]) for i in (a, b))
        result.append(Compared(a, b, measures.ratio(one, other, first.tried)))
    return result


def ratio_text(ratio: Ratio) -> str:
    """A median ratio with its limits; where censored factors leave it open, within what it lies."""
    if not ratio.pairs:
        return "–"
    known = not math.isnan(ratio.value)
    ends = [ratio.value] if known else [ratio.least, ratio.most]
    open_below, open_above = not known and ratio.least <= 0.0, math.isinf(ends[-1])
    if open_below and open_above:
        return "–"
    ends = ends[1:] if open_below else ends[:1] if open_above else ends
    *values, lower, upper = beside_one(*ends, ratio.lower, ratio.upper).split(", ")
    sign = "< " if open_below else "> " if open_above else ""
    return f"{sign}{' to '.join(values)} [{lower}, {upper}]"
