"""The variables of the files that searches and maps write, a table for each command.

As `names.VARIABLES` for a result: netCDF attributes, labels and tables all read them. Dimensions
other than `case` are free.
"""

from __future__ import annotations

from rollsim.names import Variable

MAPS: dict[str, dict[str, Variable]] = {}
"""By command: "critical" gives the variables of `<stem>-critical.nc`, and so on."""
