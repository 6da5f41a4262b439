"""Cross-checks of what a lesson asks, and of the steps of its exercise."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

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
    if not lesson.question and not lesson.steps:
        problem, hint = "must stand there, or [[lesson.steps]]", "the question, in quotes"
        yield Finding(split("lesson.question"), problem, hint)
    yield from _asked("lesson", lesson)
    for index, step in enumerate(lesson.steps):
        yield from _asked(f"lesson.steps.{index}", step)


def _asked(key: str, asked: Any) -> Findings:
    """A question with its answers, of a lesson or of a step; or none of them at all."""
    if not (asked.question or asked.answers or asked.answer):
        return
    answers, causes = asked.answers, (split(f"{key}.answers"),)
    if len(answers) < LEAST:
        problem = f"must hold at least {LEAST} answers, got {len(answers)}"
        yield Finding(split(f"{key}.answers"), problem, "a question leaves a choice")
    if not asked.answer:
        yield Finding(split(f"{key}.answer"), "is missing", "the right one of them", causes)
    elif asked.answer not in answers:
        problem = f'must be one of answers, got "{asked.answer}"'
        offered = ", ".join(f'"{answer}"' for answer in answers)
        yield Finding(split(f"{key}.answer"), problem, f"allowed here: {offered}", causes)
    if not asked.question:
        yield Finding(split(f"{key}.question"), "must stand there with answers", "", causes)
    for index, answer in enumerate(answers):
        if answer in answers[:index]:
            problem = f'"{answer}" stands there twice'
            yield Finding(split(f"{key}.answers.{index}"), problem, "leave one out", causes)


def steps_reachable(parts: Parts) -> Findings:
    """Bands go upwards, and conditions that a step names are there."""
    lesson = parts("lesson")
    if lesson is None:
        return
    for index, step in enumerate(lesson.steps):
        for key in ("gm_m", "heel_deg"):
            band = getattr(step, key)
            if band is not None and band[0] > band[1]:
                problem = f"must go from the least to the greatest, got {list(band)}"
                yield Finding(split(f"lesson.steps.{index}.{key}"), problem, "")
    yield from _named(parts, lesson.steps)


def _named(parts: Parts, steps: tuple[Any, ...]) -> Iterator[Finding]:
    conditions = parts("conditions")
    names = [each.name for each in conditions or ()]
    if not names:
        return  # a case of a study has no conditions left
    for index, step in enumerate(steps):
        for key in ("condition", "beside"):
            name = getattr(step, key)
            if name and name not in names:
                problem = f'must name one of the conditions, got "{name}"'
                offered = ", ".join(f'"{each}"' for each in names)
                path = split(f"lesson.steps.{index}.{key}")
                yield Finding(path, problem, f"there are {offered}", (split("conditions"),))


LESSON_CHECKS: tuple[Check, ...] = (answer_offered, steps_reachable)
