"""A small hull file, and a scenario of the ship that it describes."""

from __future__ import annotations

HULL = """\
format = 1
name = "barge"

[[stations]]
along_m = 0.0
half_breadth_m = [0.0, 5.0, 7.0, 7.0]
height_m = [0.0, 0.0, 1.5, 8.0]

[[stations]]
along_m = 60.0
half_breadth_m = [0.0, 5.0, 7.0, 7.0]
height_m = [0.0, 0.0, 1.5, 8.0]

[[stations]]
along_m = 80.0
half_breadth_m = [0.0, 0.5, 0.5, 0.5]
height_m = [0.0, 0.0, 1.5, 8.5]

[[buoyant]]
name = "house"
box_m = { aft = 2.0, fore = 20.0, port = -5.0, starboard = 5.0, bottom = 8.0, top = 10.5 }

[[openings]]
name = "vent"
along_m = 10.0
across_m = 5.2
height_m = 10.5
"""

SHIP = """\
format = 1
[ship]
name = "Barge"
displacement_t = 4000.0
[ship.levers]
kind = "hull"
file = "barge-hull.toml"
[ship.gravity]
kg_m = 5.0
[ship.inertia]
gyradius_m = 5.3
[run]
duration_s = 100
"""
