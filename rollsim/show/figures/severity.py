"""How much stronger the weather must be until she fails: the distribution of severity factors over
storms, and the fragility that it is, over the height of the waves or the speed of the wind.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import partial
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.gridspec import GridSpec
from matplotlib.lines import Line2D
from numpy.typing import NDArray

from rollsim.errors import Fault, InputError
from rollsim.measures.fragility import Fragility, fragility, lognormal
from rollsim.measures.severity import LOW_QUANTILE
from rollsim.show import style
from rollsim.show.query import cases, inputs, severity
from rollsim.show.query.lineup import Group, Loading, Source, line_up
from rollsim.show.query.severity import Asked

if TYPE_CHECKING:
    import xarray as xr

PANELS = 6
ACROSS = 2
POINTS = 241
FILLED = 3
"""Bands that can be filled over each other and still be told apart."""
FIT: dict[str, Any] = {"linestyle": (0, (1, 1)), "linewidth": 1.6}
AS_IT_IS: dict[str, Any] = {
    "color": style.INK, "linestyle": (0, (8, 3, 1, 3)), "linewidth": 1.2,
}  # fmt: skip
ABSENT = 'add a table [severity] to the scenario and run it again: with on = "waves", say'


class Measure(NamedTuple):
    """What stands along an axis: its label, and what a factor of 1 is of a loading."""

    label: str
    of: Callable[[Loading], float]


def severity_figure(ds: xr.Dataset) -> Figure:
    """The distribution of the severity factors of a result, a line a case."""
    return severity_of(_groups(ds), cases.title(ds))


def fragility_figure(ds: xr.Dataset) -> Figure:
    """The probability of failing over the significant height or the wind speed."""
    groups = _groups(ds)
    if not any(group.random for group in groups):
        hint = "--what severity draws the factors themselves"
        raise InputError("", [Fault("", "nothing is random here: no probability to draw", hint)])
    return fragility_of(groups, cases.title(ds))


def searched(groups: Sequence[Group]) -> list[Group]:
    """The groups of which every loading has severity factors."""
    return [group for group in groups if all(severity.asked(each.ds) for each in group.loadings)]


def _groups(ds: xr.Dataset) -> list[Group]:
    groups = searched(line_up([Source(ds)]))
    if not groups:
        raise InputError("", [Fault("", "holds no severity factors", ABSENT)])
    return groups


@style.styled
def severity_of(groups: Sequence[Group], title: str = "") -> Figure:
    """The share of storms in which she has failed, over the factor on the weather."""
    asked = _asked(groups)
    factor = Measure(f"factor on {severity.WHAT.get(asked.on, asked.on)} of each storm [–]", _one)
    return _drawn(groups, title, "severity factors", factor, fitted=False)


@style.styled
def fragility_of(groups: Sequence[Group], title: str = "") -> Figure:
    """The probability that she fails in one run, over how severe its weather is."""
    return _drawn(groups, title, "fragility", measure_of(groups), fitted=True)


def measure_of(groups: Sequence[Group]) -> Measure:
    """What a factor is a multiple of: the significant height, a regular wave's, the wind speed; the
    factor itself where that is not one number of every loading."""
    asked = _asked(groups)
    for on, label, table, key in (
        ("waves", "significant height, same period [m]", "sea", "significant_height_m"),
        ("waves", "height of the regular waves, same period [m]", "sea", "height_m"),
        ("wind", "mean wind speed [m/s]", "wind", "speed_mps"),
    ):
        found = [_given(each, table, key) for group in groups for each in group.loadings]
        if on == asked.on and all(math.isfinite(value) and value > 0.0 for value in found):
            return Measure(label, partial(_given, table=table, key=key))
    return Measure(f"factor on {severity.WHAT.get(asked.on, asked.on)} [–]", _one)


def _one(_: Loading) -> float:
    return 1.0


def _given(loading: Loading, table: str, key: str) -> float:
    """A number of the case's weather as written; NaN where there is none."""
    whole = inputs.of_case(loading.ds, loading.case).get(table)
    value = whole.get(key) if isinstance(whole, dict) else None
    return float(value) if isinstance(value, (int, float)) else math.nan


def _asked(groups: Sequence[Group]) -> Asked:
    found = severity.asked(groups[0].loadings[0].ds)
    assert found is not None
    return found


def _drawn(
    groups: Sequence[Group], title: str, what: str, measure: Measure, *, fitted: bool
) -> Figure:
    """A panel for each circumstance, with a line for each loading."""
    shown = groups[:PANELS]
    handles = _legend(shown, measure, fitted=fitted)
    strip = style.strip_height(handles)
    across = min(ACROSS, len(shown))
    rows = -(-len(shown) // across)
    tall = 4.6 if rows == 1 else 3.4
    figure = style.new_figure(
        title,
        what,
        notes=_notes(groups, shown, fitted=fitted),
        loll=any(cases.has_loll(e.ds, [e.case]) for group in shown for e in group.loadings),
        height=2.2 + tall * rows + strip,
    )
    grid = GridSpec(rows + 1, across, figure, height_ratios=[tall] * rows + [strip])
    first: Axes | None = None
    for i, group in enumerate(shown):
        name = style.literal(group.circumstances, 50) if len(groups) > 1 else ""
        axes = style.panel(figure, grid[divmod(i, across)], name, sharex=first, sharey=first)
        first = first or axes
        filled = len(group.loadings) <= FILLED
        for line, loading in enumerate(group.loadings[: style.LINES]):
            _draw(axes, loading, style.cue(line), measure, fitted=fitted, filled=filled)
        _marks(axes, group, measure)
        axes.set_ylabel(_ordinate(group, fitted=fitted))
        axes.set_xlabel(measure.label)
        axes.set_ylim(-0.03, 1.03)
    style.legend_strip(figure, grid[rows, :], handles)
    return figure


def _ordinate(group: Group, *, fitted: bool) -> str:
    asked = _asked([group])
    fails = "capsizes" if asked.of == "capsize" else "fails"
    if fitted:
        return f"probability that she\n{fails} in one run [–]"
    return f"share of storms in which\nshe {fails} by then [–]"


def curve_of(loading: Loading) -> Fragility:
    """The fragility of a loading over the factors of its search."""
    asked = severity.asked(loading.ds)
    assert asked is not None
    known = severity.sample(loading.ds, loading.case)
    inside = known[np.isfinite(known)]
    even = np.linspace(asked.first, asked.last, POINTS)
    # A step stands where it is: each factor, and just before it.
    at = np.unique(np.concatenate((even, inside, np.nextafter(inside, 0.0))))
    return fragility(known, at[(at >= asked.first) & (at <= asked.last)])


def _draw(
    axes: Axes,
    loading: Loading,
    cue: dict[str, Any],
    measure: Measure,
    *,
    fitted: bool,
    filled: bool,
) -> None:
    asked = severity.asked(loading.ds)
    known = severity.sample(loading.ds, loading.case)
    if asked is None or not known.size:
        return
    unit = measure.of(loading)
    curve = curve_of(loading)
    x: NDArray[np.float64] = unit * curve.factor
    colour = str(cue["color"])
    if severity.is_random(loading.ds, loading.case):
        if filled:
            axes.fill_between(x, curve.lower, curve.upper, color=colour, alpha=0.14, linewidth=0.0)
        for limit in (curve.lower, curve.upper):
            axes.plot(x, limit, **cue | {"linewidth": 0.7})
    axes.plot(x, curve.share, **cue, linewidth=2.4)
    law = lognormal(known, asked.tried) if fitted else None
    if law is not None:
        axes.plot(x, law.share(curve.factor), color=colour, **FIT)


def _marks(axes: Axes, group: Group, measure: Measure) -> None:
    """The weather as it is, where that is one place, and the median and the low quantile."""
    places = {measure.of(loading) for loading in group.loadings}
    if len(places) == 1:
        axes.axvline(places.pop(), **AS_IT_IS)
    for share in (LOW_QUANTILE, 0.5):
        axes.axhline(share, color=style.FAINT, linewidth=0.8, linestyle=(0, (5, 3)))


def _legend(groups: Sequence[Group], measure: Measure, *, fitted: bool) -> list[Line2D]:
    named = {
        (i, loading.name): None
        for group in groups
        for i, loading in enumerate(group.loadings[: style.LINES])
    }
    handles = [Line2D([], [], **style.cue(i), label=style.literal(name, 44)) for i, name in named]
    fits = fitted and any(
        lognormal(severity.sample(each.ds, each.case), _asked([group]).tried)
        for group in groups
        for each in group.loadings
    )
    if fits:
        label = "lognormal, censored maximum likelihood"
        handles.append(Line2D([], [], label=label, color=style.INK, **FIT))
    if any(len({measure.of(each) for each in group.loadings}) == 1 for group in groups):
        handles.append(Line2D([], [], label="the weather as it is", **AS_IT_IS))
    return handles


def _notes(groups: Sequence[Group], shown: Sequence[Group], *, fitted: bool) -> list[str]:
    asked = _asked(groups)
    what = severity.WHAT.get(asked.on, asked.on)
    notes = [
        f"Each storm with {what} multiplied until she first "
        f"{'capsizes' if asked.of == 'capsize' else 'fails'}, searched from {asked.first:g} to "
        f"{asked.last:g}. Thin lines: 95 % limits whatever the distribution is (Clopper-Pearson), "
        f"each place by itself. Dashed across: {100 * LOW_QUANTILE:g} % and 50 %."
    ]
    if fitted:
        steep = "The period stays that of the scenario: much higher seas are steeper than seas get."
        notes.append(steep if asked.on == "waves" else "")
    every = [each for group in shown for each in group.loadings]
    islands = sum(
        int(np.count_nonzero(cases.values(each.ds, "severity_islands", case=each.case) > 0))
        for each in every
    )
    if islands:
        runs = sum(severity.sample(each.ds, each.case).size for each in every)
        notes.append(
            f"In {islands} of {runs} runs she survives again above her factor (islands): counting "
            "there finds fewer failures."
        )
    if len(shown) < len(groups):
        notes.append(f"Shown: the first {len(shown)} of {len(groups)} circumstances.")
    most = max(len(group.loadings) for group in shown)
    if most > style.LINES:
        notes.append(f"Shown: the first {style.LINES} of {most} loadings.")
    return [" ".join(note for note in notes if note)]
