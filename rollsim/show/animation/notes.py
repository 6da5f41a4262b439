"""What stands under an animation: its signs, and what it takes for granted."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from rollsim.show.animation.curves import TRAIL, limits_text
from rollsim.show.animation.plan import FilmPlan, span_text
from rollsim.show.marks import MARKS, STROKES
from rollsim.show.query import cases
from rollsim.show.query.section import DEPTHS
from rollsim.show.query.track import Track

if TYPE_CHECKING:
    import xarray as xr


def notes(ds: xr.Dataset, plan: FilmPlan, tracks: Sequence[Track]) -> list[str]:
    """What the picture takes for granted and what its signs mean, in few words."""
    points = [f"{mark.letter} {mark.words}" for name, mark in MARKS.items() if name != "virtual"]
    signs = [
        f"{', '.join(points)}; dotted: {STROKES['m-path'].words}. Full line: weight; dashed: "
        "buoyancy; between them the lever GZ, to scale."
    ]
    if any(run.ship.free_surface > 0.0 for run in tracks):
        signs.append(f"Gv: {MARKS['virtual'].words}.")
    if any(run.moves for run in tracks):
        signs.append(f"Dotted at G: {STROKES['g-path'].words}.")
    if any(np.any(run.heeling_lever) for run in tracks):
        signs.append(f"Arrow at her side, diamond in the curve: {STROKES['push'].words}.")
    if "phase" in plan.panels:
        signs.append(f"Phase: {TRAIL:g} s; dashed: escape line.")
    taken = [span_text(plan)]
    if any(run.waves for run in tracks):
        taken.append("Water on the effective wave slope, forces across it.")
    waves = any(np.any(run.stored.slope) for run in tracks)
    if waves and not any(run.waves for run in tracks):
        taken.append("Waves act as a moment here: the water is drawn level.")
    if waves and "history" in plan.panels:
        taken.append("History: wave slope dashed.")
    if any(run.ship.depth_assumed for run in tracks):
        taken.append(f"Depth is not given: drawn as {DEPTHS:g} draughts.")
    limits = {limits_text(cases.limits(ds, case)) for case, _ in plan.runs} - {""}
    taken += [f"Limits: {words}." for words in sorted(limits)]
    return [" ".join(signs), " ".join(taken)]
