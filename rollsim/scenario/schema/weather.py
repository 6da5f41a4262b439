"""The [wind] and [sea] tables of the scenario file."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Discriminator, Field, Tag

from rollsim.scenario.schema.base import NUMBER_TAG, WORD_TAG, Table, word_or_number


class Gust(Table):
    """A gust: the wind grows in rise_s, holds, and returns in rise_s."""

    at_s: float = Field(ge=0, lt=1e7, description="when it begins, in seconds from the start")
    rise_s: float = Field(ge=0, lt=1e6, description="how long the wind grows, in seconds")
    hold_s: float = Field(ge=0, lt=1e6, description="how long it holds, in seconds")
    speed_factor: float = Field(
        ge=0, lt=10, description="wind speed in the gust divided by the mean wind speed"
    )


class Turbulence(Table):
    """Random wind on top of the mean wind and its gusts."""

    spectrum: Literal["davenport"] = Field(
        default="davenport", description="form of the wind spectrum"
    )
    surface_drag: float = Field(
        default=0.003,
        gt=0,
        lt=0.1,
        description="drag coefficient of the sea surface, no unit; sets the variance",
    )
    intensity: float | None = Field(
        default=None,
        ge=0,
        lt=1,
        description="standard deviation over the mean wind speed, no unit; in place of the "
        "spectrum's own variance",
    )


class Wind(Table):
    """A steady wind on the beam; needs [ship.windage]."""

    speed_mps: float = Field(ge=0, lt=100, description="mean wind speed in metres per second")
    from_: Literal["port", "starboard"] = Field(
        alias="from", description="the side that it blows from"
    )
    drag_coefficient: float = Field(
        default=1.22, gt=0, lt=10, description="drag coefficient, no unit"
    )
    heel_law: Literal["constant", "cos", "cos2"] = Field(
        default="constant",
        description="how the wind moment falls off with heel φ: not at all, with cos φ, or with "
        "cos² φ",
    )
    gust: Annotated[tuple[Gust, ...], Field(strict=False)] = Field(
        default=(), description="deterministic gusts on top of the mean wind; they may not overlap"
    )
    turbulence: Turbulence | None = Field(
        default=None, description="random wind on top; none where left out"
    )


class AnySea(Table):
    """What every kind of sea may hold."""

    heading_deg: float = Field(
        default=90.0,
        ge=-360,
        le=360,
        description="from the bow to where the waves travel in degrees, + to starboard: 0 "
        "following, 90 beam from port, 180 head, 270 beam from starboard",
    )
    ship_speed_mps: float = Field(
        default=0.0,
        ge=0,
        lt=40,
        description="speed of the ship through the water in metres per second",
    )
    slope_coefficient: Annotated[
        Annotated[Literal["section"], Tag(WORD_TAG)]
        | Annotated[float, Field(ge=0, le=3), Tag(NUMBER_TAG)],
        Discriminator(word_or_number),
    ] = Field(
        default="section",
        description='effective share of the wave slope: "section" from beam and draught for each '
        "wave, or one number for every wave",
    )
    excitation: Literal["relative", "absolute"] = Field(
        default="relative",
        description='"relative": levers and damping act on the roll relative to the water surface; '
        '"absolute": the wave moment is GM times the slope, for GM above 0 alone',
    )
    ramp_s: float = Field(
        default=0.0, ge=0, lt=1e6, description="time in seconds over which the sea grows from calm"
    )
    shortest_wave_m: float | None = Field(
        default=None,
        gt=0,
        lt=2000,
        description="shortest wave length in metres that is kept; the beam where left out",
    )


class CalmSea(AnySea):
    """No waves."""

    kind: Literal["calm"] = Field(description="no waves")


class RegularSea(AnySea):
    """One cosine wave."""

    kind: Literal["regular"] = Field(description="one regular wave")
    height_m: float = Field(
        gt=0, lt=40, description="height from trough to crest in metres, twice the amplitude"
    )
    period_s: float = Field(gt=0, lt=60, description="wave period in seconds, at a fixed point")
    phase_deg: float = Field(
        default=0.0,
        ge=-360,
        le=360,
        description="phase at the start in degrees; 0 is a crest amidships",
    )


class IrregularSea(AnySea):
    """A random sea of one spectrum."""

    kind: Literal["irregular"] = Field(description="a random sea")
    spectrum: Literal["bretschneider", "jonswap", "pierson-moskowitz"] = Field(
        description="form of the wave spectrum"
    )
    significant_height_m: float = Field(
        gt=0, lt=30, description="significant wave height in metres"
    )
    peak_period_s: float | None = Field(
        default=None, gt=0, lt=60, description="period of the spectrum's peak in seconds"
    )
    zero_crossing_period_s: float | None = Field(
        default=None,
        gt=0,
        lt=60,
        description="mean zero-crossing period in seconds, instead of the peak",
    )
    peak_enhancement: float | None = Field(
        default=None,
        ge=1,
        le=20,
        description="peak enhancement of jonswap, no unit; 3.3 where left out",
    )


class WhiteSlopeSea(AnySea):
    """Random pushes of a flat spectrum in place of waves."""

    kind: Literal["white-slope"] = Field(
        description="white noise for checks by theory, no sea: a slope of flat spectrum whose "
        "moment is the size of GM times the slope"
    )
    slope_density_rad2_s: float = Field(
        gt=0,
        lt=10,
        description="one-sided density of the slope over the frequency in rad/s, in rad² s",
    )
    band_rad_per_s: float = Field(
        default=5.0,
        gt=0,
        lt=100,
        description="frequency in radians per second up to which the spectrum is flat; nothing "
        "beyond. White to a roll that is several times slower",
    )
    excitation: Literal["absolute"] = Field(
        default="absolute",
        description='"absolute" alone: as a slope of the water it would have no limit',
    )


Sea = Annotated[CalmSea | RegularSea | IrregularSea | WhiteSlopeSea, Field(discriminator="kind")]
