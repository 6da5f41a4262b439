"""The contract's own example of a scenario file, and a way to break it at a marked place."""

from __future__ import annotations

import math

import pytest

from rollsim.errors import Fault, InputError
from rollsim.scenario.load import loads

BASE = """\
format = 1
title = "beam gale"

[ship]
name = "invented coaster"
length_m = 84.0
beam_m = 14.0
draught_m = 5.2
depth_m = 8.1
displacement_t = 4250.0

[ship.levers]
kind = "kn"
heel_deg = [0, 5, 10, 15, 20, 25, 30, 35, 40, 45, 50, 55, 60, 70, 80, 90]
kn_m = [0.0, 0.493, 0.983, 1.474, 1.969, 2.468, 2.923, 3.319, 3.658, 3.938, 4.160, 4.327, 4.444, \
4.542, 4.476, 4.264]
km_m = 5.659
kb_m = 2.739

[ship.gravity]
kg_m = 5.30
off_centre_m = 0.0
free_surface_m = 0.0

[ship.inertia]
gyradius_m = 5.3

[ship.damping]
linear_per_s = 0.012
quadratic = 0.35

[ship.windage]
area_m2 = 620.0
lever_m = 6.4

[limits]
roll_deg = 40.0
flooding_deg = 42.0
capsize_deg = 90.0

[wind]
speed_mps = 24.0
from = "port"
drag_coefficient = 1.22
heel_law = "constant"

[[wind.gust]]
at_s = 60.0
rise_s = 2.0
hold_s = 20.0
speed_factor = 1.22

[sea]
kind = "irregular"
spectrum = "bretschneider"
significant_height_m = 6.0
peak_period_s = 11.0
heading_deg = 90.0
ship_speed_mps = 0.0
slope_coefficient = "section"
excitation = "relative"

[start]
roll_deg = 0.0
roll_rate_deg_per_s = 0.0

[[events]]
kind = "move-weight"
at_s = 300.0
over_s = 60.0
mass_t = 40.0
across_m = 2.0
up_m = 0.0

[run]
duration_s = 3600.0
output_step_s = 0.5
settle_s = 0.0
realisations = 50
seed = 7
method = "DOP853"
relative_tolerance = 1e-8
"""

GRID = """
[sweep]
"ship.gravity.kg_m" = [5.10, 5.30, 5.45]
"sea.significant_height_m" = { from = 2.0, to = 10.0, steps = 5 }

[[conditions]]
name = "deck cargo"
"ship.windage.area_m2" = 760.0
"""

EXAMPLE = BASE + GRID
"""The contract's example: the base with a sweep and a condition."""

HEELS = [0, 5, 10, 15, 20, 25, 30, 35, 40, 45, 50, 55, 60, 70, 80, 90]
KN = [0.0, 0.493, 0.983, 1.474, 1.969, 2.468, 2.923, 3.319, 3.658, 3.938, 4.160, 4.327, 4.444,
      4.542, 4.476, 4.264]  # fmt: skip
GZ_KG = 5.3
GZ = [round(kn - GZ_KG * math.sin(math.radians(h)), 3) for kn, h in zip(KN, HEELS, strict=True)]
"""The rows of the sample, and the same as GZ for a KG."""

MARK = "¤"
"""Stands in a test's text where a fault must point."""


def faults_of(text: str) -> list[Fault]:
    """The faults that loading a text tells."""
    with pytest.raises(InputError, match=r"coaster\.toml") as caught:
        loads(text, "coaster.toml")
    return list(caught.value.faults)


def broken(marked: str) -> tuple[list[Fault], tuple[int, int]]:
    """The faults of a marked text, and the line and column of its mark."""
    before, mark, after = marked.partition(MARK)
    assert mark, "the edit did not find its place"
    place = before.count("\n") + 1, len(before) - before.rfind("\n")
    return faults_of(before + after), place
