"""What a decay record tells, as plain values in degrees: for tables, pictures and programs."""

from __future__ import annotations

import math
from dataclasses import asdict
from typing import Any

import numpy as np

from rollsim.constants import GRAVITY
from rollsim.decay.analysis import Decay
from rollsim.decay.metacentric import Row
from rollsim.decay.terms import KEYS, RULE, Estimate

Values = dict[str, Any]

CORRELATED = 4.0
"""Neighbouring residuals that say the same, from which the model lacks something."""
WORTH = 0.003
"""Residual over the first amplitude from which that is worth a word."""
SAME = 0.02
"""Difference of the two ways, as a share, that is none."""
SMALL = math.radians(1.0)
"""A first amplitude [rad] that is hardly a decay test in degrees."""
AMPLITUDES = (5.0, 10.0, 20.0)
"""Amplitudes [degree] at which the equivalent linear damping is told."""


def values_of(decay: Decay, metacentric: list[Row], gyradius_from_lever: bool) -> Values:
    """All numbers of a decay; lengths in m, times in s, angles in degrees."""
    swings, fit = decay.swings, decay.fit
    offset, drift = fit.mean
    return {
        "points": int(fit.time.size),
        "from_s": float(fit.time[0]),
        "to_s": float(fit.time[-1]),
        "notes": [*swings.notes, *doubts(decay)],
        "period_s": asdict(decay.period),
        "gyradius_m": _gyradius(fit.inertia) if gyradius_from_lever else None,
        "mean": {"offset_deg": math.degrees(offset), "drift_deg_per_s": math.degrees(drift)},
        "residual_deg": math.degrees(float(np.std(fit.residual))),
        "swings": _swings(decay),
        "terms": decay.terms,
        "rule": "as requested" if decay.forced else RULE,
        "sets": _sets(decay),
        "damping": {key: asdict(each) for key, each in fit.damping.items()},
        "damping_by_energy": {key: asdict(each) for key, each in decay.by_energy.damping.items()},
        "extinction": decay.extinction,
        "critical_fraction": {
            f"{angle:g}_deg": decay.critical_fraction(math.radians(angle)) for angle in AMPLITUDES
        },
        "metacentric": [
            {f"{key}_m" if key.startswith("gm") else key: value for key, value in _row(row).items()}
            for row in metacentric
        ],
        "toml": lines_to_paste(decay),
    }


def _swings(decay: Decay) -> list[Values]:
    swings = decay.swings
    columns = (swings.time, np.degrees(swings.angle), np.degrees(swings.amplitude))
    return [
        {"time_s": time, "angle_deg": angle, "amplitude_deg": size}
        for time, angle, size in zip(*(column.tolist() for column in columns), strict=True)
    ]


def _sets(decay: Decay) -> list[Values]:
    return [
        {
            "terms": name,
            "aicc": each.aicc if math.isfinite(each.aicc) else None,
            "all_above_0": each.possible,
            "residual_deg": math.degrees(float(np.std(each.residual))),
        }
        for name, each in decay.simulated.items()
    ]


def _row(row: Row) -> Values:
    values = asdict(row)
    values["period_s"] = values.pop("period")
    return values


def _gyradius(inertia: Estimate) -> Values:
    """k = √(g k²/g) [m]."""
    each = (inertia.value, inertia.lower, inertia.upper)
    return asdict(Estimate(*(math.sqrt(GRAVITY * value) for value in each)))


def doubts(decay: Decay) -> list[str]:
    """What makes the numbers doubtful, in words."""
    notes = []
    left = float(np.std(decay.fit.residual))
    if decay.fit.correlation > CORRELATED and left > WORTH * decay.swings.amplitude[0]:
        share = math.degrees(left)
        notes.append(
            f"neighbouring residuals ({share:.2g}°) hang together: lever or drift are not as "
            "supposed (--scenario gives her lever), or something else drove her; the intervals are "
            "widened for it, but a bias would stay"
        )
    if decay.swings.amplitude[0] < SMALL and not decay.record.radians:
        notes.append("the greatest roll is below 1°: is the angle in radians (--radians)?")
    for key, ours in decay.fit.damping.items():
        other = decay.by_energy.damping[key]
        apart = ours.lower > other.upper or other.lower > ours.upper
        if apart and abs(ours.value - other.value) > SAME * ours.value:
            notes.append(f"the two ways differ in {key} by more than their intervals")
    if not decay.fit.possible:
        notes.append("a coefficient came out as 0: fewer terms would do")
    return notes


def lines_to_paste(decay: Decay) -> str:
    """The lines for a scenario, each with its interval."""
    lines = ["[ship.damping]"]
    for key in KEYS:
        if key in decay.fit.damping:
            each = decay.fit.damping[key]
            line = f"{key} = {each.value:#.4g}"
            lines.append(f"{line:<28}# 95 %: {each.lower:.4g} to {each.upper:.4g}")
    return "\n".join(lines) + "\n"


def arrays_of(decay: Decay) -> dict[str, Any]:
    """What the picture draws, in seconds and degrees.

    `mean_amplitude` and `decrement` of each half swing, `decrement_error`, and the curve of the
    chosen terms over amplitudes, `curve_amplitude` and `curve`.
    """
    swings, fit = decay.swings, decay.fit
    offset, drift = fit.mean
    heel = swings.angle - offset - drift * (swings.time - fit.time[0])
    size, error = np.degrees(np.abs(heel)), np.degrees(swings.error)
    along = np.linspace(0.0, float(size.max()), 101)
    a, b, c = (decay.extinction[key] for key in ("a", "b_per_deg", "c_per_deg2"))
    return {
        "record_time": decay.record.time,
        "record": np.degrees(decay.record.angle),
        "time": fit.time,
        "fitted": np.degrees(fit.fitted),
        "mean": np.degrees(offset + drift * (fit.time - fit.time[0])),
        "residual": np.degrees(fit.residual),
        "peak_time": swings.time,
        "peak": np.degrees(swings.angle),
        "mean_amplitude": 0.5 * (size[:-1] + size[1:]),
        "decrement": size[:-1] - size[1:],
        "decrement_error": np.hypot(error[:-1], error[1:]),
        "curve_amplitude": along,
        "curve": a * along + b * along**2 + c * along**3,
    }
