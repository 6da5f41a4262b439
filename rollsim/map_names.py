"""The variables of the files that searches and maps write, a table for each command.

As `names.VARIABLES` for a result: netCDF attributes, labels and tables all read them. Dimensions
other than `case` are free.
"""

from __future__ import annotations

from enum import IntEnum

from rollsim.names import VARIABLES, Variable


class BranchEnd(IntEnum):
    """Why a branch of steady responses or of heels of rest goes no further."""

    NO_BRANCH = 0
    RANGE = 1
    JOINED = 2
    CAPSIZE = 3
    STEP_TOO_SMALL = 4
    CLOSED = 5
    TOO_MANY_POINTS = 6
    LEVERS = 7

    @property
    def words(self) -> str:
        """The same for people: of a branch it is said that .."""
        return _END_WORDS[self]


_END_WORDS = {
    BranchEnd.NO_BRANCH: "there is none",
    BranchEnd.RANGE: "the range ends",
    BranchEnd.JOINED: "it meets another branch",
    BranchEnd.CAPSIZE: "she reaches the capsize angle",
    BranchEnd.STEP_TOO_SMALL: "its step became too small to go on",
    BranchEnd.CLOSED: "it comes round to where it began",
    BranchEnd.TOO_MANY_POINTS: "it has as many points as are followed",
    BranchEnd.LEVERS: "the levers end",
}


class FoundBy(IntEnum):
    """From where a branch of steady responses was first met."""

    NO_BRANCH = 0
    CALM_WATER = 1
    FLIP = 2
    CROSSING = 3
    SLOW_SWEEP = 4
    GRID_OF_STARTS = 5


STARTS = ("case", "roll_rate", "roll")
POINT = ("case", "branch", "point")
FOLD, FLIP, BRANCHING = ("case", "fold"), ("case", "flip"), ("case", "branching")
LEVEL = ("case", "backbone", "level")

AT_REST: dict[str, Variable] = {
    name: VARIABLES[name]
    for name in ("loll_angle", "loll_angle_port", "capsize_limit", "roll_limit", "flooding_limit")
}
"""What the pictures of a map tell of the ship."""

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
MAPS["basin"] = {
    "roll": Variable(("roll",), "degree", "roll angle at the start, starboard down"),
    "roll_rate": Variable(("roll_rate",), "degree s-1", "roll rate at the start, starboard down"),
    "outcome": Variable(STARTS, "1", "how the run from that start ended", "i1", "status_flag"),
    "failure_time": Variable(STARTS, "s", "time of the first passing of any limit", "f4"),
    "well": Variable(STARTS, "1", "side of the well in which a surviving run ends", "i1"),
    "safe_share": Variable(("case",), "1", "share of the starts that survive"),
    "safe_area": Variable(("case",), "rad2 s-1", "area of the starts that survive"),
    "wave_height": Variable(("case",), "m", "height of the regular wave"),
    "melnikov_height": Variable(
        ("case",), "m", "wave height from which the safe basin is eroded, by Melnikov's estimate"
    ),
    "melnikov_height_between": Variable(
        ("case",), "m", "wave height from which she may change wells, by Melnikov's estimate"
    ),
    **AT_REST,
}

MAPS["equilibria"] = {
    "value": Variable(POINT, "", "value of the key"),
    "heel": Variable(POINT, "degree", "heel of rest, starboard down"),
    "stable": Variable(POINT, "1", "whether she stays there", "i1"),
    "branch_end": Variable(
        ("case", "branch", "end"), "1", "why the branch goes no further there", "i1"
    ),
    "fold_value": Variable(FOLD, "", "value of the key at which two equilibria meet and end"),
    "fold_heel": Variable(FOLD, "degree", "heel at which two equilibria meet and end"),
    "branching_value": Variable(BRANCHING, "", "value of the key at which branches cross"),
    "branching_heel": Variable(BRANCHING, "degree", "heel at which branches cross"),
    "present_value": Variable(("case",), "", "value that the case has for the key"),
    "present_heel": Variable(("case",), "degree", "static heel of the case as it is"),
    "track_value": Variable(("case", "track"), "", "value of the key as it is slowly changed"),
    "track_heel": Variable(
        ("case", "side", "track"), "degree", "heel meanwhile, from the rests at the last value"
    ),
    **AT_REST,
}

MAPS["response"] = {
    "value": Variable(POINT, "", "value of the key"),
    "roll_amplitude": Variable(
        POINT, "degree", "half of greatest less least roll over the period of the response"
    ),
    "roll_mean": Variable(POINT, "degree", "time mean of the roll, starboard down"),
    "stable": Variable(POINT, "1", "whether the response is stable", "i1"),
    "multiplier_real": Variable(
        (*POINT, "multiplier"), "1", "multiplier over the period of the response, real part"
    ),
    "multiplier_imag": Variable(
        (*POINT, "multiplier"), "1", "multiplier over the period of the response, imaginary part"
    ),
    "period_ratio": Variable(
        ("case", "branch"),
        "1",
        "period of the response over that of the wave, 0 for no branch",
        "i4",
    ),
    "branch_end": Variable(
        ("case", "branch", "end"), "1", "why the branch goes no further there", "i1"
    ),
    "found_by": Variable(("case", "branch"), "1", "from where the branch was first met", "i1"),
    "island": Variable(
        ("case", "branch"), "1", "whether no branch from calm water leads to it in the range", "i1"
    ),
    "grid_value": Variable(
        ("grid",), "", "value of the key at which a whole grid of starts was run"
    ),
    "not_followed": Variable(
        ("case",),
        "1",
        "flips, crossings and states that no branch was followed from, ways from calm water lost",
        "i4",
    ),
    "fold_value": Variable(FOLD, "", "value of the key at which responses meet and end"),
    "fold_amplitude": Variable(FOLD, "degree", "roll amplitude at a fold"),
    "flip_value": Variable(FLIP, "", "value of the key at which the period doubles"),
    "flip_amplitude": Variable(FLIP, "degree", "roll amplitude at a flip"),
    "branching_value": Variable(BRANCHING, "", "value of the key at which branches cross"),
    "branching_amplitude": Variable(BRANCHING, "degree", "roll amplitude where branches cross"),
    "sweep_value": Variable(("sweep",), "", "value of the key in the slow sweeps"),
    "sweep_up": Variable(("case", "sweep"), "degree", "roll amplitude as the value goes up"),
    "sweep_down": Variable(("case", "sweep"), "degree", "roll amplitude as the value goes down"),
    "backbone_value": Variable(
        LEVEL, "s", "wave period that a free roll keeps time with", optional=True
    ),
    "backbone_amplitude": Variable(LEVEL, "degree", "half-swing of the free roll", optional=True),
    "backbone_ratio": Variable(
        ("case", "backbone"), "1", "waves to one free roll, 0 for no backbone", "i4", optional=True
    ),
    **AT_REST,
}

SAYS: dict[str, dict[str, type | tuple[str, ...]]] = {
    "hull": {"title": str, "length_m": float},
    "critical": {
        **dict.fromkeys(("searched_key", "searched_name"), str),
        **dict.fromkeys(("searched_from", "searched_to", "tolerance"), float),
        **dict.fromkeys(("most_runs", "duration_s"), float),
        "event": ("capsize", "failure"),
    },
    "equilibria": {"equilibria_key": str},
    "response": {"response_key": ("sea.period_s", "sea.height_m")},
}
"""Global attributes by which a file is read: texts, numbers, or one of some words."""
