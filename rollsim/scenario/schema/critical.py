"""The [critical] table of the scenario file: which value of which key is searched for."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from rollsim.scenario.schema.base import Table


class Critical(Table):
    """The value of one key at which an event has a set probability, by rollsim critical."""

    key: str = Field(
        min_length=1,
        max_length=200,
        description="the whole key whose value is searched for, in quotes: one that holds a number",
    )
    from_: float = Field(
        alias="from", description="where the search begins, in the unit of that key"
    )
    to: float = Field(description="where it ends, above from, in the unit of that key")
    of: Literal["capsize", "failure"] | None = Field(
        default=None,
        description="the event; failure where a roll or flooding limit is set, capsize otherwise, "
        "where left out",
    )
    probability: float | None = Field(
        default=None,
        gt=0,
        lt=1,
        description="probability of the event in one run at that value, no unit; 0.05 where left "
        "out and anything is random. Where nothing is random it may not be given: the value is "
        "that at which the event first happens",
    )
    tolerance: float | None = Field(
        default=None,
        gt=0,
        description="half the 95 % interval at which the search ends, in the unit of that key; "
        "1/200 of the range where left out",
    )
    most: int = Field(
        default=60_000,
        ge=100,
        le=100_000_000,
        description="runs for each case after which it ends in any case, a whole number",
    )
