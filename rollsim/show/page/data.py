"""What a classroom page holds of its results: the runs, the curves, the words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from rollsim.cautions import CAUTION, LOLL_WARNING
from rollsim.errors import REPLAY, Fault, InputError, printable
from rollsim.measures.outcome import capsized
from rollsim.show.marks import legend
from rollsim.show.page import words
from rollsim.show.page.answer import RULE, asked
from rollsim.show.query import cases
from rollsim.show.query.curves import (
    escape_line,
    heels,
    lifts,
    metacentric_heights,
    moved,
    on_grid,
    potential,
    righting,
)
from rollsim.show.query.filling import stored_filling
from rollsim.show.query.heel import heel_history
from rollsim.show.query.inputs import pusher, ship_name
from rollsim.show.query.runs import outcome_of, outcome_text, with_history
from rollsim.show.query.section import section
from rollsim.show.query.track import track
from rollsim.show.query.words import Caption, captions
from rollsim.show.shared.blobs import PRECISION, Blobs

if TYPE_CHECKING:
    import xarray as xr

Floats = NDArray[np.float64]

CURVES = {
    "gz": "righting_lever",
    "steady": "steady_heeling_lever",
    "m_y": "metacentre_y",
    "m_z": "metacentre_z",
    "b_y": "buoyancy_y",
    "b_z": "buoyancy_z",
}
HISTORIES = {
    "roll": "roll_angle",
    "rate": "roll_rate",
    "slope": "wave_slope",
    "lever": "heeling_lever",
}
"""What the page calls the variables of the result that it carries."""
ESCAPE_POINTS = 101


@dataclass(frozen=True)
class Chosen:
    """A result, the name of its file, and which of its cases and realisations to show.

    `why` says in words how the realisations came to be chosen.
    """

    name: str
    ds: xr.Dataset
    cases: Sequence[int]
    realisations: Sequence[int]
    why: str = ""


def page_data(chosen: Sequence[Chosen], every: int) -> dict[str, Any]:
    """All that the page shows, every `every`-th output point of the histories."""
    blobs = Blobs()
    entries = [
        _case(each, case, every, blobs) | {"study": study, "family": family}
        for study, each in enumerate(chosen)
        for case, family in zip(each.cases, families(each), strict=True)
    ]
    step = max(output_step(each.ds) for each in chosen) * every
    return {
        "studies": [_text(cases.title(each.ds)) or each.name for each in chosen],
        "caution": CAUTION,
        "loll_warning": LOLL_WARNING,
        "rule": RULE,
        "legend": legend(),
        "notes": [words.thinning(every, step), PRECISION, *_sources(chosen)],
        "cases": entries,
        "blobs": blobs.packed,
    }


def output_step(ds: xr.Dataset) -> float:
    """Spacing of the output points [s]; 1 where there is but one."""
    t = ds["t"].values
    return float(t[1] - t[0]) if t.size > 1 else 1.0


def _case(each: Chosen, case: int, every: int, blobs: Blobs) -> dict[str, Any]:
    ds = each.ds
    curves = {key: cases.values(ds, name, case=case) for key, name in CURVES.items()}
    curves |= _changes_by_g(ds, case)
    g_y, g_z = (cases.values(ds, f"centre_of_gravity_{axis}", case=case) for axis in "yz")
    shape, lift = section(ds, case), lifts(ds, case)
    return {
        "number": case,
        "label": _text(cases.case_label(ds, case, each.cases)),
        "ship": _text(ship_name(ds)),
        "gm": cases.number(ds, "gm", case=case),
        "free_surface": shape.free_surface,
        "draught": shape.draught,
        "outline": [blobs.curve(axis) for axis in shape.outline],
        "depth_assumed": shape.depth_assumed,
        "schematic": shape.schematic,
        "relative": cases.relative(ds, case),
        "push": pusher(ds),
        "limits": cases.limits(ds, case),
        "vanishing": _known(ds, case, "vanishing_angle_port", "vanishing_angle"),
        "figures": words.case_figures(ds, case),
        "heel": blobs.curve(heels(ds)),
        "level": blobs.curve(shape.level),
        **{key: blobs.curve(curve) for key, curve in curves.items()},
        "escape": _escape(ds, case, blobs),
        "step": output_step(ds) * every,
        "duration": float(ds["t"].values[-1]),
        "g_y": blobs.history(g_y[::every]),
        "g_z": blobs.history(g_z[::every]),
        "lift": blobs.history(lift[::every]),
        "filling": _filling(ds, case, blobs),
        "gm_then": blobs.history(metacentric_heights(ds, case, g_z, lift)[::every]),
        "runs": [_run(ds, case, run, every, blobs) for run in _with_history(each, case)],
    }


def _changes_by_g(ds: xr.Dataset, case: int) -> dict[str, Floats]:
    """What GZ changes by over heel as G moves one metre up, and one to starboard [m/m]."""
    grid, still = heels(ds), righting(ds, case)
    if still is None:
        return {key: np.full(grid.shape, np.nan) for key in ("per_rise", "per_shift")}
    start = on_grid(still, grid)
    return {
        "per_rise": on_grid(moved(still, 0.0, 1.0), grid) - start,
        "per_shift": on_grid(moved(still, 1.0, 0.0), grid) - start,
    }


def _filling(ds: xr.Dataset, case: int, blobs: Blobs) -> dict[str, Any] | None:
    """What moving liquid adds to GZ: times, and a curve over the result's heels at each."""
    stored = stored_filling(ds, case)
    if stored is None:
        return None
    levers = cases.values(ds, "filled_lever", case=case)[: stored.times.size]
    return {"times": stored.times.tolist(), "curves": [blobs.curve(row) for row in levers]}


def _run(ds: xr.Dataset, case: int, run: int, every: int, blobs: Blobs) -> dict[str, Any]:
    where = {"case": case, "realisation": run}
    histories = {key: cases.values(ds, name, **where) for key, name in HISTORIES.items()}
    histories["heel_rate"] = heel_history(ds, case, run).rate
    t = np.asarray(ds["t"].values, dtype=float)
    known = np.flatnonzero(np.isfinite(histories["roll"]))
    last = int(known[-1]) if known.size else 0
    height = cases.values(ds, "centre_of_gravity_z", case=case)
    gm = metacentric_heights(ds, case, height, lifts(ds, case))
    quiz = asked(ds, case, run)
    seen = captions(ds, case, run, track(ds, case, run, t[: last + 1])) if known.size else []
    end = cases.number(ds, "end_time", **where)
    return {
        "number": run,
        "outcome": outcome_text(ds, case, run),
        "ended": "; ".join(seen[-1]) if seen else "",
        "end": end if np.isfinite(end) else float(t[last]),
        "capsized": bool(capsized(outcome_of(ds, case, run))),
        "loll": bool((gm[: last + 1] < 0.0).any()),
        "question": _text(quiz.question),
        "answers": [_text(words) for words in quiz.answers],
        "answer": _text(quiz.answer),
        "reason": _text(quiz.reason),
        "captions": _changes(seen[::every]),
        "figures": words.run_figures(ds, case, run),
        **{key: blobs.history(values[::every]) for key, values in histories.items()},
    }


def _changes(every: Sequence[Caption]) -> list[tuple[int, str, str]]:
    """What is seen and why, wherever it changes: the number of the point from which it holds."""
    changes = (i for i in range(len(every)) if i == 0 or every[i] != every[i - 1])
    return [(i, *every[i]) for i in changes]


def _with_history(each: Chosen, case: int) -> list[int]:
    """The chosen realisations whose histories the result holds."""
    runs = with_history(each.ds, case, each.realisations)
    if runs:
        return runs
    number = partial(cases.number_of, each.ds)
    names = ", ".join(str(number("realisation", run)) for run in each.realisations)
    problem = f"case {number('case', case)} holds no history of realisation {names}"
    raise InputError(each.name, [Fault("", problem, REPLAY)])


def families(each: Chosen) -> list[int]:
    """The family of every chosen case: cases that differ in nothing but what moves GM."""
    ds, gm = each.ds, cases.values(each.ds, "gm")
    axes = cases.sweep_axes(ds)
    columns: dict[str, list[str]] = {name: [str(v) for v in ds[name].values] for name in axes}
    columns["condition"] = cases.conditions(ds)
    movers = [axis for axis in axes if _moves(gm, columns, axis)] or ["condition"]
    others = [column for name, column in columns.items() if name not in movers]
    keys = [tuple(column[case] for column in others) for case in each.cases]
    order = list(dict.fromkeys(keys))
    return [order.index(key) for key in keys]


def _moves(gm: Floats, columns: dict[str, list[str]], axis: str) -> bool:
    """Whether GM changes along an axis while all else stays."""
    seen: dict[tuple[str, ...], float] = {}
    others = [column for name, column in columns.items() if name != axis]
    for case, value in enumerate(gm):
        if seen.setdefault(tuple(column[case] for column in others), float(value)) != value:
            return True
    return False


def _escape(ds: xr.Dataset, case: int, blobs: Blobs) -> list[int]:
    """Heel and rate of the line from which she just gets over; nothing where there is none."""
    well, gyradius = potential(ds, case), cases.number(ds, "gyradius", case=case)
    if not well.barriers or not np.isfinite(gyradius):
        return []
    line = escape_line(well, gyradius)
    pick = np.linspace(0, line[0].size - 1, ESCAPE_POINTS).astype(int)
    return [blobs.curve(axis[pick]) for axis in line]


def _known(ds: xr.Dataset, case: int, *names: str) -> list[float]:
    angles = (cases.number(ds, name, case=case) for name in names)
    return [angle for angle in angles if np.isfinite(angle)]


def _sources(chosen: Sequence[Chosen]) -> list[str]:
    return [
        _text(f"{each.name}: {each.ds.attrs.get('source', '')}; scenario "
              f"{each.ds.attrs.get('scenario_file', '')}, seed {each.ds.attrs.get('seed', '')}, "
              f"made {each.ds.attrs.get('date_created', '')}. Of {each.ds.sizes['realisation']} "
              f"realisations: {', '.join(map(str, each.realisations))}{each.why}.")
        for each in chosen
    ]  # fmt: skip


def _text(text: str) -> str:
    """Words of a file on one line, control characters written out."""
    return printable(" ".join(text.split()))
