"""Which limits a case gets from its file and from the end of its levers."""

from __future__ import annotations

import math

import pytest

from rollsim.scenario.load import loads
from rollsim.study.plan import make_plan

TABLES = {
    "ship": (
        'name = "Trial"\nlength_m = 60.0\nbeam_m = 12.0\ndraught_m = 4.0\ndisplacement_t = 1000.0'
    ),
    "ship.levers": (
        'kind = "kn"\n'
        "heel_deg = [-55, -40, -25, -10, 0, 10, 25, 40, 60, 85]\n"
        "kn_m = [-4.2, -3.35, -2.2, -0.9, 0.0, 0.9, 2.2, 3.4, 4.5, 4.9]"
    ),
    "ship.gravity": "kg_m = 4.8",
    "ship.inertia": "gyradius_m = 4.0",
    "run": "duration_s = 20.0",
}
"""A hull with more freeboard to starboard."""


@pytest.mark.parametrize(
    ("limits", "capsize_deg"), [({}, 55.0), ({"limits": "capsize_deg = 50.0"}, 50.0)]
)
def test_a_lopsided_table_ends_at_its_nearer_end(
    limits: dict[str, str], capsize_deg: float
) -> None:
    """No heel of either side may pass beyond what is known of it."""
    tables = TABLES | limits
    text = "".join(f"[{key}]\n{lines}\n" for key, lines in tables.items())
    case = make_plan(loads("format = 1\n" + text)).cases[0]
    assert math.degrees(case.limits.capsize) == pytest.approx(capsize_deg, abs=1e-9)
    assert case.limits.capsize <= min(-case.levers.heel_min, case.levers.heel_max)
    assert case.limits.roll == case.limits.flooding == math.inf
