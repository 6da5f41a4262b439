"""List or loll: Bayes' rule against plain sampling, and calibration over simulated ships.

Sampling: states drawn from what was known before, each put to rest by the program's `equilibria`
or by the cubic of the wall-sided formula, weighted by the likelihood of what is seen.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from rollsim.ship import heel_cause, heel_states
from rollsim.ship.heel_cause import UnexplainedError, cause_of
from rollsim.ship.heel_states import Normal, Observation, Ship
from rollsim.ship.levers import wall_sided
from rollsim.ship.righting import Heeling

KM, BM, INERTIA = 5.66, 3.0, 5.3**2 / 9.80665
SHIP = Ship(wall_sided(KM, BM, math.radians(60.0)), Heeling(), INERTIA)
KG, OFF = Normal(5.65, 0.1), Normal(0.0, 0.02)
SURE = Normal(0.0, 0.0)


def rests(gm: float, y: float) -> list[tuple[float, float]]:
    """Stable heels [rad] and slopes there, by the cubic (BM/2) t³ + GM t − y = 0."""
    found = []
    for root in np.roots([0.5 * BM, 0.0, gm, -y]):
        if abs(root.imag) < 1e-9 and abs(root.real) < math.tan(math.radians(59.9)):
            heel = math.atan(root.real)
            s, c, t = math.sin(heel), math.cos(heel), root.real
            slope = (gm + 0.5 * BM * t * t) * c + BM * t / c**2 * s + y * s
            if slope > 0.0:
                found.append((heel, slope))
    return found


def kind(gm: float, heel: float) -> int:
    if gm > 0.0:
        return heel_cause.LIST
    loll = math.atan(math.sqrt(-2.0 * gm / BM))
    return heel_cause.LOLL if abs(abs(heel) - loll) <= 0.1 * loll else heel_cause.BOTH


@pytest.mark.parametrize("timed", [False, True])
@pytest.mark.parametrize("sides", [None, True, False])
def test_against_plain_sampling(timed: bool, sides: bool | None) -> None:
    period = Normal(24.0, 3.0) if timed else None
    seen = Observation(
        Normal(math.radians(10.0), math.radians(2.0)), KG, OFF, SURE, period, sides
    )  # fmt: skip
    random = np.random.default_rng(3)
    total = np.zeros(3)
    gms, weights = [], []
    for kg, y in zip(random.normal(*KG, 20_000), random.normal(*OFF, 20_000), strict=True):
        gm = KM - kg
        at = rests(gm, y)
        both = min(h for h, _ in at) <= 0.0 < max(h for h, _ in at) if len(at) > 1 else False
        if sides is True and not both:
            continue
        for heel, slope in at:
            weight = math.exp(seen.heel.log(np.array(heel))) / len(at)
            weight *= 0.5 if sides is False and both else 1.0
            if period is not None:
                there = math.tau * math.sqrt(INERTIA / slope)
                weight *= math.exp(-0.5 * ((there - 24.0) / 3.0) ** 2)
            total[kind(gm, heel)] += weight
            gms.append(gm)
            weights.append(weight)
    found = cause_of(SHIP, seen)
    assert found.probability == pytest.approx(total / total.sum(), abs=0.025)
    mean = np.average(gms, weights=weights)
    deviation = math.sqrt(np.average((np.array(gms) - mean) ** 2, weights=weights))
    assert found.gm.median == pytest.approx(mean, abs=0.25 * deviation)
    assert found.gm.lower < mean - 1.2 * deviation
    assert found.gm.upper > mean + 1.2 * deviation


def test_what_is_told_beforehand_stands_where_nothing_is_seen() -> None:
    """A heel known to no better than the levers reach tells little."""
    seen = Observation(Normal(0.0, math.radians(25.0)), Normal(5.3, 0.02), OFF, SURE)
    found = cause_of(SHIP, seen)
    assert found.probability[heel_cause.LIST] == pytest.approx(1.0, abs=1e-6)
    assert found.gm.median == pytest.approx(KM - 5.3, abs=0.002)
    assert found.gm.upper - found.gm.lower == pytest.approx(4.0 * 0.02, rel=0.05)


def test_nothing_explains_a_heel_that_no_state_has() -> None:
    seen = Observation(Normal(math.radians(40.0), math.radians(0.5)), Normal(4.0, 0.02), OFF, SURE)
    with pytest.raises(UnexplainedError, match="no state of the ship") as caught:
        cause_of(SHIP, seen)
    assert math.degrees(caught.value.nearest["heel"]) < 40.0


def test_a_stop_watch_tells_list_from_loll() -> None:
    """The issue's own case: a lolled ship rolls slowly, a listed one does not (common practice)."""
    heel = Normal(math.radians(9.0), math.radians(0.5))
    untimed = cause_of(SHIP, Observation(heel, KG, OFF, SURE))
    assert next(iter(untimed.bits)) == "roll period by stop-watch"
    slow = cause_of(SHIP, Observation(heel, KG, OFF, SURE, Normal(40.0, 1.0)))
    quick = cause_of(SHIP, Observation(heel, KG, OFF, SURE, Normal(22.0, 1.0)))
    assert slow.probability[heel_cause.LIST] < 0.05
    assert quick.probability[heel_cause.LIST] > 0.95


@pytest.mark.slow
def test_calibration_over_500_ships(monkeypatch: pytest.MonkeyPatch) -> None:
    """Ships drawn from what is known, seen with its errors: probabilities come true as often as
    they say, and intervals hold the truth in 95 of 100."""
    monkeypatch.setattr(heel_states, "HEIGHTS", 121)
    monkeypatch.setattr(heel_states, "HEELS", 61)
    random = np.random.default_rng(11)
    told, held, true = [], 0, []
    sd, count = math.radians(0.7), 500
    for _ in range(count):
        kg, y = random.normal(*KG), random.normal(*OFF)
        gm = KM - kg
        heel, slope = (at := rests(gm, y))[random.integers(len(at))]
        period = math.tau * math.sqrt(INERTIA / slope)
        timed = Normal(random.normal(period, 2.0), 2.0) if random.random() < 0.5 else None
        seen = Observation(Normal(random.normal(heel, sd), sd), KG, OFF, SURE, timed)
        found = cause_of(SHIP, seen)
        told.append(found.probability)
        true.append(kind(gm, heel))
        held += found.gm.lower <= gm <= found.gm.upper
    assert held / count == pytest.approx(0.95, abs=0.03)
    probabilities, causes = np.array(told), np.array(true)
    for each in (heel_cause.LIST, heel_cause.LOLL, heel_cause.BOTH):
        own = probabilities[:, each]
        error = math.sqrt(float(np.sum(own * (1.0 - own))))
        assert abs(np.count_nonzero(causes == each) - own.sum()) < 3.0 * error + 1.0
        for low, high in ((0.0, 0.2), (0.2, 0.5), (0.5, 0.8), (0.8, 1.0)):
            some = (own >= low) & (own <= high)
            expected = own[some].sum()
            error = math.sqrt(float(np.sum(own[some] * (1.0 - own[some]))))
            happened = np.count_nonzero(causes[some] == each)
            assert abs(happened - expected) < 3.5 * error + 1.0
