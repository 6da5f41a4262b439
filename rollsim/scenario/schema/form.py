"""The [ship.form] table: what the criteria ask of the hull besides her levers."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from rollsim.scenario.schema.base import Table


class Form(Table):
    """The hull as the tables of the weather criterion know it; with it, results carry criteria."""

    block_coefficient: float | None = Field(
        default=None,
        gt=0,
        le=1,
        description="block coefficient, no unit; from displacement, waterline length, beam and "
        "draught where left out",
    )
    waterline_length_m: float | None = Field(
        default=None,
        gt=0,
        lt=600,
        description="length on the waterline in metres; length_m where left out",
    )
    bilge: Literal["round", "sharp"] = Field(
        default="round", description="round bilges, with or without keels, or sharp ones"
    )
    bilge_keel_area_m2: float = Field(
        default=0.0,
        ge=0,
        lt=2000,
        description="total area of the bilge keels of both sides in square metres",
    )
    deck_edge_deg: float | None = Field(
        default=None,
        gt=0,
        lt=90,
        description="heel in degrees at which the deck edge goes under; the hull's where left "
        "out; the steady heel may come to 80 % of it",
    )
