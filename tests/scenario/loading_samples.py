"""The sample with a loading sheet in place of displacement and gravity, and with cross-curves."""

from __future__ import annotations

from scenario_samples import BASE

LOADING = """\
[ship.loading]
lightship = { mass_t = 1480.0, height_m = 6.10, along_m = 38.2 }

[[ship.loading.weights]]
name = "cargo"
mass_t = 2400.0
height_m = 4.6

[[ship.loading.weights]]
name = "timber"
mass_t = 200.0
height_m = 9.2
along_m = 40.0
absorbed_percent = 10.0
windage_m2 = 120.0
windage_height_m = 9.0

[[ship.loading.weights]]
kind = "icing"
name = "ice"
deck_area_m2 = 420.0
deck_height_m = 8.6
side_area_m2 = 310.0
side_height_m = 9.0

[[ship.loading.tanks]]
name = "port"
box_m = { aft = 30.0, fore = 42.0, port = -6.5, starboard = 0.0, bottom = 0.0, top = 1.2 }
filling_percent = 40.0

[[ship.loading.tanks]]
name = "starboard"
box_m = { aft = 30.0, fore = 42.0, port = 0.0, starboard = 6.5, bottom = 0.0, top = 1.2 }
mass_t = 80.0
"""


def scenario(loading: str = LOADING, more: str = "") -> str:
    start, end = BASE.index("[ship.gravity]"), BASE.index("[ship.inertia]")
    text = BASE[:start] + loading + "\n" + BASE[end:]
    return text.replace("displacement_t = 4250.0\n", "", 1) + more


CURVES = """\
[ship.levers]
kind = "cross-curves"
heel_deg = [0, 10, 20, 30, 40, 50, 60, 75, 90]
displacement_t = [3000.0, 3600.0, 4250.0, 5000.0]
kn_m = [
    [0.0, 1.06, 2.11, 3.16, 4.02, 4.58, 4.85, 4.9, 4.6],
    [0.0, 1.01, 2.03, 3.05, 3.88, 4.4, 4.7, 4.75, 4.45],
    [0.0, 0.983, 1.969, 2.923, 3.658, 4.16, 4.444, 4.52, 4.264],
    [0.0, 0.98, 1.96, 2.86, 3.55, 4.03, 4.33, 4.4, 4.2],
]
draught_m = [3.9, 4.5, 5.2, 5.95]
"""


def with_curves() -> str:
    """The sample with a loading and cross-curves, its draught by them."""
    text = scenario().replace("draught_m = 5.2\n", "", 1)
    start, end = text.index("[ship.levers]"), text.index("[ship.loading]")
    return text[:start] + CURVES + "\n" + text[end:]
