"""The variables of the files that searches and maps write, a table for each command.

As `names.VARIABLES` for a result: netCDF attributes, labels and tables all read them. Dimensions
other than `case` are free.
"""

from __future__ import annotations

from enum import IntEnum

from rollsim.names import Variable


class Search(IntEnum):
    """How the search for a critical value ended."""

    FOUND = 1
    NOT_PASSED = 2
    UNDECIDED = 3
    NOT_SOLVED = 4


TRIAL = ("case", "trial")
PASSING = ("case", "passing")

MAPS: dict[str, dict[str, Variable]] = {
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
