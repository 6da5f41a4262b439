"""The one legend of page, animation and pictures: names, colours and shapes of what they mark."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any


@dataclass(frozen=True)
class Mark:
    """A point: its letter, what it is, its colour, matplotlib's marker, the same as an SVG path."""

    letter: str
    words: str
    colour: str
    marker: str
    path: str
    hollow: bool = False


@dataclass(frozen=True)
class Stroke:
    """A line: what it is, its colour and width [pt], its dashes as both know them."""

    words: str
    colour: str
    width: float
    dashes: tuple[float, ...] = ()

    @property
    def style(self) -> Any:
        """The dashes as matplotlib takes them."""
        return (0, self.dashes) if self.dashes else "-"


RED, AMBER, BLUE, VIOLET, INK = "#e42536", "#f89c20", "#1f5fa8", "#7a21dd", "#222222"
CIRCLE = "M-8 0a8 8 0 1 0 16 0a8 8 0 1 0-16 0Z"

MARKS: dict[str, Mark] = {
    "g": Mark("G", "gravity", RED, "o", CIRCLE),
    "virtual": Mark("Gv", "gravity raised by free surfaces", RED, "o", CIRCLE, hollow=True),
    "b": Mark("B", "buoyancy", BLUE, "s", "M-7-7H7V7H-7Z"),
    "m": Mark("M", "metacentre", VIOLET, "D", "M0-9L9 0L0 9L-9 0Z"),
    "z": Mark("Z", "foot of the lever", INK, "x", "M-6-6L6 6M-6 6L6-6"),
}
STROKES: dict[str, Stroke] = {
    "weight": Stroke("weight", RED, 2.2),
    "buoyancy": Stroke("buoyancy", BLUE, 1.9, (5.0, 2.0)),
    "bar": Stroke("righting lever GZ; dashed: it heels her further", AMBER, 5.0),
    "m-path": Stroke("path of M", VIOLET, 1.5, (2.0, 1.4)),
    "g-path": Stroke("way of G since the start", RED, 1.5, (2.0, 1.4)),
    "push": Stroke("heeling lever: wind or push", INK, 3.5),
}


def legend() -> dict[str, Any]:
    """All of it as plain values, for the page."""
    return {
        "marks": {name: asdict(mark) for name, mark in MARKS.items()},
        "strokes": {name: asdict(stroke) for name, stroke in STROKES.items()},
    }
