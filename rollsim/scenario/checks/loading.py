"""Cross-checks of the loading: tanks that are boxes, names that are there, places on board."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from typing import Any

from rollsim.scenario.checks.base import Check, Findings
from rollsim.scenario.checks.parts import Parts, split
from rollsim.scenario.schema.events import FillTank
from rollsim.scenario.schema.loading import TONNE, Loading, TankTable, Weight
from rollsim.scenario.text.faults import Finding, listed
from rollsim.scenario.text.positions import KeyPath

LOADING = ("ship", "loading")
TANKS = (*LOADING, "tanks")
WEIGHTS = (*LOADING, "weights")
REPLACED = ("displacement_t", "gravity")


def stands_alone(parts: Parts) -> Findings:
    """A loading stands in place of displacement and gravity."""
    if parts("ship.loading") is None or parts.whole is None:
        return
    if parts.reads is not None:
        parts.reads.add(("ship",))
    for key in REPLACED:
        if key in parts.whole.ship.model_fields_set:
            hint = "it follows from the masses of the loading: leave one of the two out"
            yield Finding(("ship", key), "cannot stand beside [ship.loading]", hint, (LOADING,))


def tank_boxes(parts: Parts) -> Findings:
    """The sides of a tank stand in order."""
    for index, tank in _tanks(parts):
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
            yield Finding((*TANKS, index, "mass_t"), problem, "length times breadth times height")


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


def far_from_the_ship(parts: Parts) -> Findings:
    """Nothing on board lies a beam or a length away from her."""
    loading, beam, length = (parts(f"ship.{key}") for key in ("loading", "beam_m", "length_m"))
    if loading is None:
        return
    causes = (split("ship.beam_m"), split("ship.length_m"))
    for path, item in _placed(loading):
        name = getattr(item, "name", "lightship")
        across, along = getattr(item, "across_m", 0.0), item.along_m
        if abs(across) > beam:
            problem = f"must lie within ±{beam:g} m (the beam), got {across:g} ({name})"
            yield Finding((*path, "across_m"), problem, "off the centreline, in metres", causes)
        if along is not None and not -length < along < 2.0 * length:
            problem = f"lies a length or more away from the ship, got {along:g} ({name})"
            yield Finding(
                (*path, "along_m"), problem, "forward of the after end, in metres", causes
            )


def _tanks(parts: Parts) -> Iterator[tuple[int, TankTable]]:
    loading = parts("ship.loading")
    yield from enumerate(loading.tanks if loading else ())


def _placed(loading: Loading) -> Iterator[tuple[KeyPath, Any]]:
    """Lightship and weights with their paths."""
    yield (*LOADING, "lightship"), loading.lightship
    for index, weight in enumerate(loading.weights):
        yield (*WEIGHTS, index), weight


LOADING_CHECKS: tuple[Check, ...] = (
    stands_alone,
    tank_boxes,
    tank_fillings,
    names_of_tanks,
    tanks_to_fill,
    far_from_the_ship,
)


LIGHTSHIP_KG = (0.4, 1.1)
"""Usual height of the lightship's G over the depth."""
TALL = 2.5
"""Depths above the keel beyond which a weight on board would stand unusually high."""


def weight_off_the_ship(parts: Parts) -> Findings:
    """Weights lie on board."""
    loading = parts("ship.loading")
    if loading is None:
        return
    beam, length = parts("ship.beam_m"), parts("ship.length_m")
    depth = parts("ship.depth_m") or 1.5 * parts("ship.draught_m")
    causes = tuple(split(f"ship.{key}") for key in ("beam_m", "length_m", "depth_m", "draught_m"))
    for path, item in _placed(loading):
        name = getattr(item, "name", "lightship")
        across, along = getattr(item, "across_m", 0.0), item.along_m
        height = getattr(item, "height_m", None)
        if abs(across) > 0.5 * beam:
            problem = f"lies beyond the ship's side ({0.5 * beam:g} m), got {across:g} ({name})"
            yield Finding((*path, "across_m"), problem, "off the centreline, in metres", causes)
        if along is not None and not 0.0 <= along <= length:
            problem = f"lies beyond her ends (0 to {length:g} m), got {along:g} ({name})"
            yield Finding(
                (*path, "along_m"), problem, "forward of the after end, in metres", causes
            )
        if height is not None and not 0.0 <= height <= TALL * depth:
            problem = f"is not between the keel and {TALL * depth:.3g} m, got {height:g} ({name})"
            hint = f"usually up to {TALL:g} depths above the keel (common practice)"
            yield Finding((*path, "height_m"), problem, hint, causes)
        windage = getattr(item, "windage_height_m", None)
        if windage is not None and not 0.0 <= windage <= TALL * depth:
            problem = f"is not between the keel and {TALL * depth:.3g} m, got {windage:g} ({name})"
            hint = f"usually up to {TALL:g} depths above the keel (common practice)"
            yield Finding((*path, "windage_height_m"), problem, hint, causes)


def lightship_usual(parts: Parts) -> Findings:
    """The lightship's G lies where that of ships does."""
    loading, depth = parts("ship.loading"), parts("ship.depth_m")
    if loading is None or depth is None:
        return
    share = loading.lightship.height_m / depth
    low, high = LIGHTSHIP_KG
    if not low <= share <= high:
        problem = f"is {share:.2g} of the depth, got {loading.lightship.height_m:g}"
        hint = f"usually {low:g} to {high:g} of the depth (common practice)"
        path = (*LOADING, "lightship", "height_m")
        yield Finding(path, problem, hint, (split("ship.depth_m"),))


def iced_area(parts: Parts) -> Findings:
    """Decks and sides under ice are not larger than she is."""
    loading = parts("ship.loading")
    length, beam = parts("ship.length_m"), parts("ship.beam_m")
    for index, weight in enumerate(loading.weights if loading else ()):
        if isinstance(weight, Weight):
            continue
        for key, most, words in (
            ("deck_area_m2", length * beam, "length times beam"),
            ("side_area_m2", length * beam, "length times beam"),
        ):
            area = getattr(weight, key)
            if area > most:
                problem = f"is more than {words} ({most:.4g} m²), got {area:g} ({weight.name})"
                causes = (split("ship.length_m"), split("ship.beam_m"))
                yield Finding((*WEIGHTS, index, key), problem, "the area that is exposed", causes)


def tank_outside(parts: Parts) -> Findings:
    """Tanks lie within the box round the hull."""
    beam, length, depth = (parts(f"ship.{key}") for key in ("beam_m", "length_m", "depth_m"))
    bounds = {
        "aft": (0.0, length), "fore": (0.0, length), "port": (-0.5 * beam, 0.5 * beam),
        "starboard": (-0.5 * beam, 0.5 * beam), "bottom": (0.0, depth), "top": (0.0, depth),
    }  # fmt: skip
    causes = tuple(split(f"ship.{key}") for key in ("beam_m", "length_m", "depth_m"))
    for index, tank in _tanks(parts):
        for side, (low, high) in bounds.items():
            value = getattr(tank.box_m, side)
            if value < low or (high is not None and value > high):
                most = "" if high is None else f" to {high:g}"
                problem = f"lies outside the hull ({low:g}{most} m), got {value:g} ({tank.name})"
                yield Finding((*TANKS, index, "box_m", side), problem, "in metres", causes)


def tanks_overlap(parts: Parts) -> Findings:
    """Two tanks do not share a place."""
    for (_, one), (index, other) in combinations(_tanks(parts), 2):
        a, b = one.box_m, other.box_m
        shared = all(
            min(getattr(a, high), getattr(b, high)) - max(getattr(a, low), getattr(b, low)) > 1e-6
            for low, high in (("aft", "fore"), ("port", "starboard"), ("bottom", "top"))
        )
        if shared:
            problem = f'"{other.name}" overlaps "{one.name}"'
            hint = "two tanks cannot lie in one place; give their own sides"
            yield Finding((*TANKS, index, "box_m"), problem, hint, (TANKS,))


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


LOADING_DOUBTS: tuple[Check, ...] = (
    much_filled,
    weight_off_the_ship,
    lightship_usual,
    iced_area,
    tank_outside,
    tanks_overlap,
)
