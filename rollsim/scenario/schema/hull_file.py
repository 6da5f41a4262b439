"""The hull file: stations from aft to fore, buoyant boxes and openings, in TOML.

It is a file of its own beside the scenario, read with the same care: every fault with its line.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from itertools import combinations, pairwise
from typing import Any, NamedTuple

import numpy as np
from pydantic import ValidationError

from rollsim.errors import Fault, InputError
from rollsim.scenario.schema.hull_tables import (
    BuoyantTable,
    HullTable,
    StationTable,
    explained,
)
from rollsim.scenario.text.beside import NamedFile
from rollsim.scenario.text.faults import Finding, listed, located, shown
from rollsim.scenario.text.parse import parse
from rollsim.scenario.text.positions import KeyPath
from rollsim.ship.hull import form

LEAST_AREA = 1e-9
SHARED = 0.01
"""Share of a box's section that may lie within the hull: a camber is no fault."""


class HullRead(NamedTuple):
    """A hull, or what is wrong with its file."""

    hull: form.Hull | None
    faults: tuple[Fault, ...] = ()


@lru_cache(maxsize=32)
def hull_in(file: NamedFile) -> HullRead:
    """The hull that a file describes, or all its faults."""
    try:
        raw = parse(file.text, file.name)
    except InputError as error:
        return HullRead(None, error.faults)
    try:
        table = HullTable.model_validate(raw)
    except ValidationError as error:
        findings = [explained(detail) for detail in error.errors(include_url=False)[:50]]
        return HullRead(None, tuple(located(findings, file.text)))
    findings = [*_station_faults(table), *_size_faults(table)]
    if findings:
        return HullRead(None, tuple(located(findings, file.text)))
    hull = _hull(table)
    findings = [*_box_faults(table, hull), *_opening_faults(table, hull)]
    return HullRead(None if findings else hull, tuple(located(findings, file.text)))


def hull_of(file: NamedFile) -> form.Hull:
    """The hull that a file describes; InputError with all its faults."""
    hull, faults = hull_in(file)
    if hull is None:
        raise InputError(file.name, faults)
    return hull


def _hull(table: HullTable) -> form.Hull:
    boxes = tuple(form.Box(**each.box_m.model_dump()) for each in table.buoyant)
    openings = tuple(
        form.Opening(each.name, each.along_m, each.across_m, each.height_m)
        for each in table.openings
    )
    stations = tuple(map(_station, table.stations))
    return form.Hull(table.name, stations, boxes, openings, table.length_m)


def _station(table: StationTable) -> form.Station:
    if table.outline_m is not None:
        return form.from_outline(table.along_m, open_list(table.outline_m))
    assert table.half_breadth_m is not None
    assert table.height_m is not None
    return form.from_half_breadths(table.along_m, table.half_breadth_m, table.height_m)


def open_list(outline: tuple[tuple[float, float], ...]) -> tuple[tuple[float, float], ...]:
    """The points of an outline without the first one again at its end."""
    return outline[:-1] if len(outline) > 3 and outline[0] == outline[-1] else outline


def _station_faults(table: HullTable) -> Iterator[Finding]:
    for number, station in enumerate(table.stations):
        at: KeyPath = ("stations", number)
        halves = (station.half_breadth_m, station.height_m)
        if (station.outline_m is None) == (halves == (None, None)) or (
            None in halves and any(halves)
        ):
            hint = "half breadths with their heights from the keel up to the deck at side"
            problem = "must hold half_breadth_m and height_m, or outline_m alone"
            yield Finding(at, problem, hint)
        elif station.outline_m is not None:
            yield from outline_faults((*at, "outline_m"), open_list(station.outline_m))
        else:
            yield from _half_faults(at, station)
    yield from _order_faults(table)


def _order_faults(table: HullTable) -> Iterator[Finding]:
    """Stations go forward; twice at one place is a step, not more often and not the same again."""
    for number, (before, after) in enumerate(pairwise(table.stations), 1):
        at: KeyPath = ("stations", number, "along_m")
        if after.along_m < before.along_m:
            problem = f"must not lie aft of the last, got {after.along_m:g} after "
            yield Finding(at, f"{problem}{before.along_m:g}", "stations go from aft to fore")
        elif before == after:
            problem = f"the station at {after.along_m:g} m is given twice"
            yield Finding(at, problem, "two different outlines at one place are a step")
        elif number > 1 and after.along_m == before.along_m == table.stations[number - 2].along_m:
            problem = f"a third station at {after.along_m:g} m"
            yield Finding(at, problem, "two at one place are a step; more cannot be")


def _half_faults(at: KeyPath, station: StationTable) -> Iterator[Finding]:
    assert station.half_breadth_m is not None
    assert station.height_m is not None
    breadth, height = station.half_breadth_m, station.height_m
    path = (*at, "half_breadth_m")
    if len(breadth) != len(height):
        problem = f"must be as long as height_m: {len(breadth)} values for {len(height)} heights"
        yield Finding(path, problem, "each height needs one half breadth")
        return
    for index, value in enumerate(breadth):
        if value < 0.0:
            hint = "half a breadth counts from the centreline; outline_m gives both sides"
            yield Finding((*path, index), f"must be at least 0 m, got {value:g}", hint)
            return
    if height[-1] <= height[0]:
        problem = f"goes from {height[0]:g} m down to {height[-1]:g} m: it is upside down"
        hint = "from the keel up along the outline to the deck at side"
        yield Finding((*at, "height_m"), problem, hint)
        return
    half = np.array([(0.0, height[0]), *zip(breadth, height, strict=True), (0.0, height[-1])])
    crossed = form.crossing(half)
    if crossed:
        yield Finding(path, f"the outline crosses itself: {_sides(crossed, half)}", CROSS_HINT)


CROSS_HINT = "points follow each other along the outline; look for two that changed places"


def outline_faults(
    path: KeyPath, points: tuple[tuple[float, float], ...], *, both_sides: bool = True
) -> Iterator[Finding]:
    """What is wrong with a closed outline, of both sides of the ship or of a tank anywhere."""
    outline = np.array(points)
    y = outline[:, 0]
    crossed = form.crossing(outline)
    if crossed:
        closing = len(outline) - 1 in crossed
        word = "is not closed: the last point joins the first" if closing else "crosses itself"
        yield Finding(path, f"the outline {word}: {_sides(crossed, outline)}", CROSS_HINT)
    elif abs(form.area_of(outline)) < LEAST_AREA and float(np.ptp(y)) > 0.0:
        hint = "a closed outline, its last point joins the first"
        yield Finding(path, "encloses no area: it is open", hint)
    elif both_sides and float(np.ptp(y)) > 0.0 and (np.all(y >= 0.0) or np.all(y <= 0.0)):
        hint = "give both sides, or one as half_breadth_m and height_m"
        yield Finding(path, "lies on one side of the centreline alone", hint)


def _sides(crossed: tuple[int, int], outline: Any) -> str:
    """The two sides that cross, by their points."""
    ends = [(outline[i], outline[(i + 1) % len(outline)]) for i in crossed]
    words = [
        f"({float(a[0]):g}, {float(a[1]):g}) to ({float(b[0]):g}, {float(b[1]):g})" for a, b in ends
    ]
    return listed(words)


def _size_faults(table: HullTable) -> Iterator[Finding]:
    places = [station.along_m for station in table.stations]
    if not 0.0 < max(places) - min(places) < 600.0:
        problem = f"must reach over 0 to 600 m, got {max(places) - min(places):g} m"
        yield Finding(("stations",), problem, "along_m counts forward of the after end in metres")


def _box_faults(table: HullTable, hull: form.Hull) -> Iterator[Finding]:
    for number, (each, box) in enumerate(zip(table.buoyant, hull.boxes, strict=True)):
        at: KeyPath = ("buoyant", number, "box_m")
        turned = [
            pair
            for pair in (("aft", "fore"), ("port", "starboard"), ("bottom", "top"))
            if not getattr(box, pair[0]) < getattr(box, pair[1])
        ]
        for low, high in turned:
            problem = f"{low} must be less than {high}, got {getattr(box, low):g} and "
            yield Finding(at, f"{problem}{getattr(box, high):g}", "port side is negative")
        if turned:
            continue
        yield from _off_the_hull(hull, each, number, box)
        section = (box.starboard - box.port) * (box.top - box.bottom)
        shared, along = _within_hull(hull, box)
        if shared > SHARED * section:
            problem = f"lies within the hull by {shared:.3g} m² at {along:g} m"
            hint = "a box adds to the hull: it stands on the deck, and counts once"
            yield Finding(at, f"{_named(each)}{problem}", hint)
    for (i, one), (j, other) in combinations(enumerate(hull.boxes), 2):
        if _boxes_overlap(one, other):
            problem = f"overlaps box {i + 1}"
            hint = "each part of the ship adds its buoyancy once"
            yield Finding(("buoyant", j, "box_m"), f"{_named(table.buoyant[j])}{problem}", hint)


def _off_the_hull(
    hull: form.Hull, named: BuoyantTable, number: int, box: form.Box
) -> Iterator[Finding]:
    """A box that reaches far beyond the ends, the sides or the deck belongs to no ship."""
    low, high = hull.stations[0].along, hull.stations[-1].along
    room = {
        "along": (0.05 * (high - low), low, high, box.aft, box.fore),
        "across": (0.25 * hull.beam, -0.5 * hull.beam, 0.5 * hull.beam, box.port, box.starboard),
        "up": (1.0 * hull.depth, 0.0, hull.depth, box.bottom, box.top),
    }
    for way, (slack, least, most, start, end) in room.items():
        if start < least - slack or (way != "up" and end > most + slack) or start > most + slack:
            problem = f"lies far outside the hull {way}, {least:g} to {most:g} m, got {start:g} to "
            hint = "a box stands on the hull: hatches, a house; in metres"
            yield Finding(("buoyant", number, "box_m"), f"{_named(named)}{problem}{end:g}", hint)


def _within_hull(hull: form.Hull, box: form.Box) -> tuple[float, float]:
    """The greatest area [m²] that box and hull share at a station within the box, and where.

    Between two stations the hull holds what both hold.
    """
    shared = [
        (form.overlap(station.outline, box), station.along)
        for station in hull.stations
        if box.aft < station.along < box.fore
    ]
    if shared:
        return max(shared)
    aft = [station for station in hull.stations if station.along <= box.aft]
    fore = [station for station in hull.stations if station.along >= box.fore]
    if not aft or not fore:
        return 0.0, box.aft
    return min((form.overlap(each.outline, box), each.along) for each in (aft[-1], fore[0]))


def _boxes_overlap(one: form.Box, other: form.Box) -> bool:
    sides = (("aft", "fore"), ("port", "starboard"), ("bottom", "top"))
    return all(
        getattr(one, low) < getattr(other, high) and getattr(other, low) < getattr(one, high)
        for low, high in sides
    )


def _opening_faults(table: HullTable, hull: form.Hull) -> Iterator[Finding]:
    low, high = hull.stations[0].along, hull.stations[-1].along
    for number, opening in enumerate(hull.openings):
        if not low - 0.05 * (high - low) <= opening.along <= high + 0.05 * (high - low):
            problem = f"lies outside the hull, {low:g} to {high:g} m, got {opening.along:g}"
            yield Finding(("openings", number, "along_m"), problem, "forward of the after end")
        if abs(opening.across) > 0.75 * hull.beam:
            problem = f"lies far outside the hull of {hull.beam:g} m beam, got {opening.across:g}"
            yield Finding(("openings", number, "across_m"), problem, "+ to starboard")
    names = [each.name for each in table.openings]
    for number, name in enumerate(names):
        if name in names[:number]:
            problem = f"the name {shown(name)} is already taken"
            yield Finding(("openings", number, "name"), problem, "each opening has its own")


def _named(table: BuoyantTable) -> str:
    return f"{table.name}: " if table.name else ""
