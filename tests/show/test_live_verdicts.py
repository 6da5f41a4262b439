"""The live page's statics and verdicts: the program's own, on random states and on purpose."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from live_samples import SHIP, do, released, state
from page_browser import Browser

from rollsim.library import loads
from rollsim.ship.levers import Gravity, metacentric_height
from rollsim.ship.metacentre import buoyancy, metacentre
from rollsim.ship.righting import Heeling, RightingCurve
from rollsim.ship.statics import static_heel
from rollsim.ship.verdict import RULES, Moment, verdicts

CASE = loads(SHIP).plan.cases[0]


def moment(values: dict[str, float]) -> Moment:
    """The program's own moment of what is set."""
    gravity = Gravity(values["kg_m"], values["off_centre_m"], values["free_surface_m"])
    heeling = Heeling(lever=values["heeling_lever_m"])
    return Moment(
        RightingCurve(CASE.levers, gravity, heeling),
        metacentric_height(CASE.levers, gravity),
        gravity.off_centre,
        heeling.lever,
        CASE.coefficients.inertia,
        CASE.limits.capsize,
    )


def states(count: int) -> list[tuple[dict[str, float], float, float]]:
    """What is set, roll [degree] and rate [degree/s], at random, borders of the table too."""
    draw = np.random.default_rng(13)
    made = []
    for _ in range(count):
        near = draw.random() < 0.4
        values = {
            "kg_m": float(draw.choice([draw.uniform(5.0, 6.2), 5.66, 5.76])),
            "off_centre_m": float(draw.choice([0.0, 0.0, draw.uniform(-0.06, 0.06)])),
            "free_surface_m": float(draw.choice([0.0, 0.08])),
            "heeling_lever_m": float(draw.choice([0.0, 0.0, draw.uniform(-0.15, 0.15)])),
        }
        roll = float(draw.uniform(-85.0, 85.0))
        rate = float(draw.choice([0.0, 0.05, draw.normal(0.0, 6.0)]))
        if near:
            heel = static_heel(moment(values).curve, np.radians(roll))
            roll = float(np.degrees(heel)) if np.isfinite(heel) else 0.3
            roll += float(draw.uniform(-0.4, 0.4))  # at the very heel rounding decides
        made.append((values, roll, rate))
    return made


def test_random_states_have_the_program_s_verdict(live: Browser) -> None:
    seen = set()
    for values, roll, rate in states(160):
        released(live, values, roll, rate)
        said = state(live)
        own = moment(values)
        heel, speed = np.radians([roll]), np.radians([rate])
        verdict = verdicts(own, heel, speed)
        mirrored = verdicts(own, -heel, -speed)
        centred = not values["off_centre_m"] and not values["heeling_lever_m"]
        if centred and str(verdict.name[0]) != str(mirrored.name[0]):
            continue  # of two wells of one depth either may be the lowest: rounding decides
        assert said["verdict"] == str(verdict.name[0]), (values, roll, rate)
        seen.add(said["verdict"])
        well = float(np.degrees(verdict.well[0]))
        assert (said["heel_deg"] is None) == np.isnan(well), (values, roll, rate)
        if np.isfinite(well):
            assert said["heel_deg"] == pytest.approx(well, abs=1e-6)
        assert said["gm_m"] == pytest.approx(own.gm, abs=1e-12)
        gz = own.curve.value(heel) + values["heeling_lever_m"]
        assert said["gz_m"] == pytest.approx(float(gz[0]), abs=1e-12)
        assert said["m"] == pytest.approx(np.ravel(metacentre(CASE.levers, heel)), abs=1e-9)
        assert said["b"] == pytest.approx(np.ravel(buoyancy(CASE.levers, heel, 2.765)), abs=1e-9)
    assert seen == set(RULES) - {"capsized", "flopping"} | (seen & {"flopping"})
    assert len(seen) >= 8


REACHED: dict[str, tuple[dict[str, float], float, float, float]] = {
    "capsized": ({"kg_m": 6.4}, 60.0, 5.0, 60.0),
    "going-over": ({"kg_m": 5.9}, 55.0, 2.0, 0.5),
    "flopping": ({"kg_m": 5.76}, 0.5, 6.0, 0.0),
    "loll": ({"kg_m": 5.76}, 12.0, 0.0, 400.0),
    "held-over": ({"kg_m": 5.3, "heeling_lever_m": 0.05}, 0.0, 0.0, 400.0),
    "list": ({"kg_m": 5.3, "off_centre_m": 0.05}, 0.0, 0.0, 400.0),
    "upright": ({"kg_m": 5.3}, 5.0, 0.0, 400.0),
    "rights": ({"kg_m": 5.3}, 15.0, 0.0, 5.0),
    "rolls": ({"kg_m": 5.76}, 20.0, 0.0, 5.0),
}
"""What is set, start roll and rate, and seconds after which each verdict holds."""


@pytest.mark.parametrize("verdict", REACHED)
def test_every_verdict_is_reached_on_purpose(live: Browser, verdict: str) -> None:
    values, roll, rate, seconds = REACHED[verdict]
    released(live, values, roll, rate)
    do(live, "advance", seconds)
    assert state(live)["verdict"] == verdict
    assert (state(live)["outcome"] == "capsized") == (verdict == "capsized")
    live.wait_for(f"document.getElementById('verdict').textContent.includes({words(verdict)!r})")
    assert live.problems() == []


def words(verdict: str) -> str:
    """The beginning of what the page says of a verdict."""
    from rollsim.show.query.words import VERDICTS

    return VERDICTS[verdict].split("{")[0]


def test_the_barrel_is_neutral_at_every_heel(live: Browser) -> None:
    live.enter("hull", 2)
    for roll in (-60.0, -3.0, 0.0, 25.0, 80.0):
        released(live, {"kg_m": 7.0}, roll)
        do(live, "advance", 100)
        said: dict[str, Any] = state(live)
        assert said["verdict"] == "neutral"
        assert said["roll_deg"] == pytest.approx(roll, abs=1e-9)
