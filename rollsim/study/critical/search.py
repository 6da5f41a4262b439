"""The way into the search."""

from __future__ import annotations

from rollsim.study.critical.certain import first_happening
from rollsim.study.critical.counted import counted_root
from rollsim.study.critical.trials import Answer, Counter, Question, Trials


def searched(question: Question, count: Counter) -> Answer:
    """The answer to a question by the counts that `count` gives."""
    trials = Trials(question, count)
    return first_happening(trials) if question.probability is None else counted_root(trials)
