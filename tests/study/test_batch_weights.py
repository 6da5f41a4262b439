"""Weights moved, added and removed: G by moments, levers per unit of the changed weight."""

from __future__ import annotations

import numpy as np
import pytest
from batch_samples import DISPLACEMENT, WIND, WINDAGE, Arrays, measured
from numpy.typing import NDArray

Floats = NDArray[np.float64]

KG, ACROSS = 4.8, 0.01
TABLES = {
    "ship.gravity": f"kg_m = {KG}\noff_centre_m = {ACROSS}\nfree_surface_m = 0.05",
    "ship.windage": WINDAGE,
    "wind": WIND,
    "ship.damping": "linear_per_s = 0.1",
}


def event(kind: str, at: float, over: float, mass: float, **places: float) -> str:
    """One table of events."""
    keys = {"at_s": at, "over_s": over, "mass_t": mass} | places
    return f'[[events]]\nkind = "{kind}"\n' + "".join(f"{k} = {v}\n" for k, v in keys.items())


def share(t: Floats, at: float, over: float) -> Floats:
    """How much of an event has come; a sudden one acts from its moment on."""
    return np.clip((t - at) / over, 0.0, 1.0) if over else (t >= at).astype(float)


def check_gravity(found: Arrays, mass: Floats, height: Floats, across: Floats) -> None:
    """G from mass [t] and moments [t m]; levers for that weight."""
    np.testing.assert_allclose(found["centre_of_gravity_z"][0], height / mass, rtol=1e-12)
    np.testing.assert_allclose(found["centre_of_gravity_y"][0], across / mass, atol=1e-14)
    wind = found["steady_heeling_lever"][0, 0] * DISPLACEMENT / mass
    np.testing.assert_allclose(found["heeling_lever"][0, 0], wind, rtol=1e-6)


@pytest.mark.parametrize("over", [0.0, 6.0])
def test_a_moved_weight_moves_g_and_no_displacement(over: float) -> None:
    found = measured(TABLES, event("move-weight", 5.0, over, 40.0, across_m=-3.0, up_m=2.0))
    done = share(found["t"], 5.0, over)
    check_gravity(
        found,
        np.full(done.size, DISPLACEMENT),
        DISPLACEMENT * KG + 40.0 * 2.0 * done,
        DISPLACEMENT * ACROSS - 40.0 * 3.0 * done,
    )


@pytest.mark.parametrize(("kind", "sign"), [("add-weight", 1.0), ("remove-weight", -1.0)])
@pytest.mark.parametrize("over", [0.0, 6.0])
def test_an_added_weight_changes_displacement_and_both_moments(
    kind: str, sign: float, over: float
) -> None:
    found = measured(TABLES, event(kind, 5.0, over, 45.0, height_m=7.0, across_m=2.0))
    mass = sign * 45.0 * share(found["t"], 5.0, over)
    check_gravity(
        found,
        DISPLACEMENT + mass,
        DISPLACEMENT * KG + 7.0 * mass,
        DISPLACEMENT * ACROSS + 2.0 * mass,
    )


def test_events_add_up_where_they_overlap() -> None:
    events = event("add-weight", 2.0, 8.0, 40.0, height_m=8.0, across_m=1.0)
    events += event("remove-weight", 6.0, 6.0, 30.0, height_m=1.0, across_m=-2.0)
    events += event("move-weight", 4.0, 0.0, 20.0, across_m=2.0, up_m=-1.0)
    found = measured(TABLES, events)
    t = found["t"]
    on, off = 40.0 * share(t, 2.0, 8.0), -30.0 * share(t, 6.0, 6.0)
    moved = 20.0 * share(t, 4.0, 0.0)
    check_gravity(
        found,
        DISPLACEMENT + on + off,
        DISPLACEMENT * KG + 8.0 * on + 1.0 * off - 1.0 * moved,
        DISPLACEMENT * ACROSS + 1.0 * on - 2.0 * off + 2.0 * moved,
    )


def test_she_comes_to_rest_at_the_heel_of_the_new_g() -> None:
    tables = {"ship.damping": "linear_per_s = 1.0", "run": 'duration_s = 60.0\nmethod = "DOP853"'}
    shift = event("move-weight", 5.0, 10.0, 20.0, across_m=2.0, up_m=0.0)
    moved = measured(tables, shift)
    off_centre = measured(tables | {"ship.gravity": "kg_m = 5.0\noff_centre_m = 0.04"})
    assert moved["roll_angle"][0, 0, -1] == pytest.approx(off_centre["static_heel"][0], abs=1e-3)
    assert moved["static_heel"][0] == 0.0


def test_an_event_at_the_start_is_no_part_of_the_statics() -> None:
    found = measured(TABLES, event("move-weight", 0.0, 0.0, 40.0, across_m=3.0, up_m=2.0))
    before = measured(TABLES)
    for name in ("gm", "static_heel", "righting_lever", "vanishing_angle"):
        np.testing.assert_array_equal(found[name], before[name], err_msg=name)
    assert found["centre_of_gravity_y"][0, 0] == pytest.approx(ACROSS + 0.12)
