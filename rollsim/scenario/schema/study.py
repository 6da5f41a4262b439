"""The scenario file as a whole, its sweep and its conditions."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Discriminator, Field, Tag

from rollsim.scenario.schema.base import (
    LIST_TAG,
    NUMBER_TAG,
    WORD_TAG,
    Table,
    word_or_number,
)
from rollsim.scenario.schema.critical import Critical
from rollsim.scenario.schema.events import Event
from rollsim.scenario.schema.lesson import Lesson
from rollsim.scenario.schema.maps import Basin, Equilibria, Observed, Response
from rollsim.scenario.schema.run import Limits, Output, Run, Start
from rollsim.scenario.schema.severity import Severity
from rollsim.scenario.schema.ship import Ship
from rollsim.scenario.schema.weather import CalmSea, Sea, Wind


class Range(Table):
    """Evenly spaced values of a sweep axis."""

    from_: float = Field(alias="from", description="the first value")
    to: float = Field(description="the last value")
    steps: int = Field(ge=2, le=100_000, description="number of values, both ends included")


class Offsets(Table):
    """A sweep axis of offsets on the value that each condition, or else the base file, gives."""

    add: Annotated[tuple[float, ...], Field(strict=False, min_length=1)] = Field(
        description="what is added to the value of every condition"
    )


RANGE_TAG, OFFSETS_TAG = "range", "offsets"


def _form_of_axis(value: Any) -> str:
    """The tag of a list, of a range or of offsets, raw or as a model."""
    if isinstance(value, Offsets) or (isinstance(value, dict) and "add" in value):
        return OFFSETS_TAG
    return RANGE_TAG if isinstance(value, dict | Range) else LIST_TAG


Value = Annotated[
    Annotated[str, Tag(WORD_TAG)] | Annotated[float, Tag(NUMBER_TAG)],
    Discriminator(word_or_number),
]
AxisValues = Annotated[
    Annotated[tuple[Value, ...], Field(strict=False, min_length=1), Tag(LIST_TAG)]
    | Annotated[Range, Tag(RANGE_TAG)]
    | Annotated[Offsets, Tag(OFFSETS_TAG)],
    Discriminator(_form_of_axis),
]


class Condition(BaseModel):
    """A named set of overrides; which keys it may hold is checked where it is applied."""

    model_config = ConfigDict(strict=True, extra="allow", frozen=True)

    name: str = Field(min_length=1, max_length=200, description="its name, different from others")


class Scenario(Table):
    """One scenario file, or one case of it (then without sweep and conditions)."""

    format: int = Field(ge=1, le=1, description="version of the form of this file; it is 1")
    title: str = Field(default="", max_length=500, description="what the study shows, in quotes")
    ship: Ship = Field(description="the ship")
    limits: Limits = Field(default=Limits(), description="angles that count as failures")
    wind: Wind | None = Field(default=None, description="the wind; none where left out")
    sea: Sea = Field(default=CalmSea(kind="calm"), description="the sea; calm where left out")
    start: Start = Field(default=Start(), description="roll angle and rate at the start")
    events: Annotated[tuple[Event, ...], Field(strict=False)] = Field(
        default=(), description="what happens on board in time; events add up"
    )
    run: Run = Field(description="how long, how often and how exactly")
    output: Output = Field(default=Output(), description="what is kept of the runs")
    severity: Severity | None = Field(
        default=None, description="asks how much stronger each storm must be until she fails"
    )
    lesson: Lesson | None = Field(default=None, description="a question for the quiz of the page")
    files: dict[str, str] = Field(
        default={}, description="texts of the files that the scenario names, by their names"
    )
    critical: Critical | None = Field(
        default=None, description="which value of which key rollsim critical searches for"
    )
    equilibria: Equilibria | None = Field(
        default=None, description="what `rollsim equilibria` is followed over"
    )
    basin: Basin | None = Field(default=None, description="the starts of `rollsim basin`")
    response: Response | None = Field(
        default=None, description="what `rollsim response` is followed over"
    )
    observed: Observed | None = Field(
        default=None, description="what `rollsim heel-cause` goes by: list or loll"
    )
    sweep: dict[str, AxisValues] = Field(default={}, description="axes of a grid of cases")
    conditions: Annotated[tuple[Condition, ...], Field(strict=False)] = Field(
        default=(), description="named sets of overrides, crossed with the sweep"
    )

    @property
    def until_of(self) -> str:
        """The event whose probability [run.until] counts: "capsize" or "failure"."""
        if self.run.until is not None and self.run.until.of is not None:
            return self.run.until.of
        limits = (self.limits.roll_deg, self.limits.flooding_deg)
        return "capsize" if limits == (None, None) else "failure"
