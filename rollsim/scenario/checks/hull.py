"""Cross-checks of a ship by her hull: a sound file, and a hull that floats as asked."""

from __future__ import annotations

from rollsim.scenario.checks.base import Check, Findings
from rollsim.scenario.checks.parts import Parts, split
from rollsim.scenario.schema.hull_file import hull_in
from rollsim.scenario.schema.hull_levers import HullLevers
from rollsim.scenario.schema.loading import along_of
from rollsim.scenario.text.faults import Finding
from rollsim.ship.hull.form import UnfloatableError

FILE = ("ship", "levers", "file")
DISPLACEMENT = split("ship.displacement_t")
DRAUGHT = split("ship.draught_m")
MOST_TOLD = 20
OTHER_DRAUGHT = 0.02
"""Share of the draught by which a given one may differ from her papers' without a word."""
GREAT_TRIM = 0.04
"""Share of her length that a trim is usually within."""


def file_of_hull(parts: Parts) -> Findings:
    """The hull file is sound."""
    file = parts("ship.levers.file")
    faults = hull_in(file).faults
    more = len(faults) - MOST_TOLD
    for fault in faults[:MOST_TOLD]:
        where = f"{file.name}:{fault.line}:{fault.column}" if fault.line else file.name
        words = ": ".join(part for part in (where, fault.key, fault.problem) if part)
        others = f"; {more} more error{'s' * (more > 1)} in this file" if more > 0 else ""
        yield Finding(FILE, words, f"{fault.hint}{others}".removeprefix("; "))


def floats(parts: Parts) -> Findings:
    """The hull floats at her displacement and to the last heel."""
    levers = parts("ship.levers")
    if not isinstance(levers, HullLevers) or hull_in(levers.file).hull is None:
        return
    displacement = parts("ship.displacement_t")
    along = along_of(parts("ship.loading"), parts("ship.length_m"))
    try:
        levers.at(displacement, along)
        flooding = min(levers.flooding(displacement, along))
    except UnfloatableError as error:
        causes = (("ship", "levers"), ("ship", "loading"))
        yield Finding(DISPLACEMENT, error.problem, error.hint, causes)
        return
    if flooding == 0.0:
        problem = f"an opening of the hull is under water upright, got {displacement:g} t"
        yield Finding(DISPLACEMENT, problem, "rollsim hull tells which", (("ship", "levers"),))


def volume_at_the_draught(parts: Parts) -> Findings:
    """A draught that is given has some of the hull below it."""
    levers = parts("ship.levers")
    hull = hull_in(levers.file).hull if isinstance(levers, HullLevers) else None
    if hull is not None and parts.given("ship.draught_m"):
        from rollsim.ship.hull.curves import volume_at

        draught = parts("ship.draught_m")
        if volume_at(hull, draught) <= 0.0:
            problem = f"the hull has no volume below it, got {draught:g} m"
            hint = "the draught counts from height 0 of the hull file; left out, it follows"
            yield Finding(DRAUGHT, problem, hint, (("ship", "levers"),))


def draught_of_the_hull(parts: Parts) -> Findings:
    """A draught that is given is that of the hull at her displacement."""
    levers, draught = parts("ship.levers"), parts("ship.draught_m")
    if not isinstance(levers, HullLevers):
        return
    from rollsim.ship.hull.curves import DENSITY, volume_at

    displacement = parts("ship.displacement_t")
    own = float(levers.afloat(displacement).hydrostatics.draught[0])
    if abs(draught - own) > OTHER_DRAUGHT * own:
        hull = hull_in(levers.file).hull
        assert hull is not None
        there = volume_at(hull, draught) * DENSITY
        problem = f"is not the hull's at {displacement:g} t, {own:.3g} m, got {draught:g}"
        hint = f"at {draught:g} m she displaces {there:.4g} t; left out, the draught follows"
        yield Finding(DRAUGHT, problem, hint, (DISPLACEMENT, ("ship", "levers")))


def trim_of_the_hull(parts: Parts) -> Findings:
    """A hull with a loading lies nearly on an even keel."""
    levers, length = parts("ship.levers"), parts("ship.length_m")
    along = along_of(parts("ship.loading"), length)
    if along is None or not isinstance(levers, HullLevers) or levers.trim != "free":
        return
    displacement = parts("ship.displacement_t")
    trim = float(levers.afloat(displacement, along).hydrostatics.trim[0])
    if abs(trim) > GREAT_TRIM * length:
        where = "the stern" if trim > 0.0 else "the bow"
        problem = (
            f"trims her {abs(trim):.3g} m by {where}, G {along:.4g} m forward of the after end"
        )
        hint = (
            f"usually within {100.0 * GREAT_TRIM:g} % of her length, {GREAT_TRIM * length:.3g} m "
            "(common practice): look at along_m of the masses"
        )
        yield Finding(("ship", "loading"), problem, hint, (("ship", "levers"),))


WAVES = ("ship", "levers_in_waves")
STEEPEST_WAVE = 0.1
"""Greatest elevation over her length: a wave breaks at a seventh of its length in height."""


def wave_table(parts: Parts) -> Findings:
    """Levers in waves by one number, or by the hull with elevations."""
    table = parts("ship.levers_in_waves")
    if table is None:
        return
    if (table.from_ is None) == (table.gm_per_m is None):
        problem = 'must hold exactly one of gm_per_m and from = "hull"'
        yield Finding(WAVES, problem, "one number, or the hull's own levers")
    elif table.from_ is None and table.elevations_m is not None:
        problem = "belongs to levers from the hull"
        yield Finding((*WAVES, "elevations_m"), problem, 'add from = "hull", or leave it out')
    elif table.from_ is not None:
        yield from _hull_in_waves(parts)


def _hull_in_waves(parts: Parts) -> Findings:
    elevations = parts("ship.levers_in_waves.elevations_m")
    levers, length = parts("ship.levers"), parts("ship.length_m")
    if elevations is None:
        hint = "elevations amidships: { from = -3.0, to = 3.0, steps = 13 }"
        yield Finding((*WAVES, "elevations_m"), "is missing", hint)
        return
    if not isinstance(levers, HullLevers):
        problem = 'needs levers of kind "hull"'
        hint = "with other levers give gm_per_m"
        yield Finding((*WAVES, "from"), problem, hint, (("ship", "levers"),))
        return
    greatest = max(-elevations.from_, elevations.to)
    if greatest > STEEPEST_WAVE * length:
        problem = f"must lie within {STEEPEST_WAVE * length:.3g} m, a tenth of her length, got "
        hint = "elevation amidships in metres, half the height of a wave of her length"
        yield Finding((*WAVES, "elevations_m"), f"{problem}{greatest:g}", hint)
        return
    if hull_in(levers.file).hull is None:
        return
    displacement = parts("ship.displacement_t")
    try:
        along = along_of(parts("ship.loading"), parts("ship.length_m"))
        levers.in_waves(displacement, elevations.values, along)
    except UnfloatableError as error:
        yield Finding((*WAVES, "elevations_m"), error.problem, error.hint, (DISPLACEMENT,))


HULL_CHECKS: tuple[Check, ...] = (floats, volume_at_the_draught, wave_table)
HULL_DOUBTS: tuple[Check, ...] = (draught_of_the_hull, trim_of_the_hull)
