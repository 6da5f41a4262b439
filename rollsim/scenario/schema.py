"""The scenario file as strict models: every key with its meaning, bounds and default.

Attribute names are the keys of the file; the one Python word among them, `from`, is `from_`.
Bounds here catch nonsense in a single value; what needs two values stands in checks.py.
"""

from __future__ import annotations

from typing import Annotated, Literal, get_args

from pydantic import BaseModel, ConfigDict, Discriminator, Field, Tag

from rollsim.scenario.schema_base import (
    LIST_TAG,
    NUMBER_TAG,
    TABLE_TAG,
    WORD_TAG,
    Table,
    list_or_table,
    word_or_number,
)
from rollsim.scenario.schema_ship import Ship
from rollsim.scenario.schema_weather import CalmSea, Sea, Wind

Method = Literal["block", "DOP853", "RK45", "LSODA", "Radau"]

METHODS: tuple[str, ...] = get_args(Method)
"""The block engine, and scipy's methods as scipy spells them."""


class Limits(Table):
    """Angles of roll that count as failures."""

    roll_deg: float | None = Field(
        default=None, gt=0, le=180, description="roll angle in degrees that counts as too much"
    )
    flooding_deg: float | None = Field(
        default=None,
        gt=0,
        le=180,
        description="angle in degrees between ship and water surface at which openings flood",
    )
    capsize_deg: float | None = Field(
        default=None,
        gt=0,
        le=180,
        description="angle in degrees that counts as capsized and ends a run; the end of the "
        "levers where left out",
    )


class Start(Table):
    """How she lies at the start."""

    roll_deg: Annotated[
        Annotated[Literal["static"], Tag(WORD_TAG)]
        | Annotated[float, Field(gt=-180, lt=180), Tag(NUMBER_TAG)],
        Discriminator(word_or_number),
    ] = Field(
        default=0.0,
        description='roll angle in degrees, + starboard down, or "static": the heel at which she '
        "lies under mean wind and off-centre G",
    )
    roll_rate_deg_per_s: float = Field(
        default=0.0, gt=-360, lt=360, description="roll rate in degrees per second"
    )


class AnyEvent(Table):
    """What every event holds."""

    at_s: float = Field(ge=0, lt=1e7, description="when it begins, in seconds from the start")
    over_s: float = Field(
        default=0.0, ge=0, lt=1e7, description="how long it grows, in seconds; 0 is sudden"
    )


MASS = "its mass in tonnes"


class MoveWeight(AnyEvent):
    """A weight on board moves."""

    kind: Literal["move-weight"] = Field(description="a weight on board moves")
    mass_t: float = Field(gt=0, lt=2e6, description=MASS)
    across_m: float = Field(
        default=0.0, gt=-120, lt=120, description="distance moved across in metres, + to starboard"
    )
    up_m: float = Field(
        default=0.0, gt=-80, lt=80, description="distance moved in metres, + upwards"
    )


class AddWeight(AnyEvent):
    """A weight comes on board."""

    kind: Literal["add-weight"] = Field(description="a weight comes on board")
    mass_t: float = Field(gt=0, lt=2e6, description=MASS)
    height_m: float = Field(gt=-20, lt=80, description="its height above the keel in metres")
    across_m: float = Field(
        default=0.0,
        gt=-60,
        lt=60,
        description="its place off the centreline in metres, + to starboard",
    )


class RemoveWeight(AnyEvent):
    """A weight leaves the ship."""

    kind: Literal["remove-weight"] = Field(description="a weight leaves the ship")
    mass_t: float = Field(gt=0, lt=2e6, description=MASS)
    height_m: float = Field(gt=-20, lt=80, description="its height above the keel in metres")
    across_m: float = Field(
        default=0.0,
        gt=-60,
        lt=60,
        description="its place off the centreline in metres, + to starboard",
    )


class HeelingLever(AnyEvent):
    """A constant heeling lever from at_s on."""

    kind: Literal["heeling-lever"] = Field(description="a heeling lever, constant with heel")
    lever_m: float = Field(
        gt=-10, lt=10, description="heeling lever in metres, + heels to starboard"
    )


Event = Annotated[MoveWeight | AddWeight | RemoveWeight | HeelingLever, Field(discriminator="kind")]


class Until(Table):
    """When the counting of one case ends."""

    relative_error: float = Field(
        gt=0,
        lt=1,
        description="half the width of the 95 % interval over the probability of capsize, no unit",
    )
    most: int = Field(
        ge=1, le=100_000_000, description="realisations after which it ends in any case"
    )


class Run(Table):
    """How long, how often and how exactly."""

    duration_s: float = Field(gt=0, lt=1e7, description="length of a run in seconds")
    output_step_s: float = Field(
        default=0.5,
        gt=0,
        lt=1e6,
        description="time between stored points of the histories in seconds",
    )
    settle_s: float = Field(
        default=0.0,
        ge=0,
        lt=1e7,
        description="time in seconds from which limits, extremes and margins count",
    )
    realisations: int = Field(
        default=1,
        ge=1,
        le=1_000_000,
        description="number of random seas for each case, a whole number",
    )
    seed: int = Field(
        default=1,
        ge=0,
        lt=2**63,
        description="a whole number that fixes the random seas of the study",
    )
    method: Method = Field(
        default="block",
        description="method of integration: the block engine with its fixed step, or for "
        "reference one of scipy's as scipy spells it",
    )
    accuracy_deg: float = Field(
        default=0.01,
        ge=1e-3,
        le=1,
        description="how far the roll may be off in the block engine, in degrees; its step follows",
    )
    relative_tolerance: float = Field(
        default=1e-8,
        ge=1e-13,
        le=1e-3,
        description="relative tolerance of scipy's methods, no unit",
    )
    absolute_tolerance_deg: float = Field(
        default=1e-8,
        ge=1e-14,
        le=0.01,
        description="absolute tolerance of scipy's methods in degrees (degrees per second)",
    )
    until: Until | None = Field(
        default=None,
        description="go on beyond realisations until the probability of capsize is known so well",
    )


class Output(Table):
    """Which histories are kept; outcome, extremes and margins of every run always are."""

    histories: Literal["all", "none", "failed", "worst"] = Field(
        default="all",
        description="every run's, none, those of failed runs, or those of the worst runs",
    )
    count: int = Field(
        default=10,
        ge=1,
        le=100_000,
        description="how many failed or worst runs of each case keep theirs, a whole number",
    )


class Range(Table):
    """Evenly spaced values of a sweep axis."""

    from_: float = Field(alias="from", description="the first value")
    to: float = Field(description="the last value")
    steps: int = Field(ge=2, le=100_000, description="number of values, both ends included")


Value = Annotated[
    Annotated[str, Tag(WORD_TAG)] | Annotated[float, Tag(NUMBER_TAG)],
    Discriminator(word_or_number),
]
AxisValues = Annotated[
    Annotated[tuple[Value, ...], Field(strict=False, min_length=1), Tag(LIST_TAG)]
    | Annotated[Range, Tag(TABLE_TAG)],
    Discriminator(list_or_table),
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
    sweep: dict[str, AxisValues] = Field(default={}, description="axes of a grid of cases")
    conditions: Annotated[tuple[Condition, ...], Field(strict=False)] = Field(
        default=(), description="named sets of overrides, crossed with the sweep"
    )
