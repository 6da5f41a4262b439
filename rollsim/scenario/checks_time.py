"""Cross-checks of what happens in time: gusts, events, output."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import pairwise
from typing import Any

from rollsim.scenario.faults import Finding
from rollsim.scenario.parts import Parts, split

Found = Iterator[Finding]

CHANGE_WARNED = 0.05
"""Share of the displacement beyond which a change by events is warned of."""


def output_step(parts: Parts) -> Found:
    """At least one step of output fits into a run."""
    step, duration = parts("run.output_step_s"), parts("run.duration_s")
    if step > duration:
        problem = f"must be at most {duration:g} s (duration_s), got {step:g}"
        hint = "time between stored points in seconds"
        yield Finding(split("run.output_step_s"), problem, hint, (split("run.duration_s"),))


def until_goes_on(parts: Parts) -> Found:
    """The counting may not end before the first batch does."""
    until, first = parts("run.until"), parts("run.realisations")
    if until is not None and until.most < first:
        problem = f"must be at least {first} (realisations, the first batch), got {until.most}"
        yield Finding(split("run.until.most"), problem, "", (split("run.realisations"),))


def gusts_apart(parts: Parts) -> Found:
    """A gust begins after the one before has gone: at + rise + hold + rise."""
    wind = parts("wind")
    if wind is None:
        return
    order = sorted(range(len(wind.gust)), key=lambda index: wind.gust[index].at_s)
    for before, after in pairwise(order):
        first, second = wind.gust[before], wind.gust[after]
        end = first.at_s + 2.0 * first.rise_s + first.hold_s
        if second.at_s < end:
            path = split(f"wind.gust.{after}.at_s")
            problem = f"begins at {second.at_s:g} s, in the gust that ends at {end:g} s"
            hint = "a gust lasts rise_s + hold_s + rise_s; gusts may not overlap"
            yield Finding(path, problem, hint, (split(f"wind.gust.{before}"), split("wind.gust")))


def weight_left(parts: Parts) -> Found:
    """Removed weights leave her something to float with."""
    displacement = parts("ship.displacement_t")
    for index, change in _changes(parts("events")):
        if displacement + change <= 0.0:
            path = split(f"events.{index}.mass_t")
            problem = f"leaves a displacement of {displacement + change:g} t"
            hint = f"she displaces {displacement:g} t before the events"
            yield Finding(path, problem, hint, (split("events"), split("ship.displacement_t")))
            return


def _changes(events: tuple[Any, ...]) -> Iterator[tuple[int, float]]:
    """The change of displacement [t] wherever an event begins or ends, and that event's position.

    Between these times it runs straight, so they hold its extremes.
    """
    signs = {"add-weight": 1.0, "remove-weight": -1.0}
    weights = [(index, e) for index, e in enumerate(events) if e.kind in signs]
    times = sorted(
        {(t, index) for index, e in weights for t in (e.at_s, e.at_s + e.over_s)},
    )
    for time, index in times:
        yield index, sum(signs[e.kind] * e.mass_t * _grown(e, time) for _, e in weights)


def _grown(event: Any, time: float) -> float:
    """The share of an event that has come about at `time` [s]."""
    if event.over_s == 0.0:
        return 1.0 if time >= event.at_s else 0.0
    share: float = (time - event.at_s) / event.over_s
    return min(max(share, 0.0), 1.0)


def displacement_changed(parts: Parts) -> Found:
    """KN, k and b1 to b3 stay as they are, which holds for small changes of displacement alone."""
    displacement = parts("ship.displacement_t")
    found = [(abs(change), index) for index, change in _changes(parts("events"))]
    worst, index = max(found, default=(0.0, 0))
    if worst > CHANGE_WARNED * displacement:
        share = 100.0 * worst / displacement
        problem = f"events change the displacement by {share:.3g} %, beyond 5 %"
        hint = "the levers, the gyradius and the damping stay those of the file"
        causes = (split("events"), split("ship.displacement_t"))
        yield Finding(split(f"events.{index}.mass_t"), problem, hint, causes)


def begins_in_the_run(parts: Parts) -> Found:
    """What begins after the end never happens."""
    duration = parts("run.duration_s")
    wind = parts("wind")
    begun = {f"events.{i}": event.at_s for i, event in enumerate(parts("events"))}
    begun |= {f"wind.gust.{i}": gust.at_s for i, gust in enumerate(wind.gust if wind else ())}
    for key, time in begun.items():
        if time >= duration:
            problem = f"begins at {time:g} s, and the run ends at {duration:g} s"
            hint = "it never happens"
            yield Finding(split(f"{key}.at_s"), problem, hint, (split("run.duration_s"),))


TIME_CHECKS: tuple[Callable[[Parts], Found], ...] = (
    output_step,
    until_goes_on,
    gusts_apart,
    weight_left,
)
TIME_WARNINGS: tuple[Callable[[Parts], Found], ...] = (displacement_changed, begins_in_the_run)
