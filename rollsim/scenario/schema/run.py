"""The [limits], [start], [run] and [output] tables of the scenario file."""

from __future__ import annotations

from typing import Annotated, Literal, get_args

from pydantic import Discriminator, Field, Tag

from rollsim.scenario.schema.base import NUMBER_TAG, WORD_TAG, Table, word_or_number

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
        description="angle in degrees between ship and water surface at which openings flood; "
        "left out, that of the openings of her hull, where she has one",
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
    static_missing: Literal["refuse", "skip"] = Field(
        default="refuse",
        description='what becomes of a case without a static heel: "refuse" the file, or "skip" '
        "the case and mark it as not run",
    )


class Until(Table):
    """When the counting of one case ends."""

    relative_error: float = Field(
        gt=0,
        lt=1,
        description="half the width of the 95 % interval over the probability, no unit",
    )
    most: int = Field(
        ge=1, le=100_000_000, description="realisations after which it ends in any case"
    )
    of: Literal["capsize", "failure"] | None = Field(
        default=None,
        description="whose probability counts; failure where a roll or flooding limit is set, "
        "capsize otherwise, where left out",
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
        description="how far the roll may be off in the block engine within 600 s, in degrees, in "
        "runs that do not themselves magnify a disturbed start; its step follows",
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
        description="go on beyond realisations until the probability is known so well",
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
