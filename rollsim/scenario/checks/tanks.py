"""Cross-checks of tanks: that they hold something, how full they are, where they lie."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from itertools import combinations

from rollsim.scenario.checks.base import Check, Findings
from rollsim.scenario.checks.loading import LOADING
from rollsim.scenario.checks.parts import Parts, split
from rollsim.scenario.schema.events import FillTank
from rollsim.scenario.schema.hull_file import hull_in
from rollsim.scenario.schema.hull_levers import HullLevers
from rollsim.scenario.schema.tanks import TONNE, Form, TankTable, section_faults
from rollsim.scenario.text.beside import NamedFile
from rollsim.scenario.text.faults import Finding, listed
from rollsim.ship.tanks.room import Outside, outside, overlap

TANKS = (*LOADING, "tanks")


def tank_forms(parts: Parts) -> Findings:
    """A tank is a box or has sections, and these enclose something."""
    for index, tank in _tanks(parts):
        if (tank.box_m is None) == (not tank.sections):
            got = "both are given" if tank.sections else "neither is given"
            problem = f"must hold exactly one of box_m and sections; {got} ({tank.name})"
            hint = "the six sides of a box, or outlines from aft to fore"
            yield Finding((*TANKS, index), problem, hint)
        elif tank.box_m is not None:
            yield from _box_faults(index, tank)
        else:
            for fault in section_faults(tank.sections):
                path = (*TANKS, index, "sections", *fault.path)
                yield Finding(path, f"{fault.problem} ({tank.name})", fault.hint)


def _box_faults(index: int, tank: TankTable) -> Iterator[Finding]:
    """The sides of a box stand in order."""
    box = tank.box_m
    for low, high in (("aft", "fore"), ("port", "starboard"), ("bottom", "top")):
        first, last = getattr(box, low), getattr(box, high)
        if first >= last:
            problem = f"must lie beyond {low} ({first:g} m), got {last:g} ({tank.name})"
            hint = "forward of the after end, to starboard and upwards are positive"
            yield Finding((*TANKS, index, "box_m", high), problem, hint)


def tank_fillings(parts: Parts) -> Findings:
    """A tank says how full it is, once, and holds no more than it can."""
    for index, tank in _tanks(parts):
        given = [key for key in ("filling_percent", "mass_t") if getattr(tank, key) is not None]
        if len(given) != 1:
            got = "both are given" if given else "neither is given"
            problem = f"must hold exactly one of filling_percent and mass_t; {got} ({tank.name})"
            yield Finding((*TANKS, index), problem, "how full it is, in per cent or in tonnes")
        elif tank.sound and tank.filling > 1.0 + 1e-9:
            capacity = tank.tank.capacity / TONNE
            problem = f"is more than the tank holds ({capacity:.4g} t), got {tank.mass_t:g}"
            hint = "its volume times permeability and density"
            yield Finding((*TANKS, index, "mass_t"), problem, hint)


def names_of_tanks(parts: Parts) -> Findings:
    """Each name of a tank stands once, and a crossflow leads to another tank of the same liquid."""
    tanks = [tank for _, tank in _tanks(parts)]
    names = [tank.name for tank in tanks]
    taken: set[str] = set()
    for index, tank in enumerate(tanks):
        if tank.name in names[:index]:
            problem = f'"{tank.name}" stands there twice'
            yield Finding((*TANKS, index, "name"), problem, "each tank has a name of its own")
        if tank.crossflow is None:
            continue
        path, other = (*TANKS, index, "crossflow", "with"), tank.crossflow.with_
        if other not in names or other == tank.name:
            known = listed(f'"{name}"' for name in names if name != tank.name) if tanks[1:] else ""
            problem = f'there is no other tank "{other}"'
            yield Finding(path, problem, f"other tanks here: {known or 'none'}", (TANKS,))
            continue
        if {other, tank.name} & taken:
            problem = f'"{other}" or "{tank.name}" stands in another crossflow already'
            yield Finding(path, problem, "a crossflow joins two tanks and stands in one of them")
        taken |= {other, tank.name}
        density = tanks[names.index(other)].density_t_per_m3
        if density != tank.density_t_per_m3:
            problem = f"joins liquids of {tank.density_t_per_m3:g} and {density:g} t/m³"
            yield Finding(path, problem, "the two tanks hold one liquid", (TANKS,))


def tanks_to_fill(parts: Parts) -> Findings:
    """An event fills a tank that there is, and no other fills it at the same time."""
    events = [(i, e) for i, e in enumerate(parts("events")) if isinstance(e, FillTank)]
    if not events:
        return
    names = [tank.name for _, tank in _tanks(parts)]
    last: dict[str, FillTank] = {}
    for index, event in sorted(events, key=lambda each: each[1].at_s):
        path = split(f"events.{index}")
        if event.tank not in names:
            known = listed(f'"{name}"' for name in names) if names else "none"
            problem = f'there is no tank "{event.tank}" in [ship.loading]'
            yield Finding((*path, "tank"), problem, f"tanks here: {known}", (TANKS,))
        before = last.get(event.tank)
        last[event.tank] = event
        end = before.at_s + before.over_s if before else -1.0
        if before and (event.at_s < end or event.at_s == before.at_s):
            problem = f"begins at {event.at_s:g} s, and that before of the tank ends at {end:g} s"
            hint = f'fillings of "{event.tank}" may not overlap'
            yield Finding((*path, "at_s"), problem, hint, (split("events"),))


def _tanks(parts: Parts) -> Iterator[tuple[int, TankTable]]:
    loading = parts("ship.loading")
    yield from enumerate(loading.tanks if loading else ())


TANK_CHECKS: tuple[Check, ...] = (tank_forms, tank_fillings, names_of_tanks, tanks_to_fill)


def tank_outside(parts: Parts) -> Findings:
    """Tanks lie within the hull, where its form is not known within the box round it."""
    levers = parts("ship.levers")
    if isinstance(levers, HullLevers) and hull_in(levers.file).hull is not None:
        cause = (("ship", "levers"),)
        for index, tank in _tanks(parts):
            most = _outside(levers.file, tank.form)
            if most is not None:
                path = (*TANKS, index, tank.form.key)
                yield Finding(path, _out(most, tank.name), OUT_HINT, cause)
        return
    yield from _outside_the_box(parts)


OUT_HINT = "draw it in, or give sections that follow the hull"


def _out(most: Outside, name: str) -> str:
    side = "port" if most.across < 0.0 else "starboard"
    where = f"{most.along:g} m along, {abs(most.across):.3g} m to {side}, {most.height:.3g} m up"
    return f"lies outside the hull by up to {most.by:.2g} m, at {where} ({name})"


def _outside_the_box(parts: Parts) -> Findings:
    beam, length, depth = (parts(f"ship.{key}") for key in ("beam_m", "length_m", "depth_m"))
    bounds = ((0.0, length), (-0.5 * beam, 0.5 * beam), (0.0, depth))
    causes = tuple(split(f"ship.{key}") for key in ("beam_m", "length_m", "depth_m"))
    for index, tank in _tanks(parts):
        sides = _sides(tank)
        for (low, high), ends in zip(bounds, SIDES, strict=True):
            for side in ends:
                value = sides[side]
                if value >= low and (high is None or value <= high):
                    continue
                most = "" if high is None else f" to {high:g}"
                problem = f"lies outside the hull ({low:g}{most} m), got {value:g} ({tank.name})"
                path = ("box_m", side) if tank.box_m else ("sections",)
                yield Finding((*TANKS, index, *path), problem, "in metres", causes)


SIDES = (("aft", "fore"), ("port", "starboard"), ("bottom", "top"))


def _sides(tank: TankTable) -> dict[str, float]:
    """The six sides of a tank, or of the box round its sections [m]."""
    if tank.box_m is not None:
        return tank.box_m.model_dump()
    corners = [point for section in tank.sections for point in section.outline_m]
    along = [section.along_m for section in tank.sections]
    each = along, *([point[i] for point in corners] for i in (0, 1))
    return {
        side: limit(values)
        for values, ends in zip(each, SIDES, strict=True)
        for side, limit in zip(ends, (min, max), strict=True)
    }


@lru_cache(maxsize=256)
def _outside(file: NamedFile, form: Form) -> Outside | None:
    """Where a tank sticks out of the hull of a file most, found once."""
    hull = hull_in(file).hull
    return outside(form.stations, hull.stations, hull.boxes) if hull else None


def tanks_overlap(parts: Parts) -> Findings:
    """Two tanks do not share a place."""
    for (_, one), (index, other) in combinations(_tanks(parts), 2):
        a, b = _sides(one), _sides(other)
        near = all(min(a[high], b[high]) - max(a[low], b[low]) > 1e-6 for low, high in SIDES)
        boxes = one.box_m is not None and other.box_m is not None
        if near and (boxes or _overlap(one.form, other.form)):
            problem = f'"{other.name}" overlaps "{one.name}"'
            hint = "two tanks cannot lie in one place; give their own sides"
            yield Finding((*TANKS, index, other.form.key), problem, hint, (TANKS,))


@lru_cache(maxsize=1024)
def _overlap(one: Form, other: Form) -> bool:
    return overlap(one.stations, other.stations)


MUCH = 0.05
"""Share of the displacement beyond which tanks that fill are told of."""


def much_filled(parts: Parts) -> Findings:
    """KN, gyradius and damping stay as they are, which holds for small changes alone."""
    loading, displacement = parts("ship.loading"), parts("ship.displacement_t")
    now = {tank.name: tank.filling for tank in loading.tanks} if loading else {}
    capacity = {tank.name: tank.tank.capacity / TONNE for tank in loading.tanks} if loading else {}
    change = 0.0
    events = [(i, e) for i, e in enumerate(parts("events")) if isinstance(e, FillTank)]
    for index, event in sorted(events, key=lambda each: each[1].at_s):
        to = event.to_percent / 100.0
        change += capacity[event.tank] * (to - now[event.tank])
        now[event.tank] = to
        if abs(change) > MUCH * displacement:
            share = 100.0 * abs(change) / displacement
            problem = f"brings the displacement {share:.3g} % from that of the loading, beyond 5 %"
            hint = "the levers, the gyradius and the damping stay those of the start"
            yield Finding(split(f"events.{index}.to_percent"), problem, hint, (TANKS,))
            return


TANK_DOUBTS: tuple[Check, ...] = (much_filled, tank_outside, tanks_overlap)
