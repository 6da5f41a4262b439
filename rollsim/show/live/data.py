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
    """A hull by its [ship.levers] table, with its curve, its upright KB [m] and its kind."""

    kind: str
    table: Mapping[str, Any]
    levers: Levers
    kb: float | None


@dataclass(frozen=True, eq=False)
class Entry:
    """A case: its name, its file as plain values, hulls to choose from, its storm in samples."""

    label: str
    file: Mapping[str, Any]
    hulls: Sequence[HullShape]
    channels: Mapping[str, Floats]
    windage_assumed: bool


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
        "trains": [{**train, "channels": _channels(train["channels"], blobs)} for train in trains],
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
        "depth_assumed": ship.get("depth_m") is None,
    }


def _channels(channels: Mapping[str, Floats], blobs: Blobs) -> dict[str, int]:
    return {name: blobs.curve(samples) for name, samples in channels.items()}


class _Hulls:
    """The hulls of all cases, each once."""

    def __init__(self) -> None:
        self._known: list[tuple[HullShape, Mapping[str, Any]]] = []

    def index(self, hull: HullShape, ship: Mapping[str, Any]) -> int:
        """The position of a hull, as drawn for the sizes of a ship."""
        sizes = _sizes(ship)
        for i, (other, its) in enumerate(self._known):
            if other.kind == hull.kind and other.table == hull.table and _sizes(its) == sizes:
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
    shape = _outline(hull.kind, beam, draught, depth)
    level = water_levels(shape, draught, LEVEL_HEELS)
    levers = hull.levers
    return {
        "kind": hull.kind,
        "words": HULL_WORDS[hull.kind],
        "table": dict(hull.table),
        "kb": hull.kb,
        "curve": {
            "heel_min": levers.heel_min,
            "heel_max": levers.heel_max,
            "knots": levers.knots.tolist(),
            "coefficients": levers.coefficients.tolist(),
            "powers": levers.powers.tolist(),
            "sine": levers.sine,
            "wall": levers.wall,
        },
        "outline": np.round(shape, 4).tolist(),
        "draught": draught,
        "level": blobs.curve(level),
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
