"""The [basin] and [response] tables: what the maps of a researcher run over."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from rollsim.scenario.schema.base import Table

Angle = Annotated[float, Field(gt=-180, lt=180)]
Rate = Annotated[float, Field(gt=-360, lt=360)]


class RollRange(Table):
    """Evenly spaced roll angles."""

    from_: Angle = Field(alias="from", description="the first roll angle in degrees")
    to: Angle = Field(description="the last roll angle in degrees")
    steps: int = Field(ge=2, le=100_000, description="number of values, both ends included")


class RateRange(Table):
    """Evenly spaced roll rates."""

    from_: Rate = Field(alias="from", description="the first roll rate in degrees per second")
    to: Rate = Field(description="the last roll rate in degrees per second")
    steps: int = Field(ge=2, le=100_000, description="number of values, both ends included")


class Basin(Table):
    """The grid of starts of `rollsim basin`."""

    roll_deg: RollRange = Field(description="roll angles of the starts")
    roll_rate_deg_per_s: RateRange = Field(description="roll rates of the starts")
    realisation: int = Field(
        default=0,
        ge=0,
        lt=2**63,
        description="which storm all starts meet in an irregular sea or a turbulent wind, a whole "
        "number from 0",
    )


class Equilibria(Table):
    """Over what `rollsim equilibria` follows every heel at which she rests."""

    key: str = Field(
        min_length=1,
        max_length=200,
        description="the whole key that is varied, in quotes: one that holds a number",
    )
    from_: float = Field(alias="from", description="its first value, in its unit")
    to: float = Field(description="its last value, above from, in its unit")


class Response(Table):
    """Over what `rollsim response` follows the steady responses to a regular sea."""

    key: Literal["sea.period_s", "sea.height_m"] = Field(
        description="the key that is varied, in quotes"
    )
    from_: float = Field(alias="from", gt=0, lt=1000, description="its first value, in its unit")
    to: float = Field(gt=0, lt=1000, description="its last value, in its unit")
