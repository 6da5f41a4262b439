"""The variables of the files that searches and maps write, a table for each command.

As `names.VARIABLES` for a result: netCDF attributes, labels and tables all read them. Dimensions
other than `case` are free.
"""

from __future__ import annotations

from enum import IntEnum

from rollsim.names import Variable

AFLOAT = ("displacement",)

HULL = {
    "displacement": Variable(AFLOAT, "t", "displacement in sea water"),
    "heel": Variable(("heel",), "degree", "heel, starboard down"),
    "elevation": Variable(("elevation",), "m", "elevation amidships of a wave of her length"),
    "opening": Variable(("opening",), "1", "opening", "str", optional=True),
    "kn": Variable((*AFLOAT, "heel"), "m", "KN, lever about the keel"),
    "km": Variable(AFLOAT, "m", "height of the upright metacentre above the keel"),
    "kb": Variable(AFLOAT, "m", "height of the centre of buoyancy above the keel"),
    "bm": Variable(AFLOAT, "m", "metacentric radius"),
    "draught": Variable(AFLOAT, "m", "draught amidships"),
    "trim": Variable(AFLOAT, "m", "trim, draught aft less draught fore"),
    "along_of_buoyancy": Variable(AFLOAT, "m", "centre of buoyancy forward of the after end"),
    "waterplane_area": Variable(AFLOAT, "m2", "area of the waterplane"),
    "tonnes_per_cm": Variable(AFLOAT, "t cm-1", "tonnes per centimetre of immersion"),
    "deck_edge_heel": Variable(AFLOAT, "degree", "heel at which the deck edge comes under water"),
    "opening_heel": Variable(
        (*AFLOAT, "opening"), "degree", "heel at which openings come under water", optional=True
    ),
    "kn_in_waves": Variable((*AFLOAT, "elevation", "heel"), "m", "KN on a wave of her length"),
    "km_in_waves": Variable((*AFLOAT, "elevation"), "m", "KM on a wave of her length"),
    "gm_per_m": Variable(AFLOAT, "1", "change of GM per metre of elevation, by least squares"),
    "gm_per_m_miss": Variable(AFLOAT, "m", "greatest error of levers by gm_per_m, up to 40°"),
    "station_along": Variable(("station",), "m", "stations forward of the after end"),
    "station_y": Variable(("station", "outline"), "m", "outline of a station, to starboard"),
    "station_z": Variable(("station", "outline"), "m", "outline of a station, above the keel"),
}


class Search(IntEnum):
    """How the search for a critical value ended."""

    FOUND = 1
    NOT_PASSED = 2
    UNDECIDED = 3
    NOT_SOLVED = 4


TRIAL = ("case", "trial")
PASSING = ("case", "passing")

MAPS: dict[str, dict[str, Variable]] = {
    "hull": HULL,
    "critical": {
        "critical_value": Variable(
            ("case",), "", "value of the key at which the event has the probability"
        ),
        "critical_value_lower": Variable(("case",), "", "critical value, lower 95 % limit"),
        "critical_value_upper": Variable(("case",), "", "critical value, upper 95 % limit"),
        "critical_search": Variable(("case",), "1", "how the search ended", "i1"),
        "critical_rises": Variable(
            ("case",), "1", "whether the event becomes more likely there as the value grows", "i1"
        ),
        "critical_probability": Variable(
            ("case",), "1", "probability searched for, missing where nothing is random"
        ),
        "own_value": Variable(("case",), "", "value that the scenario gives the key"),
        "note": Variable(("case",), "", "what the answer does not say", "str"),
        "trial_value": Variable(TRIAL, "", "value of the key that was tried"),
        "trial_runs": Variable(TRIAL, "1", "runs at that value, in the first storms", "i4"),
        "trial_events": Variable(TRIAL, "1", "runs in which the event happened", "i4"),
        "trial_solved": Variable(TRIAL, "1", "runs that were solved", "i4"),
        "passing_lower": Variable(
            PASSING, "", "last value tried before a further passing", optional=True
        ),
        "passing_upper": Variable(
            PASSING, "", "first value tried after a further passing", optional=True
        ),
    },
}
"""By command: "critical" gives the variables of `<stem>-critical.nc`, and so on."""
