"""Cross-check of what a lesson asks."""

from __future__ import annotations

from rollsim.scenario.checks.base import Check, Findings
from rollsim.scenario.checks.parts import Parts, split
from rollsim.scenario.text.faults import Finding

LEAST = 2
"""Answers that a question must offer."""


def answer_offered(parts: Parts) -> Findings:
    """The right answer is one of those that may be chosen, and each of these stands once."""
    lesson = parts("lesson")
    if lesson is None:
        return
    answers, causes = lesson.answers, (split("lesson.answers"),)
    if len(answers) < LEAST:
        problem = f"must hold at least {LEAST} answers, got {len(answers)}"
        yield Finding(split("lesson.answers"), problem, "a question leaves a choice")
    if lesson.answer not in answers:
        problem = f'must be one of answers, got "{lesson.answer}"'
        offered = ", ".join(f'"{answer}"' for answer in answers)
        yield Finding(split("lesson.answer"), problem, f"allowed here: {offered}", causes)
    for index, answer in enumerate(answers):
        if answer in answers[:index]:
            problem = f'"{answer}" stands there twice'
            yield Finding(split(f"lesson.answers.{index}"), problem, "leave one out", causes)


LESSON_CHECKS: tuple[Check, ...] = (answer_offered,)
