"""The [[events]] tables of the scenario file."""

from __future__ import annotations

from typing import Annotated, Literal, get_args

from pydantic import Field

from rollsim.scenario.schema.base import Table


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


ChangedKey = Literal[
    "ship.gravity.kg_m",
    "ship.gravity.off_centre_m",
    "ship.gravity.free_surface_m",
    "wind.speed_mps",
    "sea.height_m",
]
CHANGED_KEYS: tuple[str, ...] = get_args(ChangedKey)
"""The keys whose values may change in time."""


class ValueChange(AnyEvent):
    """A value goes linearly from the one then in force to another."""

    kind: Literal["change"] = Field(description="a value of the file changes in time")
    key: ChangedKey = Field(description="the key whose value changes")
    to: float = Field(description="the value that it comes to, in the unit of the key")


class FillTank(AnyEvent):
    """A tank of [ship.loading] fills or empties; mass, G and free surface follow its level."""

    kind: Literal["fill-tank"] = Field(description="a tank of the loading fills or empties")
    tank: str = Field(min_length=1, max_length=200, description="its name in the loading")
    to_percent: float = Field(ge=0, le=100, description="how full it becomes, in per cent")


Event = Annotated[
    MoveWeight | AddWeight | RemoveWeight | HeelingLever | ValueChange | FillTank,
    Field(discriminator="kind"),
]
