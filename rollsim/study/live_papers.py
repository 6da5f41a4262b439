"""A ship by her papers, made plain for the live page: levers, gravity, events, tanks, cargo.

What a loading, cross-curves or a hull give is put in as numbers, so that the file of a case stands
by itself: one table of KN, where G lies, weights that come and go.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

import numpy as np
from numpy.typing import NDArray

from rollsim.engines.base import Case
from rollsim.errors import Fault, InputError
from rollsim.motion.filling import ACROSS, COORDINATE, HEIGHT, MASS, RISE, FillingPath
from rollsim.scenario import schema
from rollsim.scenario.schema import KnLevers, Scenario, levers_of
from rollsim.scenario.schema.loading import Weight
from rollsim.ship.hull.form import area_of
from rollsim.ship.levers import Levers
from rollsim.ship.liquid import FillingLevers, LiquidLever
from rollsim.ship.tanks.base import Tank
from rollsim.ship.tanks.box import BoxTank
from rollsim.study.tanks import tanks_in_time

Floats = NDArray[np.float64]

FINE_DEG = 1.0
"""Distance of the heels [degree] at which a lever with moving liquid is tabulated."""
NO_MISS = 2e-6
"""What a table with moving liquid may miss the lever by [m]."""
FINER = 8
"""How often the distance of its heels is halved at most."""
NOTHING = 1e-12
SOON = 1e-6
"""What lies between a sudden change and the gradual one that follows it [s]."""
FARTHEST = 10.0
"""How far a weight is moved [m] to stand for liquid that flows across."""


def refuse_unknown(case: Case, file: str) -> None:
    """InputError for what the live page cannot compute."""
    faults = []
    if case.waves is not None and case.levers.liquid is not None:
        problem = "the live page knows no moving liquid besides levers in waves from the hull"
        hint = 'give tanks free_surface = "moment", or levers_in_waves gm_per_m'
        faults.append(Fault("ship.loading.tanks", problem, hint))
    if case.filling is not None and not case.filling.cells.all_boxes:
        problem = "while tanks fill, the live page knows moving liquid in boxes alone"
        hint = 'give tanks by sections free_surface = "moment", or leave events and crossflow out'
        faults.append(Fault("ship.loading.tanks", problem, hint))
    if faults:
        raise InputError(file, faults)


def lever_table(case: Case, scenario: Scenario) -> tuple[dict[str, Any], Levers]:
    """The [ship.levers] table of a case at its displacement, and the curve that it gives.

    Liquid that moves in its tanks is in the curve: a table every degree. With levers in waves
    from her hull the table stays that of the hull, whose file must lie beside what is saved.
    """
    own = scenario.ship.own_levers if case.waves is None else scenario.ship.levers
    if case.levers.liquid is None:
        unset = own is scenario.ship.levers
        table = own.model_dump(mode="json", exclude_none=True, exclude_unset=unset)
        return table, case.levers
    made = _tabulated(case.levers, case.kb)
    return made.model_dump(mode="json", exclude_none=True), levers_of(made)


def _tabulated(levers: Levers, kb: float | None) -> KnLevers:
    """A table of KN every degree, closer where the spline would miss the levers."""
    ends = math.degrees(-levers.heel_min), math.degrees(levers.heel_max)
    port, starboard = (np.append(np.arange(0.0, end - 1e-6, FINE_DEG), end) for end in ends)
    heel = np.concatenate((-port[:0:-1], starboard))
    table = _table(levers, heel, kb)
    for _ in range(FINER):
        middles = 0.5 * (heel[1:] + heel[:-1])
        miss = np.abs(table.curve.kn(np.radians(middles)) - levers.kn(np.radians(middles)))
        if np.all(miss < NO_MISS):
            break
        heel = np.sort(np.concatenate((heel, middles[miss >= NO_MISS])))
        table = _table(levers, heel, kb)
    return table


def _table(levers: Levers, heel: Floats, kb: float | None) -> KnLevers:
    kn = levers.kn(np.clip(np.radians(heel), levers.heel_min, levers.heel_max))
    kn -= kn[np.searchsorted(heel, 0.0)]
    if np.allclose(heel, -heel[::-1]) and np.allclose(kn, -kn[::-1], atol=1e-12):
        heel, kn = heel[heel >= 0.0], kn[heel >= 0.0]
    return KnLevers(
        kind="kn",
        heel_deg=tuple(heel.tolist()),
        kn_m=tuple(kn.tolist()),
        km_m=float(levers.slope(0.0)),
        kb_m=kb,
    )


def by_papers(scenario: Scenario) -> dict[str, Any]:
    """The tables of a ship whose tanks fill, as her file has them: [ship] and the events."""
    whole = scenario.model_dump(mode="json", by_alias=True, exclude_none=True, exclude_unset=True)
    return {"ship": whole["ship"], "events": whole.get("events", [])}


def flooding(case: Case) -> tuple[float, float] | None:
    """Heels [degree] to port and to starboard at which she floods, where they differ."""
    limits = case.limits
    if limits.port == 1.0:
        return None
    return math.degrees(limits.flooding / limits.port), math.degrees(limits.flooding)


def limits_of(case: Case, given: dict[str, Any]) -> dict[str, Any]:
    """The [limits] table with the flooding angle of her hull's openings, alike on both sides."""
    heel = case.limits.flooding
    if case.limits.port != 1.0 or not math.isfinite(heel):
        return given
    return {"flooding_deg": math.degrees(heel)} | given


def plain_events(scenario: Scenario) -> tuple[schema.Event, ...]:
    """The events with tanks that fill or flow as weights and free surfaces."""
    others = tuple(e for e in scenario.events if not isinstance(e, schema.FillTank))
    path = tanks_in_time(scenario.ship, scenario.events, scenario.run)
    if path is None:
        return others
    return (*others, *_of_path(path, scenario))


def _of_path(path: FillingPath, scenario: Scenario) -> Iterator[schema.Event]:
    """Piece by piece what is added and moved; between two pieces what comes at once."""
    displacement = scenario.ship.displacement_t
    before, rise = np.zeros(5), scenario.ship.gravity.free_surface_m
    for (start, end), (first, last) in zip(path.times, path.rows, strict=True):
        later = start + SOON  # of two changes at one time the second must begin later
        for row, at, over in ((first, start, 0.0), (last, later, end - later)):
            yield from _change(row - before, displacement, float(at), float(over))
            if abs(row[RISE] - before[RISE]) > NOTHING:
                yield schema.ValueChange(
                    kind="change",
                    key="ship.gravity.free_surface_m",
                    to=max(rise + float(row[RISE]), 0.0),
                    at_s=float(at),
                    over_s=float(over),
                )
            before = row


def _change(row: Floats, displacement: float, at: float, over: float) -> Iterator[schema.Event]:
    """Mass added at G's share of the moments, and what they leave moved up and across."""
    mass, height, across = (float(row[i]) * displacement for i in (MASS, HEIGHT, ACROSS))
    if abs(mass) > NOTHING:
        place = {"height_m": height / mass, "across_m": across / mass}
        kind = schema.AddWeight if mass > 0.0 else schema.RemoveWeight
        word = "add-weight" if mass > 0.0 else "remove-weight"
        yield kind(kind=word, mass_t=abs(mass), at_s=at, over_s=over, **place)  # type: ignore[arg-type]
    elif max(abs(height), abs(across)) > NOTHING:
        weight = max(abs(height), abs(across)) / FARTHEST
        yield schema.MoveWeight(
            kind="move-weight",
            mass_t=weight,
            up_m=height / weight,
            across_m=across / weight,
            at_s=at,
            over_s=over,
        )


def filling(scenario: Scenario) -> dict[str, Any] | None:
    """The liquid that moves while tanks fill, over a coordinate in time; None where none does.

    `times` (n, 2) [s] of pieces, in which the coordinate goes straight between `at` (n, 2). At the
    integer coordinates `share`, `filling` and `rises` (states, tanks) of `breadth` and `height`
    (tanks) [m], as in `LiquidLever`; `start` (3, tanks) is that of t = 0, which the levers hold.
    """
    path = tanks_in_time(scenario.ship, scenario.events, scenario.run)
    if path is None or path.levers is None:
        return None
    liquid, start = path.levers, path.levers.start
    return {
        "times": path.times,
        "at": path.rows[:, :, COORDINATE],
        **_of(liquid),
        "start": None if start is None else _of(start),
    }


def _of(liquid: LiquidLever | FillingLevers) -> dict[str, Floats]:
    breadth, height = liquid.cells.box_sizes
    return {
        "breadth": breadth,
        "height": height,
        "share": liquid.share,
        "filling": liquid.filling,
        "rises": liquid.rises,
    }


def tanks(scenario: Scenario) -> list[dict[str, Any]]:
    """Her tanks in the section, masses in tonnes; `fixed` where the page may not pump.

    `outline` (n, 2) [m] is the fullest section of a tank that is no box.
    """
    loading = scenario.ship.loading
    moved = {e.tank for e in scenario.events if isinstance(e, schema.FillTank)}
    return [
        {
            "name": table.name,
            **_shape(table.tank),
            "density": table.density_t_per_m3,
            "full": table.tank.capacity / 1000.0,
            "mass": table.tank.capacity / 1000.0 * table.filling,
            "divided": table.divisions,
            "fixed": table.free_surface == "liquid" or table.name in moved
            or bool(table.crossflow) or table.box_m is None,
            "levels": _levels(table, scenario.events),
        }
        for table in (loading.tanks if loading else ())
    ]  # fmt: skip


def _shape(tank: Tank) -> dict[str, Any]:
    """A tank in the section: the box round its fullest one, and how long that holds its volume."""
    fullest = max((abs(area_of(each.outline)), i) for i, each in enumerate(tank.stations))
    outline = tank.stations[fullest[1]].outline
    (port, bottom), (starboard, top) = outline.min(axis=0).tolist(), outline.max(axis=0).tolist()
    sides = {"port": port, "starboard": starboard, "bottom": bottom, "top": top}
    drawn = {} if isinstance(tank, BoxTank) else {"outline": np.round(outline, 4).tolist()}
    return {**sides, **drawn, "length": tank.volume / fullest[0]}


def _levels(table: Any, events: tuple[schema.Event, ...]) -> list[list[float]]:
    """Times [s] and masses [t] between which the events fill a tank, straight in between."""
    full, held = table.tank.capacity / 1000.0, table.filling
    levels = []
    for event in sorted(events, key=lambda each: each.at_s):
        if isinstance(event, schema.FillTank) and event.tank == table.name:
            to = event.to_percent / 100.0
            levels += [[event.at_s, full * held], [event.at_s + event.over_s, full * to]]
            held = to
    return levels


def stowed(scenario: Scenario) -> list[dict[str, Any]]:
    """The weights of her loading for the drawing: mass [t], place and size [m]."""
    loading = scenario.ship.loading
    return [
        {
            "name": weight.name,
            "mass": weight.mass_t,
            "y": weight.across_m,
            "z": weight.height_m,
            "breadth": weight.breadth_m,
            "tall": weight.tall_m,
        }
        for weight in (loading.weights if loading else ())
        if isinstance(weight, Weight) and weight.mass_t > 0.0
    ]


def section(scenario: Scenario) -> list[list[float]] | None:
    """The outline (2, n) [m] of her fullest station where she has a hull, else None."""
    levers = scenario.ship.levers
    if not isinstance(levers, schema.HullLevers):
        return None
    hull = levers.afloat(scenario.ship.displacement_t, scenario.ship.along).hull
    outline: list[list[float]] = np.round(hull.midship.T, 4).tolist()
    return outline
