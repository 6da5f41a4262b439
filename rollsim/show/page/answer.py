"""The answer to the quiz's question, derived from a run by one stated rule."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from rollsim.names import Outcome

ANSWERS = ("rights", "stays", "lolls", "capsizes")

HEELED = 1.0
"""Mean roll [degree] from which a ship counts as heeled."""
OF_SWING = 0.2
"""Share of the swing that a mean roll must reach, lest chance in a seaway counts as a heel."""

RULE = (
    "She capsizes if the run ended at the capsize angle. Else the last quarter of the run decides. "
    "She lolls if GM is below 0 at the end and she lies 1° or more from upright on average, "
    "whichever side. She stays if the mean roll is 1° or more to one side and at least a fifth of "
    "half the range of roll. She rights otherwise."
)


def answer(
    t: NDArray[np.float64], roll: NDArray[np.floating[Any]], gm: float, outcome: int
) -> tuple[str, str]:
    """One of ANSWERS and the reason for it; empty where there is none: not run, not solved.

    t [s] and roll [degree] are the output points, NaN after the end; gm [m] at the end.
    """
    if outcome in (Outcome.NOT_RUN, Outcome.NOT_SOLVED):
        return "", ""
    if outcome == Outcome.CAPSIZED:
        return "capsizes", "the run ended at the capsize angle"
    known = np.isfinite(roll)
    if not known.any():
        return "", ""
    late = roll[known & (t >= 0.75 * t[known][-1])].astype(np.float64)
    mean, lying = float(late.mean()), float(np.abs(late).mean())
    swing = 0.5 * float(np.ptp(late))
    if gm < 0.0 and lying >= HEELED:
        return "lolls", f"GM is {metres(gm)} and she lies {lying:.1f}° from upright on average"
    heel = f"the mean roll of the last quarter is {_sided(mean)}, GM {metres(gm)}"
    return ("stays" if abs(mean) >= max(HEELED, OF_SWING * swing) else "rights"), heel


def metres(length: float) -> str:
    """A length in metres to the millimetre, with the minus sign of print."""
    return f"{length:.3f} m".replace("-", "−")


def _sided(angle: float) -> str:
    """An angle with its side: 3.2° to port."""
    side = "starboard" if angle > 0 else "port"
    return f"{abs(angle):.1f}° to {side}" if abs(angle) >= 0.05 else "0.0°"
