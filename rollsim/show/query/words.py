"""What is being seen, in words: two lines for every frame, what she does and why."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from rollsim.names import Outcome
from rollsim.ship.verdict import NONE, RULES, ZERO_GM
from rollsim.show.query import cases
from rollsim.show.query.runs import outcome_of, outcome_text
from rollsim.show.query.track import Track

if TYPE_CHECKING:
    import xarray as xr

Caption = tuple[str, str]

LIMITS = {"flooding_limit": "flooding angle", "roll_limit": "roll limit"}
VERDICTS = {
    "capsized": "capsized",
    "going-over": "going over to {side}",
    "neutral": "neutral: she stays where she is put",
    "flopping": "flopping over to {side}",
    "loll": "at her angle of loll, {angle} to {side}",
    "held-over": "held over {angle} to {side}",
    "list": "lies with a list of {angle} to {side}",
    "upright": "upright",
    "rights": "rolling about upright",
    "rolls": "rolling about {angle} to {side}",
}
"""Every verdict in words: `angle` is that of her heel, or of the well that she rolls about."""
UNKNOWN = "her levers are not known"
NO_WELL = "rolling back from beyond the barrier"
CREST = "near upright, and unstable there"
NEAR_UPRIGHT = 0.35
"""Share of the angle of loll within which she is called that."""
FAST = 1.0
"""Rate [degree/s] beyond which she passes upright."""


def verdict_table() -> list[dict[str, str]]:
    """The table for a page that gives verdicts of its own: name, when it holds, words, in order."""
    return [{"name": name, "when": RULES[name], "words": VERDICTS[name]} for name in RULES]


def captions(ds: xr.Dataset, case: int, realisation: int, run: Track) -> list[Caption]:
    """What and why, for every frame of a run."""
    known = np.isfinite(cases.values(ds, "roll_angle", case=case, realisation=realisation))
    ended = run.times >= float(ds["t"].values[known][-1])
    limits = cases.limits(ds, case)
    moments = [_moment(run, frame, limits) for frame in range(run.times.size)]
    how = ended_text(ds, case, realisation)
    gone = outcome_of(ds, case, realisation) in (Outcome.CAPSIZED, Outcome.NOT_SOLVED)
    return [
        words if not over else (how, "end of the run") if gone
        else (words[0], f"end of the run: {how}")
        for over, words in zip(ended, moments, strict=True)
    ]  # fmt: skip


def ended_text(ds: xr.Dataset, case: int, realisation: int) -> str:
    """How a run ended; one that passed a limit went on after that."""
    words = outcome_text(ds, case, realisation)
    if outcome_of(ds, case, realisation) in (Outcome.ROLL_LIMIT, Outcome.FLOODED):
        return f"{words}, and went on"
    return words.replace("not solved", "the solver gave up").replace("survived", "no limit passed")


def _moment(run: Track, frame: int, limits: dict[str, float]) -> Caption:
    """What and why at one frame; past a limit that comes first."""
    heel, roll = float(run.heel[frame]), float(run.roll[frame])
    what = what_text(run, frame)
    for name, words in LIMITS.items():
        if name in limits and abs(roll if name == "roll_limit" else heel) > limits[name]:
            return f"past the {words} of {limits[name]:g}°", what
    return what, why_text(run, frame)


def what_text(run: Track, frame: int) -> str:
    """The verdict of a frame in words."""
    name, well = str(run.verdicts.name[frame]), float(np.degrees(run.verdicts.well[frame]))
    heel, rate = float(run.heel[frame]), float(run.heel_rate[frame])
    if not name:
        return UNKNOWN
    if name == "rolls":
        return _rolling(run, frame, well)
    # She goes where she moves to; from rest, to the side to which her net lever turns her.
    to = rate or _turned_to(run, frame)
    toward = {"going-over": to, "flopping": rate}.get(name, heel)
    return VERDICTS[name].format(side=side(toward), angle=f"{abs(heel):.0f}°")


def _turned_to(run: Track, frame: int) -> float:
    """The heeling lever less the righting lever [m]: positive, to starboard."""
    net = float(run.heeling_lever[frame] - run.scene.lever[frame])
    return net if np.isfinite(net) else float(run.heel[frame])


def _rolling(run: Track, frame: int, well: float) -> str:
    """What she rolls about; with GM below zero it has a name of its own."""
    gm, heel = float(run.gm[frame]), float(run.heel[frame])
    if not np.isfinite(well):
        return NO_WELL
    angle = f"{abs(well):.0f}°"
    if gm < -ZERO_GM:
        angle = f"her loll of {angle}"
        near = abs(heel) < NEAR_UPRIGHT * abs(well)
        if heel * well < 0.0 or (near and abs(run.heel_rate[frame]) > FAST):
            return f"swinging across to {angle} to {side(well)}"
        if near:
            return CREST
    return VERDICTS["rolls"].format(angle=angle, side=side(well))


def why_text(run: Track, frame: int) -> str:
    """The cause of what is seen: the levers that act, or GM."""
    name, gm = run.verdicts.name[frame], float(run.gm[frame])
    if not name:
        return ""
    causes = "; ".join(_causes(run, frame))
    if name == "going-over" and np.isnan(run.verdicts.well[frame]) and causes and gm > ZERO_GM:
        return f"no heel holds her: {causes}"
    if name == "going-over":
        return "past her barrier: she does not turn back"
    if causes and gm < -ZERO_GM:
        return f"GM {signed(gm, 2)} m; {causes}"
    return causes or gm_text(gm)


def _causes(run: Track, frame: int) -> list[str]:
    """What acts besides the height of G."""
    lever, across = float(run.heeling_lever[frame]), float(run.gravity[0, frame])
    words = []
    if abs(lever) >= NONE:
        words.append(f"lever {_length(lever)} m to {side(lever)}")
    if abs(across) >= NONE:
        words.append(f"G {_length(across)} m to {side(across)}")
    # Two causes and GM must stay on one line of a narrow column.
    return [each.replace(" m to ", " m ") for each in words] if len(words) > 1 else words


def _length(length: float) -> str:
    """The size of a length [m] to the centimetre, to the millimetre where it is small."""
    return f"{abs(length):.{2 if abs(length) >= 0.05 else 3}f}"


def gm_text(gm: float) -> str:
    """GM and what it says of upright."""
    if abs(gm) <= ZERO_GM:
        return "GM +0.000 m: upright is neutral"
    size = f"GM {signed(gm, 2 if abs(gm) >= 0.05 else 3)} m"
    return f"{size}: upright is stable" if gm > 0.0 else f"{size}, negative: upright is unstable"


def side(angle: float) -> str:
    """The side that an angle or a lever is to."""
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
