"""What the live page holds: cases as files, hulls with their curves and outlines, storms."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from rollsim.cautions import CAUTION, LOLL_WARNING
from rollsim.errors import printable
from rollsim.ship.levers import Levers
from rollsim.ship.verdict import BORDERS
from rollsim.ship.wave_levers import WaveLevers
from rollsim.show.marks import legend
from rollsim.show.query.section import DEPTHS, outline, water_levels
from rollsim.show.query.words import CREST, FAST, NEAR_UPRIGHT, NO_WELL, verdict_table
from rollsim.show.shared.blobs import Blobs

Floats = NDArray[np.float64]

LEVEL_HEELS = np.radians(np.arange(-90.0, 90.1, 1.0))
"""Heels [rad] at which the level of the water in a section is given."""
HULL_WORDS = {
    "own": "her own",
    "box": "box",
    "barrel": "round barrel",
    "wall-sided": "wall-sided, by formula",
}
"""What a kind of hull is called."""


ROLLING = {"no_well": NO_WELL, "crest": CREST, "near_upright": NEAR_UPRIGHT, "fast": FAST}
"""What "rolls" is called beyond the table, and its borders."""


@dataclass(frozen=True, eq=False)
class HullShape:
    """A hull by its [ship.levers] table, with its curve, its upright KB [m] and its kind.

    `form` is the hull's own curve where liquid is in `levers`; `section` (2, n) [m] her outline;
    `flooding` the heels [degree] to port and starboard where they differ; `waves` levers at even
    elevations; `filling` what moving liquid adds while tanks fill, over a coordinate in time.
    """

    kind: str
    table: Mapping[str, Any]
    levers: Levers
    kb: float | None
    form: Levers | None = None
    section: Sequence[Sequence[float]] | None = None
    flooding: tuple[float, float] | None = None
    waves: WaveLevers | None = None
    filling: Mapping[str, Any] | None = None


@dataclass(frozen=True, eq=False)
class Entry:
    """A case: its name, its file as plain values, hulls to choose from, its storm in samples.

    `tanks` and `stowed` weights are those of her loading, as the page draws and pumps them;
    `papers` her own [ship] and events where moving liquid fills tanks.
    """

    label: str
    file: Mapping[str, Any]
    hulls: Sequence[HullShape]
    channels: Mapping[str, Floats]
    windage_assumed: bool
    tanks: Sequence[Mapping[str, Any]] = ()
    stowed: Sequence[Mapping[str, Any]] = ()
    papers: Mapping[str, Any] | None = None


@dataclass(frozen=True, eq=False)
class Sampling:
    """Step [s] of all channels, and how many samples stand before the start and after the end."""

    step: float
    spare: int


def live_data(
    title: str,
    entries: Sequence[Entry],
    steps: Sequence[Mapping[str, Any]],
    trains: Sequence[Mapping[str, Any]],
    sampling: Sampling,
    notes: Sequence[str],
) -> dict[str, Any]:
    """All that the page computes with and says."""
    blobs, hulls = Blobs(), _Hulls()
    cases = [_case(entry, hulls, blobs) for entry in entries]
    return {
        "title": _text(title),
        "caution": CAUTION,
        "loll_warning": LOLL_WARNING,
        "legend": legend(),
        "verdicts": verdict_table(),
        "rolling": ROLLING,
        "borders": dict(BORDERS),
        "sampling": {"step": sampling.step, "spare": sampling.spare},
        "notes": list(notes),
        "cases": cases,
        "steps": [_words(step) for step in steps],
        "trains": [{**train, "channels": _coarse(train["channels"], blobs)} for train in trains],
        "hulls": hulls.plain(blobs),
        "blobs": blobs.packed,
    }


def _case(entry: Entry, hulls: _Hulls, blobs: Blobs) -> dict[str, Any]:
    ship = entry.file["ship"]
    return {
        "label": _text(entry.label),
        "ship": _text(ship["name"]),
        "file": entry.file,
        "hulls": [hulls.index(hull, ship) for hull in entry.hulls],
        "storm": _channels(entry.channels, blobs),
        "windage_assumed": entry.windage_assumed,
        "tanks": [_words(tank) for tank in entry.tanks],
        "papers": entry.papers,
        "stowed": [_words(weight) for weight in entry.stowed],
        "depth_assumed": ship.get("depth_m") is None,
    }


def _channels(channels: Mapping[str, Floats], blobs: Blobs) -> dict[str, int]:
    return {name: blobs.curve(samples) for name, samples in channels.items()}


def _coarse(channels: Mapping[str, Floats], blobs: Blobs) -> dict[str, int]:
    return {name: blobs.history(samples) for name, samples in channels.items()}


class _Hulls:
    """The hulls of all cases, each once."""

    def __init__(self) -> None:
        self._known: list[tuple[HullShape, Mapping[str, Any]]] = []

    def index(self, hull: HullShape, ship: Mapping[str, Any]) -> int:
        """The position of a hull, as drawn for the sizes of a ship."""
        sizes = _sizes(ship)
        for i, (other, its) in enumerate(self._known):
            same = other.kind == hull.kind and other.table == hull.table
            if same and other.filling is hull.filling and _sizes(its) == sizes:
                return i
        self._known.append((hull, ship))
        return len(self._known) - 1

    def plain(self, blobs: Blobs) -> list[dict[str, Any]]:
        """All of them as plain values."""
        return [_hull(hull, ship, blobs) for hull, ship in self._known]


def _sizes(ship: Mapping[str, Any]) -> tuple[float, float, float]:
    """Beam, draught and depth [m]."""
    draught = float(ship["draught_m"])
    depth = ship.get("depth_m")
    return float(ship["beam_m"]), draught, DEPTHS * draught if depth is None else float(depth)


def _hull(hull: HullShape, ship: Mapping[str, Any], blobs: Blobs) -> dict[str, Any]:
    beam, draught, depth = _sizes(ship)
    own = hull.section
    shape = _outline(hull.kind, beam, draught, depth) if own is None else np.array(own)
    level = water_levels(shape, draught, LEVEL_HEELS)
    return {
        "kind": hull.kind,
        "words": HULL_WORDS[hull.kind],
        "table": dict(hull.table),
        "kb": hull.kb,
        "flooding": hull.flooding,
        "waves": _waves(hull.waves, blobs),
        "filling": _filling(hull.filling, blobs),
        "curve": _curve(hull.levers, blobs),
        "form": None if hull.form in (None, hull.levers) else _curve(hull.form, blobs),
        "outline": np.round(shape, 4).tolist(),
        "draught": draught,
        "level": blobs.curve(level),
    }


def _filling(filling: Mapping[str, Any] | None, blobs: Blobs) -> dict[str, Any] | None:
    """Pieces of time, and the liquid of every state, one state behind the other."""
    if filling is None:
        return None
    start = filling["start"]
    return {
        "times": np.asarray(filling["times"]).tolist(),
        "at": np.asarray(filling["at"]).tolist(),
        "breadth": filling["breadth"].tolist(),
        "height": filling["height"].tolist(),
        **{key: blobs.exact(np.ravel(filling[key])) for key in ("share", "filling", "rises")},
        "start": start and {key: values.tolist() for key, values in start.items()},
    }


def _waves(waves: WaveLevers | None, blobs: Blobs) -> dict[str, Any] | None:
    """Levers at even elevations [m] by value and slope at the knots, to 7 digits.

    They fix the cubic pieces; of levers that are the same to both sides one side stands for both.
    """
    if waves is None:
        return None
    first = waves.levels[0]
    odd = bool(np.allclose(first.knots, -first.knots[::-1]) and _alike(waves))
    knots = first.knots[first.knots >= 0.0] if odd else first.knots
    return {
        "first": waves.first,
        "step": waves.step,
        "levels": len(waves.levels),
        "odd": odd,
        "knots": blobs.exact(knots),
        "value": blobs.curve(np.concatenate([each.kn(knots) for each in waves.levels])),
        "slope": blobs.curve(np.concatenate([each.slope(knots) for each in waves.levels])),
    }


def _alike(waves: WaveLevers) -> bool:
    """Whether every level is the same to both sides."""
    heel = waves.levels[0].knots
    return all(np.allclose(each.kn(heel), -each.kn(-heel), atol=1e-9) for each in waves.levels)


def _curve(levers: Levers, blobs: Blobs) -> dict[str, Any]:
    """The pieces of a curve of levers [m, rad]."""
    return {
        "heel_min": levers.heel_min,
        "heel_max": levers.heel_max,
        "knots": blobs.exact(levers.knots),
        "coefficients": [blobs.exact(row) for row in levers.coefficients],
        "powers": levers.powers.tolist(),
        "sine": levers.sine,
        "wall": levers.wall,
    }


def _outline(kind: str, beam: float, draught: float, depth: float) -> Floats:
    """The section (2, n) that is drawn of a hull, in ship axes."""
    if kind == "own":
        return outline(beam, draught, depth)
    half = 0.5 * beam
    if kind == "barrel":
        turn = np.linspace(-np.pi, np.pi, 72, endpoint=False)
        return np.stack([half * np.sin(turn), half - half * np.cos(turn)])
    # A wall-sided formula knows no deck: its sides are drawn as high as they are needed.
    top = depth if kind == "box" else max(depth, draught + half)
    return np.array([[half, half, -half, -half], [0.0, top, top, 0.0]])


def _text(text: str) -> str:
    """Words of a file on one line, control characters written out."""
    return printable(" ".join(text.split()))


def _words(step: Mapping[str, Any]) -> dict[str, Any]:
    """A step whose every text is on one line."""
    return {key: _plain(value) for key, value in step.items()}


def _plain(value: Any) -> Any:
    if isinstance(value, str):
        return _text(value)
    return [_plain(each) for each in value] if isinstance(value, list) else value
