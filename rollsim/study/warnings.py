"""What a study says of itself before it runs: bounds that bite, sea cut off, doubtful tables."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from rollsim.engines.base import Case
from rollsim.engines.limits import NEVER
from rollsim.errors import printable
from rollsim.scenario.schema.tanks import TONNE
from rollsim.study.equilibrium import about_static_heel, vanishing_angles
from rollsim.study.plan import Plan
from rollsim.weather.effective import effective_elevation
from rollsim.weather.sea import RegularWave, component_grid, encounter_frequency, variance_left_out
from rollsim.weather.spectra import Spectrum
from rollsim.weather.wind import HIGHEST

MUCH_LEFT_OUT, LEFT_OUT = 0.1, 0.01
"""Shares of the sea's variance beyond the shortest wave from which it is said: always, and where
one number as slope coefficient makes the roll depend on the cut."""


def warnings(plan: Plan) -> tuple[str, ...]:
    """All warnings of a plan, those of the file first, each once, safe to be printed."""
    lines = [*plan.study.warnings]
    cases = [case for i, case in enumerate(plan.cases) if i not in plan.skipped]
    judges = (_capsize_inside(plan), _beyond_capsize, _start_past_limits, _sea_left_out)
    in_waves = (_parametric(plan), _beyond_elevations)
    for judge in (*judges, *in_waves, _sloshing(plan), _gusts_left_out):
        doubtful = [(case, words) for case in cases if (words := judge(case))]
        if doubtful:
            case, words = doubtful[0]
            more = f"; likewise in {len(doubtful) - 1} of the other cases" if doubtful[1:] else ""
            lines.append(f"case {case.index}, {printable(case.condition)}: {words}{more}")
    if plan.skipped:
        first = plan.cases[min(plan.skipped)]
        lines.append(
            f"{len(plan.skipped)} of {len(plan.cases)} cases have no static heel within "
            f"capsize_deg and are not run, the first case {first.index}, "
            f"{printable(first.condition)}"
        )
    if plan.until and not any(case.random for case in plan.cases):
        lines.append("run.until: nothing is random here: every realisation is the same run")
    basin = plan.study.base.basin
    if basin and basin.realisation and not any(case.random for case in plan.cases):
        lines.append(
            f"basin.realisation: nothing is random here: every storm is the same, "
            f"got {basin.realisation}"
        )
    return tuple(dict.fromkeys(lines))


def randomness(plan: Plan) -> str:
    """What makes the runs of a case differ, or why nothing does where a sea was asked for."""
    random = int(np.count_nonzero(plan.random))
    if random == len(plan.cases):
        return "random: every realisation is another storm"
    alike = "one run serves for all realisations, nothing is a probability"
    asked = any(spec.scenario.sea.kind in ("irregular", "white-slope") for spec in plan.study.cases)
    if random:
        return f"random in {random} of {len(plan.cases)} cases; in the others {alike}"
    why = " although a sea is given: it has no slope that acts on her" if asked else ""
    return f"nothing is random here{why}: {alike}"


def sea_cut(plan: Plan) -> str:
    """How much of the sea's variance lies beyond the shortest wave; empty where nothing does."""
    shares = [variance_left_out(case.storm.sea) for case in plan.cases]
    if max(shares) == 0.0:
        return ""
    low, high = (f"{100.0 * share:.2g} %" for share in (min(shares), max(shares)))
    span = low if low == high else f"{low} to {high}"
    return f"{span} of the wave variance lies in waves shorter than shortest_wave_m, left out"


def openings_of_hull(plan: Plan) -> str:
    """At which heels the hull's openings flood her; empty where an angle is given or none do."""
    lead = next((i for i, case in enumerate(plan.cases) if case.midship is not None), None)
    if lead is None or plan.study.cases[lead].scenario.limits.flooding_deg is not None:
        return ""
    limits = plan.cases[lead].limits
    sides = (("starboard", limits.flooding), ("port", limits.flooding / limits.port))
    told = [f"{math.degrees(heel):.3g}° to {side}" for side, heel in sides if heel < NEVER]
    return f"flooding by the openings of the hull: {', '.join(told)}" if told else ""


def waves_from_hull(plan: Plan) -> str:
    """How the levers of a hull change with the wave; empty where none do."""
    lead = next((case for case in plan.cases if case.waves is not None), None)
    if lead is None or lead.waves is None:
        return ""
    form = lead.waves.simple_form
    return (
        f"levers in waves from the hull: gm_per_m = {form.gm_per_m:.3g} comes nearest, and misses "
        f"a lever by up to {form.miss:.2g} m (to 40° of heel, at {form.at:+.2g} m amidships)"
    )


def _capsize_inside(plan: Plan) -> Callable[[Case], str]:
    """Judges whether runs of a case end although the ship could still come back."""
    leads = sorted(set(plan.leads))
    rest = vanishing_angles([plan.cases[lead] for lead in leads])
    widest = np.fmax(np.abs(rest["vanishing_angle"]), np.abs(rest["vanishing_angle_port"]))
    vanishing_of = dict(zip(leads, widest.tolist(), strict=True))

    def judge(case: Case) -> str:
        capsize = math.degrees(case.limits.capsize)
        vanishing = vanishing_of[plan.leads[case.index]]
        if not capsize < vanishing - 1e-9:
            return ""
        return (
            f"capsize_deg {capsize:.4g} lies inside the vanishing angle {vanishing:.4g}°: runs end "
            "although the ship could still come back"
        )

    return judge


def _beyond_capsize(case: Case) -> str:
    limits, capsize = case.limits, case.limits.capsize
    names = {"roll_deg": limits.roll, "flooding_deg": limits.flooding}
    beyond = [name for name, angle in names.items() if capsize < angle < math.inf]
    if not beyond:
        return ""
    words = " and ".join(beyond)
    return f"capsize_deg {math.degrees(capsize):.4g} ends every run before {words} can be passed"


def _start_past_limits(case: Case) -> str:
    start, limits = abs(case.start[0]), case.limits
    names = {"roll_deg": limits.roll, "flooding_deg": limits.flooding}
    past = [f"{name} {math.degrees(angle):.4g}" for name, angle in names.items() if start >= angle]
    if not past:
        return ""
    return f"she starts at {math.degrees(start):.4g}°, past {' and '.join(past)}"


def _sea_left_out(case: Case) -> str:
    share = variance_left_out(case.storm.sea)
    number = case.storm.sea.slope_coefficient is not None
    if share <= (LEFT_OUT if number else MUCH_LEFT_OUT):
        return ""
    words = f"{100 * share:.2g} % of the wave variance is cut off at shortest_wave_m"
    if number:
        words += "; with one number as slope_coefficient the roll depends on that cut"
    return words


NEAR_TWICE = 0.2
"""How near to twice the natural frequency an encounter is told of, as a share of it."""


def _parametric(plan: Plan) -> Callable[[Case], str]:
    """Judges whether waves that change GM are met near twice the natural frequency of a case.

    That of small rolls about the static heel. The roll grows from nothing where GM's amplitude over
    GM passes 4 ζ (first order of Mathieu's equation), ζ the linear damping as a fraction of
    critical.
    """
    leads, which = np.unique(plan.leads, return_inverse=True)
    alone = [plan.cases[lead] for lead in leads]
    if not any(case.storm.raised for case in alone):
        return lambda case: ""
    periods = about_static_heel(alone, which, plan.starts[:, 0])["roll_period"]
    # Without a period she is not run, or nothing rights her.
    natural = np.where(np.isnan(periods), 0.0, math.tau / periods)

    def judge(case: Case) -> str:
        frequency = float(natural[case.index])
        return _near_twice(case, frequency) if case.storm.raised and frequency > 0.0 else ""

    return judge


def _near_twice(case: Case, natural: float) -> str:
    """What is to be said of waves met near twice the `natural` frequency [rad/s]."""
    sea = case.storm.sea
    if isinstance(sea.waves, Spectrum):
        omega, amplitude = sea.waves.peak_frequency, 0.5 * sea.waves.significant_height
    else:
        assert isinstance(sea.waves, RegularWave)
        omega, amplitude = math.tau / sea.waves.period, 0.5 * sea.waves.height
    met = abs(float(encounter_frequency(np.array([omega]), sea.speed, sea.heading)[0]))
    ratio = met / (2.0 * natural)
    if abs(ratio - 1.0) > NEAR_TWICE:
        return ""
    effective = abs(effective_elevation(omega, sea.length, sea.heading)) * amplitude
    share = abs(case.gm_per_m) * effective / (natural**2 * case.coefficients.inertia)
    threshold = 2.0 * case.coefficients.linear / natural
    return (
        f"she meets the waves at {met:.3g} rad/s, {ratio:.2f} times twice her natural frequency, "
        f"and GM changes by {100.0 * share:.2g} % of itself (parametric roll grows past about "
        f"{100.0 * threshold:.2g} %, by her linear damping)"
    )


SLOW_LIQUID, SMALL_RISE = 0.5, 0.01
"""Slosh period over roll period from which a surface at rest is doubted; the rise of G [m] below
which a tank is left aside."""


def _sloshing(plan: Plan) -> Callable[[Case], str]:
    """Judges whether a slack tank of a case sloshes too slowly for a surface that is at rest."""
    loadings = [spec.scenario.ship.loading for spec in plan.study.cases]
    if not any(loadings):
        return lambda case: ""
    leads, which = np.unique(plan.leads, return_inverse=True)
    alone = [plan.cases[lead] for lead in leads]
    periods = about_static_heel(alone, which, plan.starts[:, 0])["roll_period"]

    def judge(case: Case) -> str:
        loading, roll = loadings[case.index], float(periods[case.index])
        displacement = TONNE * plan.study.cases[case.index].scenario.ship.displacement_t
        for table in loading.tanks if loading else ():
            tank, filling = table.tank, table.filling
            ratio = tank.slosh_period(filling) / roll
            rise = tank.free_surface_moment(filling) / displacement
            if ratio > SLOW_LIQUID and rise > SMALL_RISE:
                return _slow(table.name, ratio * roll, ratio)
        return ""

    return judge


def _slow(name: str, period: float, ratio: float) -> str:
    follows = "the liquid cannot follow her roll"
    if ratio < 1.0:
        follows = f"the liquid's answer grows to about {1.0 / (1.0 - ratio**2):.2g} times it"
    return (
        f"the liquid in {name} sloshes across in {period:.3g} s, {ratio:.2f} of her roll period: "
        f"its surface is taken to be at rest, and {follows}"
    )


DEVIATIONS = 4.0
"""Standard deviations that an effective elevation passes about once in a long storm."""


def _beyond_elevations(case: Case) -> str:
    """A sea that goes past the elevations for which the hull's levers are known."""
    if case.waves is None or not case.storm.raised:
        return ""
    sea = case.storm.sea
    if isinstance(sea.waves, Spectrum):
        reach = DEVIATIONS * math.sqrt(0.5 * float(np.sum(component_grid(sea).elevation ** 2)))
        words = f" ({DEVIATIONS:g} standard deviations)"
    else:
        assert isinstance(sea.waves, RegularWave)
        omega = math.tau / sea.waves.period
        share = abs(effective_elevation(omega, sea.length, sea.heading))
        reach, words = 0.5 * sea.waves.height * share, ""
    low, high = float(case.waves.elevation[0]), float(case.waves.elevation[-1])
    if reach <= min(-low, high) * (1.0 + 1e-9):
        return ""
    return (
        f"the effective elevation reaches {reach:.3g} m{words}, and elevations_m goes from "
        f"{low:.3g} to {high:.3g} m: beyond them the last levers hold"
    )


def _gusts_left_out(case: Case) -> str:
    """Turbulence faster than what is made of it."""
    wind = case.storm.wind
    if wind is None or wind.left_out <= LEFT_OUT:
        return ""
    return (
        f"{100.0 * wind.left_out:.2g} % of the wind's variance lies in gusts faster than "
        f"{HIGHEST:g} Hz, left out"
    )
