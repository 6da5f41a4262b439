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


Length = Annotated[float, Field(ge=-50, le=50)]
Deviation = Annotated[float, Field(gt=0, le=50)]


class Observed(Table):
    """What is seen of a ship that lies over, and what was known of her G before looking."""

    heel_deg: Angle = Field(description="the heel that she lies at in degrees, + to starboard")
    heel_sd_deg: Annotated[float, Field(gt=0, le=30)] = Field(
        description="its standard deviation in degrees"
    )
    roll_period_s: Annotated[float, Field(gt=0, lt=1000)] | None = Field(
        default=None, description="period of small rolls about that heel in seconds, where timed"
    )
    roll_period_sd_s: Annotated[float, Field(gt=0, lt=1000)] | None = Field(
        default=None, description="its standard deviation in seconds"
    )
    lies_on_both_sides: bool | None = Field(
        default=None,
        description="true: seen to lie on the other side as well; false: seen on one only; left "
        "out: not known",
    )
    kg_m: Length = Field(description="height of G above the keel in metres, as it was thought")
    kg_sd_m: Deviation = Field(description="its standard deviation in metres")
    off_centre_m: Length = Field(
        default=0.0, description="G off the centreline in metres, + to starboard, as it was thought"
    )
    off_centre_sd_m: Deviation = Field(description="its standard deviation in metres")
    free_surface_m: Annotated[float, Field(ge=0, le=20)] = Field(
        default=0.0, description="virtual rise of G by free surfaces in metres"
    )
    free_surface_sd_m: Annotated[float, Field(gt=0, le=20)] | None = Field(
        default=None, description="its standard deviation in metres; sure where left out"
    )
    gyradius_sd_m: Deviation | None = Field(
        default=None,
        description="standard deviation of the gyradius in metres; sure where left out",
    )
