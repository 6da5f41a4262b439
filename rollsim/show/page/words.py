"""The words and key figures of the classroom page."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from rollsim.show.page.answer import metres
from rollsim.show.query import cases, severity
from rollsim.show.query.runs import outcome_text, solved

if TYPE_CHECKING:
    import xarray as xr

Figure = tuple[str, str, bool]
"""What it is, its value, and whether it would give the quiz's answer away."""


def thinning(every: int, step: float) -> str:
    """Which output points the page holds, and by what rule."""
    which = "all output points" if every == 1 else f"every {every}th output point"
    return (
        f"Shown: {which}, up to {step:g} s apart, with the roll drawn smooth between them by angle "
        "and rate. Every n-th point is kept, n the least for which the page stays below 5 MB; "
        "a page that would need points more than 1 s apart is refused."
    )


def case_figures(ds: xr.Dataset, case: int) -> list[Figure]:
    """The key figures of a case at the start, those that there are."""
    number = {
        name: cases.number(ds, name, case=case)
        for name in ("gm", "static_heel", "loll_angle", "loll_angle_port", "vanishing_angle",
                     "vanishing_angle_port", "capsize_probability", "capsize_probability_lower",
                     "capsize_probability_upper")
    }  # fmt: skip
    kg = float(cases.values(ds, "centre_of_gravity_z", case=case)[0])
    chance = (
        f"{number['capsize_probability']:.3g} (95 %: {number['capsize_probability_lower']:.2g} to "
        f"{number['capsize_probability_upper']:.2g}), {int(solved(ds, case).sum())} storms"
    )
    figures: list[Figure] = [
        ("GM at the start", metres(number["gm"]), False),
        ("KG at the start", metres(kg), False),
        ("static heel", _angle(number["static_heel"]), True),
        ("angle of loll", _pair(number["loll_angle_port"], number["loll_angle"]), True),
        (
            "vanishing stability",
            _pair(number["vanishing_angle_port"], number["vanishing_angle"]),
            True,
        ),
    ]
    figures += [
        (name, f"±{angle:.4g}°", False)
        for name, angle in (
            (cases.LIMITS[key], angle) for key, angle in cases.limits(ds, case).items()
        )
    ]
    if np.isfinite(number["capsize_probability"]):
        figures.append(("capsize in one run", chance, True))
    return [figure for figure in figures if figure[1]]


def run_figures(ds: xr.Dataset, case: int, run: int) -> list[Figure]:
    """The key figures of one run."""
    where = {"case": case, "realisation": run}
    most, least = (cases.number(ds, name, **where) for name in ("roll_max", "roll_min"))
    margin = cases.number(ds, "energy_margin", **where)
    figures = [
        ("outcome", outcome_text(ds, case, run), True),
        ("extremes of roll", _pair(least, most), True),
        ("severity factor", severity.run_text(ds, case, run), True),
        ("energy margin", f"{margin:.2f}".replace("-", "−") if np.isfinite(margin) else "", True),
    ]
    return [figure for figure in figures if figure[1]]


def _angle(angle: float) -> str:
    """An angle [degree] with its sign, + to starboard; empty where missing."""
    return f"{angle:+.1f}°".replace("-", "−") if np.isfinite(angle) else ""


def _pair(port: float, starboard: float) -> str:
    """Two angles, empty where both are missing."""
    angles = [_angle(angle) for angle in (port, starboard) if np.isfinite(angle)]
    return " and ".join(angles)
