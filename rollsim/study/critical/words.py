"""What is told of an answer besides its numbers."""

from __future__ import annotations

import math
from collections.abc import Iterator

from rollsim.map_names import Search
from rollsim.measures.outcome import Event
from rollsim.measures.probability import clopper_pearson
from rollsim.scenario.schema.units import with_unit
from rollsim.study.critical.trials import Answer, Question, Trial


def note(question: Question, answer: Answer, key: str, event: Event) -> str:
    """All that a reader of the value must know, in one line; empty where there is nothing."""
    parts = [*_without_value(question, answer, key, event), *_unsolved(answer)]
    if answer.search == Search.FOUND:
        parts = [*_imprecise(question, answer, key), *_not_monotone(answer, key), *parts]
    return "; ".join(parts)


def _without_value(q: Question, answer: Answer, key: str, event: Event) -> Iterator[str]:
    if answer.search == Search.NOT_PASSED:
        yield f"{ends(q, answer, key, event)}: {way_out(q, answer, key)}"
    elif answer.search == Search.UNDECIDED:
        yield (
            f"{ends(q, answer, key, event)}; too few runs to tell on which side the ends lie: "
            f"take them farther apart, or allow more runs, most = {10 * q.most}"
        )
    elif answer.search == Search.NOT_SOLVED:
        yield "runs at a value that decides have no outcome: take a narrower range"


def ends(question: Question, answer: Answer, key: str, event: Event) -> str:
    """What was seen at both ends, in words."""
    at = {trial.value: trial for trial in answer.trials}
    both = [(end, at.get(end)) for end in (question.first, question.last)]
    if question.probability is None:
        happens = {True: "happens", False: "does not happen"}
        words = [
            f"{happens[trial.events > 0] if trial and trial.solved else 'is not known'} at "
            f"{with_unit(end, key)}"
            for end, trial in both
        ]
        return f"{event} {words[0]} and {words[1]}"
    words = [f"{_chance(trial)} at {with_unit(end, key)}" for end, trial in both]
    return (
        f"the probability of {event} is {words[0]} and {words[1]}, "
        f"where {question.probability:g} is searched for"
    )


def _chance(trial: Trial | None) -> str:
    if trial is None or not trial.solved:
        return "not known"
    lower, upper = clopper_pearson(trial.events, trial.solved)
    return f"{trial.share:.4g} [{float(lower):.3g}, {float(upper):.3g}]"


def way_out(question: Question, answer: Answer, key: str) -> str:
    """Which way to go where no passing is seen: towards the trial that comes nearest."""
    sign = 1 if answer.trials[0].share > (question.probability or 0.5) else -1
    solved = [trial for trial in answer.trials if trial.solved]
    shares = [sign * trial.share for trial in solved]
    nearest = [trial for trial, share in zip(solved, shares, strict=True) if share == min(shares)]
    at_first, at_last = nearest[0].value == question.first, nearest[-1].value == question.last
    if at_first and at_last:
        return f"widen the range, to where it is {'less' if sign > 0 else 'more'} likely"
    if at_first or at_last:
        return "take a smaller from" if at_first else "take a greater to"
    where = f"{_chance(nearest[0])} at {with_unit(nearest[0].value, key)}"
    return f"it comes no nearer than {where}: search for another probability"


def _imprecise(question: Question, answer: Answer, key: str) -> Iterator[str]:
    for limit, end, word in (
        (answer.lower, question.first, "lower"),
        (answer.upper, question.last, "upper"),
    ):
        if math.isnan(limit):
            yield f"no {word} limit between the value and {with_unit(end, key)}"
    if not math.isnan(answer.half) and answer.half > question.tolerance * (1.0 + 1e-9):
        half = with_unit(float(f"{answer.half:.4g}"), key)
        yield (
            f"half the interval is {half}, above the tolerance {question.tolerance:g}: "
            f"the runs allowed are spent"
        )


def _not_monotone(answer: Answer, key: str) -> Iterator[str]:
    if answer.others:
        where = " and ".join(
            f"between {with_unit(a, key)} and {with_unit(b, key)}" for a, b in answer.others
        )
        yield f"not monotone: passed again {where}"


def _unsolved(answer: Answer) -> Iterator[str]:
    runs = sum(trial.runs for trial in answer.trials)
    unsolved = runs - sum(trial.solved for trial in answer.trials)
    if unsolved:
        yield f"{unsolved} of {runs} runs not solved: they count as no outcome"
