"""What `rollsim hull` finds: hydrostatics, KN, heels of immersion and levers in waves of a hull."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from rollsim.errors import Fault, InputError
from rollsim.scenario.load import Study, loads
from rollsim.scenario.schema.hull_file import hull_of
from rollsim.scenario.schema.hull_levers import HullLevers
from rollsim.scenario.text.beside import NamedFile
from rollsim.scenario.text.parse import parse
from rollsim.scenario.text.read import read_text
from rollsim.ship.hull.curves import DENSITY, Curves, Trim, volume_at
from rollsim.ship.hull.form import Hull, UnfloatableError
from rollsim.ship.wave_levers import simple_form

Arrays = dict[str, NDArray[Any]]

DRAUGHTS = np.linspace(0.2, 0.8, 13)
"""Shares of the depth at which the displacements lie where none are asked for."""
STEEPEST = 1.0 / 30.0
"""Greatest elevation amidships over her length: a wave of a fifteenth of her length in height."""
ELEVATIONS = 11


class Wanted(NamedTuple):
    """A hull and what of it is wanted: displacements [t], heels [degree], trim."""

    hull: Hull
    text: str
    displacement: tuple[float, ...] = ()
    heel_step: float = 2.5
    heel_max: float = 90.0
    trim: Trim = Trim()


def hull_from(path: Path) -> Wanted:
    """The hull of a hull file, or of a scenario with its displacements and trim."""
    text = read_text(path)
    if "ship" not in parse(text, str(path)):
        return Wanted(hull_of(NamedFile(str(path), text)), text)
    study = loads(text, str(path), path.parent)
    levers = study.base.ship.levers
    if not isinstance(levers, HullLevers):
        hint = "give a hull file, or a scenario whose levers are her hull"
        raise InputError(str(path), [Fault("ship.levers.kind", 'is not "hull"', hint)])
    return Wanted(
        hull_of(levers.file),
        study.text,
        _displacements(study),
        levers.heel_step_deg,
        levers.heel_max_deg,
        Trim(levers.trim == "free", _along(study)),
    )


def _along(study: Study) -> float | None:
    """Where G lies along her [m], where the loading of all cases puts it at one place."""
    places = {case.scenario.ship.along for case in study.cases}
    return places.pop() if len(places) == 1 else None


def _displacements(study: Study) -> tuple[float, ...]:
    """The displacements of the cases [t], each once."""
    return tuple(sorted({case.scenario.ship.displacement_t for case in study.cases}))


def default_displacements(hull: Hull) -> tuple[float, ...]:
    """Displacements [t] at even draughts from a fifth to four fifths of the depth."""
    low = float(hull.sections.z.min())
    draughts = low + DRAUGHTS * (hull.depth - low)
    volumes = [volume_at(hull, float(draught)) * DENSITY for draught in draughts]
    return tuple(float(f"{volume:.4g}") for volume in volumes if volume > 0.0)


def hull_arrays(wanted: Wanted) -> Arrays:
    """All variables of `names.MAPS["hull"]`; UnfloatableError where she does not float as asked."""
    hull = wanted.hull
    displacement = wanted.displacement or default_displacements(hull)
    if not displacement:
        hint = "heights count from the keel, and half breadths above 0 make a volume"
        raise UnfloatableError("the hull holds no volume", hint)
    steps = max(2, math.ceil(wanted.heel_max / wanted.heel_step - 1e-9))
    heel = np.linspace(0.0, wanted.heel_max, steps + 1)
    if not hull.symmetric:
        heel = np.concatenate((-heel[:0:-1], heel))
    curves = Curves(hull, np.array(displacement), wanted.trim)
    upright = curves.hydrostatics
    arrays: Arrays = {
        "displacement": np.array(displacement),
        "heel": heel,
        "kn": curves.kn(np.radians(heel))[:, 0],
        **{name: values for name, values in upright._asdict().items() if name != "displacement"},
    }
    arrays |= _immersion(curves, wanted) | _in_waves(curves, heel) | _form(hull)
    return arrays


def _immersion(curves: Curves, wanted: Wanted) -> Arrays:
    """Heels at which openings and the deck edge come under water [degree]."""
    hull = curves.hull
    heel_max, step = math.radians(wanted.heel_max), math.radians(wanted.heel_step)
    deck = np.full(curves.volumes.size, math.nan)
    if len(hull.deck_edges):
        immersed = curves.immersion(hull.deck_edges, heel_max, step)
        known = np.isfinite(immersed).any(axis=1)
        deck[known] = np.degrees(np.nanmin(immersed[known], axis=1))
    arrays: Arrays = {"deck_edge_heel": deck}
    if hull.openings:
        points = np.array([(each.along, each.across, each.height) for each in hull.openings])
        arrays["opening"] = np.array([each.name for each in hull.openings])
        arrays["opening_heel"] = np.degrees(curves.immersion(points, heel_max, step))
    return arrays


def _in_waves(curves: Curves, heel: NDArray[np.float64]) -> Arrays:
    """KN and KM on waves of her length, with the simple form that comes nearest."""
    greatest = STEEPEST * curves.hull.length
    elevation = np.linspace(-greatest, greatest, ELEVATIONS)
    phi = np.radians(heel)
    kn = curves.kn(phi, elevation)
    km = curves.at(0.0, elevation)[:, :, 0, 4]
    forms = [simple_form(elevation, km[i], phi, kn[i]) for i in range(len(km))]
    return {
        "elevation": elevation,
        "kn_in_waves": kn,
        "km_in_waves": km,
        "gm_per_m": np.array([form.gm_per_m for form in forms]),
        "gm_per_m_miss": np.array([form.miss for form in forms]),
    }


def _form(hull: Hull) -> Arrays:
    """The stations as closed outlines, the shorter ones filled up with NaN."""
    longest = max(len(station.outline) for station in hull.stations) + 1
    outlines = np.full((len(hull.stations), longest, 2), math.nan)
    for row, station in zip(outlines, hull.stations, strict=True):
        closed = np.concatenate((station.outline, station.outline[:1]))
        row[: len(closed)] = closed
    return {
        "station_along": np.array([station.along for station in hull.stations]),
        "station_y": outlines[:, :, 0],
        "station_z": outlines[:, :, 1],
    }
