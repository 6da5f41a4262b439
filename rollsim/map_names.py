"""The variables of the files that searches and maps write, a table for each command.

As `names.VARIABLES` for a result: netCDF attributes, labels and tables all read them. Dimensions
other than `case` are free.
"""

from __future__ import annotations

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

MAPS: dict[str, dict[str, Variable]] = {"hull": HULL}
"""By command: "critical" gives the variables of `<stem>-critical.nc`, and so on."""
