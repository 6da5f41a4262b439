"""The [severity] table: how much stronger this very storm must be until she fails."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from rollsim.scenario.schema.base import Table

Strengthened = Literal["waves", "wind", "weather"]
"""What a severity factor multiplies: the waves, the wind speed, or both."""


class Severity(Table):
    """The table alone asks for the severity factor of every run: the factor on its own weather at
    which she first fails."""

    on: Strengthened = Field(
        default="waves",
        description="what the factor multiplies: slope and elevation of the waves, the wind speed "
        "as a whole, or both",
    )
    of: Literal["capsize", "failure"] | None = Field(
        default=None,
        description="what counts as failing; failure (any limit) where a roll or flooding limit is "
        "set, capsize otherwise, where left out",
    )
    from_: float = Field(
        default=0.5, alias="from", ge=0.01, le=100, description="the least factor tried"
    )
    to: float = Field(default=2.5, ge=0.01, le=100, description="the greatest factor tried")
