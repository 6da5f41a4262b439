"""The quiz: what is asked of a run, and the right answer, by one stated rule."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from rollsim.measures.outcome import capsized
from rollsim.names import Outcome
from rollsim.ship.verdict import NONE, verdicts
from rollsim.show.query.cases import number
from rollsim.show.query.heel import heel_history
from rollsim.show.query.inputs import lesson
from rollsim.show.query.runs import outcome_of
from rollsim.show.query.track import Track, track

if TYPE_CHECKING:
    import xarray as xr

QUESTION = "What becomes of her?"
ANSWERS = {
    "upright": "she comes upright",
    "neutral": "neutral: she stays where she is put",
    "list": "she lies with a list",
    "held-over": "she is held over by wind or a push",
    "loll": "she lies at her angle of loll",
    "capsized": "she capsizes",
}
"""The verdicts with which a run can end, as the quiz offers them."""
LATE = 0.75
"""Share of a run after which it counts where she lies."""
RULE = (
    "She capsizes if the run ended at the capsize angle. Else the last quarter decides: from her "
    "mean heel there, under the mean lever and with G where it is in the end, the heel at which "
    "she would rest has a verdict, and that is the answer."
)


class Asked(NamedTuple):
    """A question, the answers to choose from, the right one (empty: none), and why."""

    question: str
    answers: tuple[str, ...]
    answer: str
    reason: str


def asked(ds: xr.Dataset, case: int, run: int) -> Asked:
    """What the quiz asks of a run: the author's question, or what becomes of her."""
    own = lesson(ds, case)
    outcome = outcome_of(ds, case, run)
    known = outcome not in (Outcome.NOT_RUN, Outcome.NOT_SOLVED)
    if own:
        return Asked(own.question, own.answers, own.answer if known else "", own.hint)
    name, reason = _end(ds, case, run) if known else ("", "")
    return Asked(QUESTION, tuple(ANSWERS.values()), ANSWERS.get(name, ""), reason)


def _end(ds: xr.Dataset, case: int, run: int) -> tuple[str, str]:
    """The verdict with which a run ends, and the numbers that it is read off."""
    if capsized(outcome_of(ds, case, run)):
        time = number(ds, "end_time", case=case, realisation=run)
        return "capsized", f"the run ended at the capsize angle, at {time:.4g} s"
    t = heel_history(ds, case, run).up_to_end().t
    if not t.size:
        return "", ""
    late = track(ds, case, run, t[t >= LATE * t[-1]])
    heel, lever = np.array([late.heel.mean()]), float(late.lever_upright.mean())
    moment = late.moment(late.times.size - 1, lever)
    if moment is None:
        return "", ""
    still = np.zeros(1)
    name, well = verdicts(moment, np.radians(heel), still)
    if name[0] != "neutral" and np.isfinite(well[0]):
        name, _ = verdicts(moment, well, still)
    return str(name[0]), _numbers(late, float(heel[0]), lever)


def _numbers(late: Track, heel: float, lever: float) -> str:
    """What the last quarter of a run looks like."""
    gm, across = float(late.gm[-1]), float(late.gravity[0, -1])
    words = [f"GM is {metres(gm)}", f"the mean heel of the last quarter {_sided(heel)}"]
    lying = float(np.abs(late.heel).mean())
    if lying > abs(heel) + 1.0:
        words[1] = f"she lies {lying:.1f}° from upright on average"
    if abs(lever) >= NONE:
        words.append(f"the heeling lever {metres(abs(lever))} to {_side(lever)}")
    if abs(across) >= NONE:
        words.append(f"G {metres(abs(across))} to {_side(across)}")
    return ", ".join(words)


def metres(length: float) -> str:
    """A length in metres to the millimetre, with the minus sign of print."""
    return f"{length:.3f} m".replace("-", "−")


def _side(value: float) -> str:
    return "starboard" if value > 0 else "port"


def _sided(angle: float) -> str:
    """An angle with its side: 3.2° to port."""
    return f"{abs(angle):.1f}° to {_side(angle)}" if abs(angle) >= 0.05 else "0.0°"
