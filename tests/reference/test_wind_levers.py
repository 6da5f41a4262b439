"""Wind levers against the weather criterion's published figures and equal areas."""

from __future__ import annotations

import math

import pytest
from reference_runs import KG, Motion, Ship, moved, polynomial_ship

from rollsim.motion.timeline import Base, timeline
from rollsim.ship.equilibria import equilibria
from rollsim.ship.levers import Gravity, Levers
from rollsim.ship.righting import Heeling, RightingCurve
from rollsim.ship.statics import static_heel
from rollsim.weather.wind import Gust, Windage, moment_per_speed_squared


def blown(
    ship: Ship, lever: float, law: str, roll: float = 0.0, gusts: tuple[Gust, ...] = ()
) -> Motion:
    """Let go at rest in a wind of 26 m/s whose lever upright is `lever` [m], for 60 s."""
    waters = ship.calm._replace(
        wind=lever / 26.0**2, heel_law={"constant": 0, "cos": 1, "cos2": 2}[law]
    )
    segments = timeline(60.0, Base(ship.gravity, 26.0), gusts=gusts)
    return moved(waters, segments, (roll, 0.0), 0.05, ship.levers.heel_max)


def test_published_wind_pressure() -> None:
    # Published: 504 Pa (2008 IS Code, part A 2.3); a wind of 26 m/s in air of 1.222 kg/m³
    # (MSC.1/Circ.1200). From memory: the drag coefficient 1.22. Exact: 503.90 Pa.
    pressure = moment_per_speed_squared(Windage(1.0, 1.0), 1.22) * 26.0**2
    assert pressure == pytest.approx(504.0, abs=0.5)
    assert pressure == pytest.approx(503.90, abs=0.005)


def test_published_gust_lever() -> None:
    # Published: the gust lever is 1.5 times the steady one (2008 IS Code, part A 2.3): a gust
    # factor of √1.5 on the speed. A ship resting in the wind must swing to where 1.5 lw1 takes her.
    ship = polynomial_ship(1.0)
    steady = 0.05
    gust = Gust(0.0, 0.0, 60.0, math.sqrt(1.5))
    motion = blown(ship, steady, "constant", steady, (gust,))
    assert motion.solution.roll_max == pytest.approx(2.0 * 1.5 * steady - steady, rel=1e-9)


def test_equal_areas_of_the_weather_criterion() -> None:
    # Exact: GZ = 1.5 sin φ, lw1 0.10, lw2 0.15, rolled 25° to windward of the steady heel, limit
    # 50°: areas a and b, and the undamped roll to leeward at which they are equal.
    ship = Ship(Levers(-math.pi, math.pi, sine=KG + 1.5), Gravity(KG))
    steady = RightingCurve(ship.levers, ship.gravity, Heeling(wind=0.10))
    gusty = RightingCurve(ship.levers, ship.gravity, Heeling(wind=0.15))
    rest = static_heel(steady, 0.0)
    assert math.degrees(rest) == pytest.approx(3.822553729274344, abs=1e-11)
    crossing = static_heel(gusty, 0.0)
    assert math.degrees(crossing) == pytest.approx(5.739170477266786, abs=1e-11)
    start, limit = rest - math.radians(25.0), math.radians(50.0)
    assert -gusty.area(start, crossing) == pytest.approx(0.16424957692577746, rel=1e-12)
    assert gusty.area(crossing, limit) == pytest.approx(0.41242516040478017, rel=1e-12)
    reached = blown(ship, 0.15, "constant", start).solution.roll_max
    assert math.degrees(reached) == pytest.approx(33.09802889686674, abs=1e-7)


@pytest.mark.parametrize(("law", "power"), [("constant", 0), ("cos", 1), ("cos2", 2)])
def test_swing_under_each_heel_law(law: str, power: int) -> None:
    # Exact by energy: from rest upright she turns where ∫(GZ − l cosⁿφ) dφ is 0 again; she never
    # turns at all past the static limit.
    ship = polynomial_ship(1.0)
    lever = 0.3
    reached = blown(ship, lever, law).solution.roll_max
    work = (reached, math.sin(reached), 0.5 * reached + 0.25 * math.sin(2.0 * reached))[power]
    assert 0.5 * reached**2 == pytest.approx(lever * work, rel=1e-9)
    curve = RightingCurve(ship.levers, ship.gravity, Heeling(wind=lever, law=law))
    assert curve.potential(reached) == pytest.approx(0.0, abs=1e-10)


def test_published_ordinates_of_small_ships() -> None:
    # Published: wind pressure of small ships by height [m] (2008 IS Code as in Annex 211-1.A.3 of
    # French Division 211); the speeds they imply, by ½ρC_D V², lie on V ~ h^0.130 within 1 %.
    table = {1.0: 316.0, 2.0: 386.0, 3.0: 429.0, 4.0: 460.0, 5.0: 485.0, 6.0: 504.0}
    per_square = moment_per_speed_squared(Windage(1.0, 1.0), 1.22)
    for height, pressure in table.items():
        speed = math.sqrt(pressure / per_square)
        assert speed == pytest.approx(26.0 * (height / 6.0) ** 0.130, rel=0.01)


def test_steady_wind_holds_her_where_the_levers_meet() -> None:
    # Exact: at the static heel under wind nothing moves.
    ship = polynomial_ship(1.0, 0.0, -1.0)
    curve = RightingCurve(ship.levers, ship.gravity, Heeling(wind=0.2, law="cos2"))
    stable = next(e.heel for e in equilibria(curve) if e.kind == "stable" and e.heel > 0.0)
    motion = blown(ship, 0.2, "cos2", stable)
    assert motion.roll == pytest.approx(stable, abs=1e-10)
