"""Cross-checks of what happens in time: gusts, events, output."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby, pairwise
from operator import ge, itemgetter, le, lt
from typing import Any

from rollsim.scenario.checks.base import Check, Findings
from rollsim.scenario.checks.parts import Parts, split
from rollsim.scenario.schema.catalogue import entry_at
from rollsim.scenario.schema.events import ValueChange
from rollsim.scenario.schema.units import with_unit
from rollsim.scenario.text.faults import Finding
from rollsim.scenario.text.positions import KeyPath

MOST_OUTPUTS = 5e7
"""Stored points of a run: its times alone take 0.4 GB."""
CHANGE_WARNED = 0.05
"""Share of the displacement beyond which a change by events is warned of."""


def output_step(parts: Parts) -> Findings:
    """At least one step of output fits into a run, and no more than a machine can hold."""
    step, duration = parts("run.output_step_s"), parts("run.duration_s")
    if step > duration:
        problem = f"must be at most {duration:g} s (duration_s), got {step:g}"
        hint = "time between stored points in seconds"
        yield Finding(split("run.output_step_s"), problem, hint, (split("run.duration_s"),))
    elif duration / step > MOST_OUTPUTS:
        least = duration / MOST_OUTPUTS
        problem = f"must be at least {least:g} s (duration_s ÷ {MOST_OUTPUTS:.0e}), got {step:g}"
        hint = "time between stored points in seconds"
        yield Finding(split("run.output_step_s"), problem, hint, (split("run.duration_s"),))


def until_goes_on(parts: Parts) -> Findings:
    """The counting may not end before the first batch does."""
    until, first = parts("run.until"), parts("run.realisations")
    if until is not None and until.most < first:
        problem = f"must be at least {first} (realisations, the first batch), got {until.most}"
        yield Finding(split("run.until.most"), problem, "", (split("run.realisations"),))


def gusts_apart(parts: Parts) -> Findings:
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


def weight_left(parts: Parts) -> Findings:
    """Removed weights leave her something to float with."""
    displacement = parts("ship.displacement_t")
    for index, change in displacement_changes(parts("events")):
        if displacement + change <= 0.0:
            path = split(f"events.{index}.mass_t")
            problem = f"leaves a displacement of {displacement + change:g} t"
            hint = f"she displaces {displacement:g} t before the events"
            yield Finding(path, problem, hint, (split("events"), split("ship.displacement_t")))
            return


def displacement_changes(events: tuple[Any, ...]) -> Iterator[tuple[int, float]]:
    """The change of displacement [t] wherever an event begins or ends, and that event's position.

    Between these times it runs straight, so they hold its extremes.
    """
    signs = {"add-weight": 1.0, "remove-weight": -1.0}
    weights = {i: (e, signs[e.kind] * e.mass_t) for i, e in enumerate(events) if e.kind in signs}
    times = sorted({(t, i) for i, (e, _) in weights.items() for t in (e.at_s, e.at_s + e.over_s)})
    complete, rate, offset = 0.0, 0.0, 0.0  # what is grown, and rate · t - offset that grows
    growing: set[int] = set()
    for time, at_once in groupby(times, key=itemgetter(0)):
        indices = [index for _, index in at_once]
        for index in indices:
            event, mass = weights[index]
            ends, grows = time >= event.at_s + event.over_s, index in growing
            if ends:
                complete += mass
                growing.discard(index)
            else:
                growing.add(index)
            if ends is grows:  # not for a sudden event, which never grows
                sign = -1.0 if ends else 1.0
                rate += sign * mass / event.over_s
                offset += sign * mass * event.at_s / event.over_s
        if not growing:
            rate = offset = 0.0
        for index in indices:
            yield index, complete + rate * time - offset


def displacement_changed(parts: Parts) -> Findings:
    """KN, k and b1 to b3 stay as they are, which holds for small changes of displacement alone."""
    displacement = parts("ship.displacement_t")
    changes = [(abs(change), index) for index, change in displacement_changes(parts("events"))]
    worst, index = max(changes, default=(0.0, 0))
    if worst > CHANGE_WARNED * displacement:
        share = 100.0 * worst / displacement
        problem = f"events change the displacement by {share:.3g} %, beyond 5 %"
        hint = "the levers, the gyradius and the damping stay those of the file"
        causes = (split("events"), split("ship.displacement_t"))
        yield Finding(split(f"events.{index}.mass_t"), problem, hint, causes)


def begins_in_the_run(parts: Parts) -> Findings:
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


def changes_apart(parts: Parts) -> Findings:
    """Changes of one key follow each other: the next begins when the one before has come about."""
    last: dict[str, ValueChange] = {}
    changes = [(i, e) for i, e in enumerate(parts("events")) if isinstance(e, ValueChange)]
    for index, event in sorted(changes, key=lambda change: change[1].at_s):
        before = last.get(event.key)
        last[event.key] = event
        if before is None:
            continue
        end = before.at_s + before.over_s
        if event.at_s < end or event.at_s == before.at_s:
            problem = f"begins at {event.at_s:g} s, and the change before ends at {end:g} s"
            hint = f"changes of {event.key} may not overlap"
            yield Finding(split(f"events.{index}.at_s"), problem, hint, (split("events"),))


def changed_values(parts: Parts) -> Findings:
    """What a change comes to lies within the bounds of its key, and the key has its table."""
    for index, event in enumerate(parts("events")):
        if not isinstance(event, ValueChange):
            continue
        path = split(f"events.{index}")
        if problem := _beyond_bounds(event):
            entry = entry_at(split(event.key))
            yield Finding((*path, "to"), problem, entry.description if entry else "")
        if event.key == "wind.speed_mps" and not parts.given("wind"):
            hint = "add the table [wind] with speed_mps and from"
            yield Finding((*path, "key"), "needs [wind]", hint, (split("wind"),))
        if event.key == "sea.height_m":
            yield from _height_changes(parts, event, path)


def _height_changes(parts: Parts, event: ValueChange, path: KeyPath) -> Findings:
    kind = parts("sea.kind")
    if kind != "regular":
        hint = "the height of a regular sea alone may change in time"
        problem = f'"sea.height_m" needs a regular sea, got "{kind}"'
        yield Finding((*path, "key"), problem, hint, (split("sea"),))
    if event.over_s == 0.0:
        hint = "a sudden change of the slope would be an infinite acceleration of the water"
        problem = 'must be above 0 s for "sea.height_m", got 0'
        yield Finding((*path, "over_s"), problem, hint)


def _beyond_bounds(event: ValueChange) -> str:
    """What is wrong with the value of a change; a wave may die down to 0."""
    entry = entry_at(split(event.key))
    for bound in entry.field.metadata if entry else ():
        above, least = getattr(bound, "gt", None), getattr(bound, "ge", None)
        below = getattr(bound, "lt", None)
        if event.key == "sea.height_m" and above is not None:
            above, least = None, above
        for limit, word, refuses in (
            (above, "above", le),
            (least, "at least", lt),
            (below, "below", ge),
        ):
            if limit is not None and refuses(event.to, limit):
                return f"must be {word} {with_unit(limit, event.key)}, got {event.to:g}"
    return ""


CHANGED_WITHIN = (
    ("ship.gravity.kg_m", 2.0, "twice the beam"),
    ("ship.gravity.off_centre_m", 0.5, "half the beam"),
)


def changed_sizes(parts: Parts) -> Findings:
    """A changed G stays as near to the ship as a given one must."""
    events, beam = parts("events"), parts("ship.beam_m")
    for index, event in enumerate(events):
        for key, factor, words in CHANGED_WITHIN:
            if (
                isinstance(event, ValueChange)
                and event.key == key
                and (abs(event.to) >= factor * beam)
            ):
                bound = with_unit(factor * beam, key)
                problem = f"must lie within ±{bound} ({words}), got {event.to:g}"
                path = split(f"events.{index}.to")
                yield Finding(path, problem, "in metres", (split("ship.beam_m"),))


TIME_CHECKS: tuple[Check, ...] = (
    output_step,
    until_goes_on,
    gusts_apart,
    weight_left,
    changes_apart,
    changed_values,
    changed_sizes,
)
TIME_WARNINGS: tuple[Check, ...] = (displacement_changed, begins_in_the_run)
