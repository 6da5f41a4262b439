"""One table of the result's variables: name, dimensions, unit, long name, CF attributes, type.

The netCDF attributes, the plot labels and the tables all read it (DEVELOPERS.md, principle 5).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import IntEnum


class Outcome(IntEnum):
    """How a run ended; of the codes 1 to 4 the highest reached counts."""

    NOT_RUN = 0
    SURVIVED = 1
    ROLL_LIMIT = 2
    FLOODED = 3
    CAPSIZED = 4
    NOT_SOLVED = 5

    @property
    def label(self) -> str:
        """The flag's name in the file and in tables: lower case with underscores."""
        return self.name.lower()


class SeverityFound(IntEnum):
    """What the search for a severity factor came to; the factor is missing for all but FOUND."""

    NOT_ASKED = 0
    FOUND = 1
    NONE_UP_TO = 2
    ALREADY_AT_FROM = 3
    NOT_SOLVED = 4

    @property
    def label(self) -> str:
        """The flag's name in the file: lower case with underscores."""
        return self.name.lower()


@dataclass(frozen=True)
class Variable:
    """A variable of a file: `dtype` is numpy's name of it, "str" for text.

    `optional`: whether a file may do without it.
    """

    dims: tuple[str, ...]
    units: str
    long_name: str
    dtype: str = "f8"
    standard_name: str = ""
    optional: bool = False


HISTORY = ("case", "realisation", "t")
RUN = ("case", "realisation")
CURVE = ("case", "heel")
SECTION = ("case", "outline")


def _with_limits(name: str, units: str, long_name: str) -> dict[str, Variable]:
    """A number of every case that has an interval, and the two 95 % limits of that."""
    limits = {f"{name}_{end}": f"{long_name}, {end} 95 % limit" for end in ("lower", "upper")}
    return {
        each: Variable(("case",), units, words)
        for each, words in ({name: long_name} | limits).items()
    }


VARIABLES: dict[str, Variable] = {
    "roll_angle": Variable(
        HISTORY, "degree", "roll angle, starboard down", "f4", "platform_roll_starboard_down"
    ),
    "roll_rate": Variable(
        HISTORY,
        "degree s-1",
        "roll rate, starboard down",
        "f4",
        "platform_roll_rate_starboard_down",
    ),
    "wave_slope": Variable(HISTORY, "degree", "effective wave slope", "f4"),
    "heeling_lever": Variable(HISTORY, "m", "sum of wind and heeling levers", "f4"),
    "centre_of_gravity_y": Variable(
        ("case", "t"), "m", "centre of gravity off the centreline, to starboard"
    ),
    "centre_of_gravity_z": Variable(
        ("case", "t"), "m", "centre of gravity above the keel, free surface not included"
    ),
    "free_surface_rise": Variable(
        ("case", "t"), "m", "virtual rise of the centre of gravity by free surfaces"
    ),
    "outcome": Variable(RUN, "1", "how the run ended", "i1", "status_flag"),
    "failed_before_settle": Variable(RUN, "1", "whether a limit was passed before settle_s", "i1"),
    "failure_time": Variable(RUN, "s", "time of the first passing of any limit"),
    "end_time": Variable(RUN, "s", "time at which the run ended"),
    "roll_limit_time": Variable(RUN, "s", "time of the first counted passing of the roll limit"),
    "flooding_time": Variable(RUN, "s", "time of the first counted passing of the flooding limit"),
    "capsize_time": Variable(RUN, "s", "time of the capsize"),
    "message": Variable(RUN, "", "why a run was not solved", "str"),
    "roll_max": Variable(RUN, "degree", "greatest roll angle, starboard down"),
    "roll_min": Variable(RUN, "degree", "least roll angle, starboard down"),
    "energy_margin": Variable(
        RUN, "1", "energy margin against capsize, 1 at rest, 0 at the barrier"
    ),
    "limit_margin": Variable(
        RUN, "1", "margin to the nearest limit, 1 upright, 0 where the first limit is passed"
    ),
    "roll_mean": Variable(RUN, "degree", "mean roll angle from settle_s on, starboard down"),
    "roll_std": Variable(RUN, "degree", "standard deviation of roll from settle_s on"),
    "upcrossings": Variable(RUN, "1", "upward crossings of the static heel from settle_s on"),
    "side_changes": Variable(RUN, "1", "changes from well to well from settle_s on"),
    "side_changes_to_starboard": Variable(RUN, "1", "those changes of side that go to starboard"),
    "time_to_port": Variable(RUN, "s", "time on the port side, by the well last reached"),
    "time_to_starboard": Variable(RUN, "s", "time on the starboard side, by the well last reached"),
    "severity_factor": Variable(
        RUN, "1", "severity factor, the least on the weather at which she fails"
    ),
    "severity_found": Variable(RUN, "1", "what the search for the severity factor came to", "i1"),
    "severity_islands": Variable(RUN, "1", "islands of survival above the severity factor", "i4"),
    "gm": Variable(("case",), "m", "metacentric height, corrected for free surfaces"),
    "displacement": Variable(("case",), "t", "mass of the ship"),
    "weather_digest": Variable(
        ("case",), "", "digest of sea, wind, events, settling: the same where these are", "str"
    ),
    "loll_angle": Variable(("case",), "degree", "angle of loll to starboard"),
    "loll_angle_port": Variable(("case",), "degree", "angle of loll to port, negative"),
    "vanishing_angle": Variable(("case",), "degree", "angle of vanishing stability to starboard"),
    "vanishing_angle_port": Variable(
        ("case",), "degree", "angle of vanishing stability to port, negative"
    ),
    "beam": Variable(("case",), "m", "greatest breadth on the waterline"),
    "draught": Variable(("case",), "m", "mean draught"),
    "depth": Variable(("case",), "m", "depth from the keel to the deck at side"),
    "section_y": Variable(
        SECTION, "m", "outline of the midship section, to starboard", optional=True
    ),
    "section_z": Variable(
        SECTION, "m", "outline of the midship section, above the keel", optional=True
    ),
    "water_level": Variable(
        CURVE, "m", "water above the keel point amidships, along the vertical", optional=True
    ),
    "gyradius": Variable(("case",), "m", "roll radius of gyration, added inertia included"),
    "excitation": Variable(("case",), "", "whether waves act relative or absolute", "str"),
    "roll_limit": Variable(("case",), "degree", "roll angle that counts as too much"),
    "flooding_limit": Variable(("case",), "degree", "heel at which openings flood"),
    "capsize_limit": Variable(("case",), "degree", "angle that counts as capsized"),
    "static_heel": Variable(("case",), "degree", "static heel under mean wind and off-centre G"),
    "roll_period": Variable(("case",), "s", "period of small undamped rolls about static heel"),
    "roll_period_upright": Variable(("case",), "s", "period of small undamped rolls about upright"),
    "encounter_period": Variable(
        ("case",), "s", "period at which she meets the waves, or the peak of their spectrum"
    ),
    "righting_lever": Variable(CURVE, "m", "righting lever GZ"),
    "steady_heeling_lever": Variable(CURVE, "m", "steady heeling lever"),
    "filling_time": Variable(("case", "filling"), "s", "time of a lever of tanks that fill"),
    "filled_lever": Variable(
        ("case", "filling", "heel"), "m", "what moving liquid adds to GZ while tanks fill"
    ),
    "metacentre_y": Variable(CURVE, "m", "metacentre off the centreline, to starboard"),
    "metacentre_z": Variable(CURVE, "m", "metacentre above the keel"),
    "buoyancy_y": Variable(CURVE, "m", "centre of buoyancy off the centreline, to starboard"),
    "buoyancy_z": Variable(CURVE, "m", "centre of buoyancy above the keel"),
    **_with_limits("capsize_probability", "1", "probability of capsize in one run"),
    **_with_limits("failure_probability", "1", "probability of passing any limit in one run"),
    **_with_limits("capsize_rate", "h-1", "capsizes per hour from settle_s on"),
    **_with_limits("failure_rate", "h-1", "first passings of any limit per hour from settle_s on"),
}

SEARCHED = ("severity_factor", "severity_found", "severity_islands")
"""What searches give of a run, where the scenario asks for them; its other numbers a run gives."""

KEPT = ("kept", "t")
"""Dimensions of the histories where not every run's are kept."""

COORDINATES: dict[str, Variable] = {
    "case": Variable(("case",), "1", "number of the case, from 0", "i4"),
    "realisation": Variable(
        ("realisation",), "1", "number of the realisation, from 0", "i4", "realization"
    ),
    "t": Variable(("t",), "s", "time since start of simulation"),
    "heel": Variable(("heel",), "degree", "angle of heel, starboard down"),
    "kept_case": Variable(("kept",), "1", "case of a kept history", "i4"),
    "kept_realisation": Variable(("kept",), "1", "realisation of a kept history", "i4"),
    "condition": Variable(("case",), "", "name of the loading condition", "str"),
}


def histories_kept() -> dict[str, Variable]:
    """The histories as variables of a file that holds those of some runs only."""
    return {
        name: replace(variable, dims=KEPT)
        for name, variable in VARIABLES.items()
        if variable.dims == HISTORY
    }


UNIT_TEXT = {
    "degree": "°",
    "degree s-1": "°/s",
    "1": "",
    "": "",
    "m s-1": "m/s",
    "m2": "m²",
    "h-1": "1/h",
    "rad s-1": "rad/s",
    "rad2 s": "rad² s",
    "percent": "%",
    "t m-3": "t/m³",
}
"""How a unit of the file is written in tables and pictures, where that differs."""


def unit_text(units: str) -> str:
    """A CF unit as people write it: "degree s-1" gives "°/s"."""
    return UNIT_TEXT.get(units, units)


def label(name: str) -> str:
    """The axis label of a variable of a result."""
    variable = VARIABLES.get(name) or COORDINATES[name]
    return with_unit(variable.long_name, variable.units)


def with_unit(words: str, units: str) -> str:
    """Words for an axis and, in brackets, the CF unit as people write it."""
    unit = unit_text(units)
    return f"{words} [{unit}]" if unit else words
