"""The [lesson] table: a question for the quiz of the page, steps for the live model."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from rollsim.scenario.schema.base import Table

Line = Annotated[str, Field(min_length=1, max_length=200)]
"""Words that fit on a button."""
Answers = Annotated[tuple[Line, ...], Field(strict=False, max_length=9)]
Hidden = Literal["g", "m", "gm", "b", "curve", "verdict"]
Locked = Literal["g", "hand", "weights", "tanks", "wind", "waves"]
Verdict = Literal[
    "capsized",
    "going-over",
    "neutral",
    "flopping",
    "loll",
    "held-over",
    "list",
    "upright",
    "rights",
    "rolls",
]
Band = Annotated[tuple[float, ...], Field(strict=False, min_length=2, max_length=2)]
"""A least and a greatest value."""


class Step(Table):
    """A step of an exercise in the live model: what is to be done, and what must be reached."""

    text: str = Field(min_length=1, max_length=600, description="what is to be done, in quotes")
    condition: str = Field(
        default="",
        max_length=200,
        description="the condition that she starts the step in; as she is where left out",
    )
    beside: str = Field(
        default="", max_length=200, description="the condition of a second ship beside her"
    )
    hull: Literal["own", "box", "barrel", "wall-sided"] = Field(
        default="own", description="the hull in which she starts the step"
    )
    hide: Annotated[tuple[Hidden, ...], Field(strict=False)] = Field(
        default=(), description="what is not shown"
    )
    lock: Annotated[tuple[Locked, ...], Field(strict=False)] = Field(
        default=(), description="what cannot be used"
    )
    verdict: Verdict | None = Field(default=None, description="the verdict to be reached")
    gm_m: Band | None = Field(
        default=None, description="least and greatest metacentric height to be reached in metres"
    )
    heel_deg: Band | None = Field(
        default=None,
        description="least and greatest heel to be reached in degrees, + to starboard",
    )
    hold_s: float = Field(
        default=0.0, ge=0, lt=1e5, description="how long all that must hold, in seconds"
    )
    within_s: float | None = Field(
        default=None, gt=0, lt=1e6, description="time in seconds after which the step has failed"
    )
    most_heel_deg: float | None = Field(
        default=None, gt=0, le=180, description="heel in degrees beyond which the step has failed"
    )
    most_flops: int | None = Field(
        default=None,
        ge=0,
        lt=1000,
        description="how often she may go over to her other side, a whole number",
    )
    fails: Annotated[tuple[Verdict, ...], Field(strict=False)] = Field(
        default=("capsized",), description="verdicts with which the step has failed"
    )
    question: str = Field(
        default="", max_length=300, description="what is asked once that is reached, in quotes"
    )
    answers: Answers = Field(default=(), description="the answers to choose from")
    answer: str = Field(default="", max_length=200, description="the right one of them")
    hints: Annotated[tuple[str, ...], Field(strict=False, max_length=9)] = Field(
        default=(), description="what is told one after the other on request, in quotes"
    )
    solution: str = Field(
        default="", max_length=600, description="what is told at the end, in quotes"
    )
    wrong: str = Field(
        default="", max_length=600, description="what is told after the step has failed, in quotes"
    )
    note: str = Field(
        default="", max_length=1000, description="a note for the instructor alone, in quotes"
    )


class Lesson(Table):
    """A question in place of what becomes of her, or the steps of an exercise, or both."""

    question: str = Field(default="", max_length=300, description="the question, in quotes")
    answers: Answers = Field(
        default=(), description="the answers to choose from, in the order of the keys 1 to 9"
    )
    answer: str = Field(default="", max_length=200, description="the right one of them")
    hint: str = Field(
        default="", max_length=500, description="what is told with the right answer, in quotes"
    )
    steps: Annotated[tuple[Step, ...], Field(strict=False, max_length=50)] = Field(
        default=(), description="the steps of an exercise in the live model"
    )
