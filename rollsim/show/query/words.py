"""What is being seen, in words: two lines for every frame, what she does and why."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from rollsim.names import Outcome
from rollsim.show.query import cases
from rollsim.show.query.runs import outcome_of, outcome_text
from rollsim.show.query.track import Track

if TYPE_CHECKING:
    import xarray as xr

Floats = NDArray[np.float64]
Caption = tuple[str, str]

QUIET = 1.5
"""Angles [degree] below this count as none: at rest, upright."""
LOOK = 5.0
"""Time [s] before and after a moment in which she has to be quiet to count as at rest."""
NEAR_UPRIGHT = 0.35
"""Share of the angle of loll within which she is called upright but unstable."""
LIMITS = {"flooding_limit": "flooding angle", "roll_limit": "roll limit"}


def rest(stable: Floats, unstable: Floats, angle: float) -> float:
    """The stable heel that she goes to from `angle`, undriven; NaN where there is none."""
    low = np.max(unstable[unstable <= angle], initial=-np.inf)
    high = np.min(unstable[unstable > angle], initial=np.inf)
    near = stable[(stable > low) & (stable < high)]
    return float(near[0]) if near.size else np.nan


def captions(ds: xr.Dataset, case: int, realisation: int, run: Track) -> list[Caption]:
    """What and why, for every frame of a run."""
    known = np.isfinite(cases.values(ds, "roll_angle", case=case, realisation=realisation))
    ended = run.times >= float(ds["t"].values[known][-1])
    limits = cases.limits(ds, case)
    quiet = _quiet(run)
    moments = [_moment(run, frame, bool(quiet[frame]), limits) for frame in range(run.times.size)]
    end = (ended_text(ds, case, realisation), "the run stops here")
    return [end if over else words for over, words in zip(ended, moments, strict=True)]


def ended_text(ds: xr.Dataset, case: int, realisation: int) -> str:
    """How a run ended; one that passed a limit went on after that."""
    words = outcome_text(ds, case, realisation)
    if outcome_of(ds, case, realisation) in (Outcome.ROLL_LIMIT, Outcome.FLOODED):
        return f"{words}, went on to the end"
    return words.replace("not solved", "the solver gave up")


def _quiet(run: Track) -> NDArray[np.bool_]:
    """Whether she hardly moves in the stored points around a frame."""
    t, heel = run.stored.t, run.stored.heel
    first = np.searchsorted(t, run.times - LOOK)
    last = np.searchsorted(t, run.times + LOOK, side="right")
    return np.array([np.ptp(heel[a:b]) < QUIET for a, b in zip(first, last, strict=True)])


def _moment(run: Track, frame: int, quiet: bool, limits: dict[str, float]) -> Caption:
    """What and why at one frame, the gravest first."""
    heel, roll, gm = float(run.heel[frame]), float(run.roll[frame]), float(run.gm[frame])
    stable, unstable = run.rests(frame)
    if _past_vanishing(heel, stable, unstable):
        return "past the vanishing angle", "her own lever now turns her further over"
    for name, words in LIMITS.items():
        if name in limits and abs(roll if name == "roll_limit" else heel) > limits[name]:
            return f"past the {words} of {limits[name]:g}°", _gm(gm)
    if gm < 0.0:
        lolls = stable[np.sign(stable) == np.sign(heel)]
        if not lolls.size:
            return _going_over(stable), _gm(gm)
        if abs(heel) < NEAR_UPRIGHT * float(np.abs(lolls).min()):
            return "near upright, and unstable there", _gm(gm)
        return f"lolling to {_side(heel)}", _gm(gm)
    return _about(run, frame, quiet, rest(*run.rests(frame, float(run.heeling_lever[frame])), heel))


def _past_vanishing(heel: float, stable: Floats, unstable: Floats) -> bool:
    if not stable.size:
        return False
    over = unstable[unstable > stable.max()], unstable[unstable < stable.min()]
    return bool(np.any(heel > over[0]) or np.any(heel < over[1]))


def _about(run: Track, frame: int, quiet: bool, angle: float) -> Caption:
    """How she moves about the heel that she would rest at, and why she would rest there."""
    gm, lever = float(run.gm[frame]), float(run.heeling_lever[frame])
    across = float(run.gravity[0, frame])
    if not np.isfinite(angle):
        return "nothing holds her", "the heeling lever exceeds her righting lever"
    if abs(angle) < QUIET:
        return "upright" if quiet else "rolling about upright", _gm(gm)
    listed, pushed = abs(across) > 1e-4, abs(lever) > 1e-4
    lies = "with a list of" if listed and not pushed else "heeled"
    what = f"{'at rest' if quiet else 'rolling'}, {lies} {abs(angle):.0f}° to {_side(angle)}"
    causes = [f"lever {abs(lever):.2f} m to {_side(lever)}"] * pushed
    causes += [f"G {abs(across):.2f} m to {_side(across)}"] * listed
    why = "; ".join(causes) if listed else f"wind or other {''.join(causes)}"
    return what, why if causes else _gm(gm)


def _going_over(stable: Floats) -> str:
    """What she does where she cannot rest on the side that she is on."""
    return f"going over to {_side(stable[0])}" if stable.size else "nothing holds her"


def _gm(gm: float) -> str:
    size = f"GM {signed(gm, 2 if abs(gm) >= 0.05 else 3)} m"
    if gm < 0.0:
        return f"{size}, negative: upright is unstable"
    return f"{size}: upright is {'stable' if gm > 0.0 else 'neutral'}"


def _side(angle: float) -> str:
    return "starboard" if angle > 0.0 else "port"


def readout(run: Track, frame: int) -> str:
    """Time and angles as numbers."""
    words = [f"t {run.times[frame]:.1f} s", f"roll {signed(run.roll[frame], 1)}°"]
    if run.waves:
        words.append(f"to water {signed(run.heel[frame], 1)}°")
    if np.isfinite(run.scene.lever[frame]):
        words.append(f"GZ {signed(run.scene.lever[frame], 2)} m")
    return "  ".join(words)


def signed(value: float, digits: int) -> str:
    """A number with its sign; the minus is as wide as the plus."""
    rounded = round(float(value), digits) + 0.0  # no minus before a zero
    return f"{rounded:+.{digits}f}".replace("-", "−")
