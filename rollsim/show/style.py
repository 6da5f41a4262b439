"""One style for every picture: size, type, colours with a second cue, cautions, saving."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Sequence
from functools import lru_cache, wraps
from pathlib import Path
from typing import Any, ParamSpec, TypeVar

import matplotlib as mpl
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties, findfont
from matplotlib.ft2font import FT2Font
from matplotlib.gridspec import SubplotSpec
from matplotlib.layout_engine import ConstrainedLayoutEngine

from rollsim.cautions import CAUTION, LOLL_WARNING
from rollsim.errors import Fault, InputError
from rollsim.names import label
from rollsim.store.disk import replacing

WIDTH, HEIGHT = 12.8, 7.2
"""Figure size [in]: sixteen to nine, as projectors show it."""
DPI = 150
FONT = "DejaVu Sans"
TITLE, TEXT, TICK, SMALL, FOOT = 16.0, 13.0, 12.0, 11.0, 9.0
"""Type sizes [pt]; even the small print is above 1/60 of the height of a picture."""

INK, FAINT = "#222222", "#8a8a8a"
COLOURS = ("#5790fc", "#f89c20", "#e42536", "#964a8b", "#2b2b2b", "#7a21dd")
"""Six that the colour-blind tell apart (M. A. Petroff, "Accessible Color Sequences for Data
Visualization", arXiv:2107.02270, but for its grey, which bands and limits have; nearly black in
its place); written out, for older matplotlibs do not hold them."""
DASHES: tuple[Any, ...] = (
    "-",
    (0, (6, 2)),
    (0, (2, 1.4)),
    (0, (8, 2, 1.5, 2)),
    (0, (12, 3)),
    (0, (4, 1.5, 1, 1.5, 1, 1.5)),
)
MARKERS = ("o", "s", "^", "D", "v", "P")
LINES = len(COLOURS)
"""How many lines one panel may hold and still be told apart."""

LIMIT_DASHES: dict[str, Any] = {
    "roll_limit": (0, (5, 3)),
    "flooding_limit": (0, (1, 2)),
    "capsize_limit": (0, (9, 3, 2, 3)),
}

LOOK: Any = {
    "font.family": [FONT],
    "font.size": TEXT,
    "axes.titlesize": TEXT,
    "axes.labelsize": TEXT,
    "legend.fontsize": SMALL,
    "legend.handlelength": 3.2,
    "lines.linewidth": 2.2,
    "svg.hashsalt": "rollsim",
    "svg.fonttype": "path",
    "pdf.fonttype": 42,
}
METADATA: dict[str, dict[str, None]] = {
    ".png": {"Software": None},
    ".svg": {"Date": None, "Creator": None},
    ".pdf": {"CreationDate": None, "Creator": None, "Producer": None},
}
"""What the formats write by default and would make two equal pictures differ."""

P = ParamSpec("P")
R = TypeVar("R")


def styled(draw: Callable[P, R]) -> Callable[P, R]:
    """Make a drawing function draw in the one style."""

    @wraps(draw)
    def inside(*args: P.args, **kwargs: P.kwargs) -> R:
        with mpl.rc_context(LOOK):
            return draw(*args, **kwargs)

    return inside


def cue(index: int) -> dict[str, Any]:
    """Colour and dash of the line number `index`."""
    return {"color": COLOURS[index % LINES], "linestyle": DASHES[index % LINES]}


@lru_cache
def _drawable() -> frozenset[int]:
    """The characters that the font can draw."""
    return frozenset(FT2Font(findfont(FontProperties(family=[FONT]))).get_charmap())


def literal(text: str, longest: int = 90) -> str:
    """`text` of a file as a picture may show it: one line, no formula, no control characters."""
    one_line = " ".join(text.split())
    seen = "".join(c for c in one_line if c.isprintable())
    drawn = "".join(c if ord(c) in _drawable() else "\N{REPLACEMENT CHARACTER}" for c in seen)
    cut = drawn if len(drawn) <= longest else drawn[: longest - 1].rstrip() + "…"
    return cut.replace("$", r"\$")


def axis_text(name: str, longest: int = 44) -> str:
    """The axis label of a variable, broken into lines of at most `longest` characters."""
    return textwrap.fill(label(name), longest)


def new_figure(
    title: str, what: str, *, notes: Sequence[str] = (), loll: bool = False, height: float = HEIGHT
) -> Figure:
    """An empty picture with its title, and at its foot the notes and cautions in small print."""
    lines = [line for note in notes for line in _wrapped(literal(note, 400))]
    lines += _wrapped(CAUTION)
    lines += _wrapped(LOLL_WARNING) if loll else []
    foot = (len(lines) * FOOT * 1.25 + 8.0) / 72.0 / height
    figure = Figure(figsize=(WIDTH, height), facecolor="white")
    figure.set_layout_engine(
        ConstrainedLayoutEngine(
            rect=(0.005, foot, 0.985, 1.0 - foot), h_pad=0.06, w_pad=0.06, hspace=0.03, wspace=0.03
        )
    )
    figure.suptitle(f"{literal(title)}\n{what}" if title else what, fontsize=TITLE, linespacing=1.3)
    text = figure.text(
        0.012, 4.0 / 72.0 / height, "\n".join(lines), fontsize=FOOT, color=INK, linespacing=1.25
    )
    text.set_gid("cautions")
    return figure


def _wrapped(text: str) -> list[str]:
    """`text` in lines that fit across the foot; a character takes less than 0.52 em on average."""
    return textwrap.wrap(text, int(WIDTH * 72.0 * 0.97 / (0.52 * FOOT)))


def panel(figure: Figure, spec: SubplotSpec, title: str = "", **shared: Any) -> Axes:
    """One set of axes in the one style; `shared` is sharex and sharey."""
    axes: Axes = figure.add_subplot(spec, **shared)
    axes.spines[["top", "right"]].set_visible(False)
    axes.grid(color="#dddddd", linewidth=0.8)
    axes.set_axisbelow(True)
    # Ticks are made when they are drawn, outside the style: their size is set here for good.
    axes.tick_params(labelsize=TICK)
    if title:
        axes.set_title(title, loc="left", fontsize=TEXT)
    return axes


def zero_line(axes: Axes, *, vertical: bool = False) -> None:
    """The line at zero, a little stronger than the grid."""
    (axes.axvline if vertical else axes.axhline)(0.0, color=FAINT, linewidth=1.0)


def legend_strip(figure: Figure, spec: SubplotSpec, handles: Sequence[Artist]) -> None:
    """A legend that has a row of the figure to itself, so that it covers nothing."""
    axes = figure.add_subplot(spec)
    axes.set_axis_off()
    longest = max(len(str(handle.get_label())) for handle in handles)
    columns = max(1, min(len(handles), int(WIDTH * 72 * 0.95 / ((longest + 9) * 0.56 * SMALL))))
    legend = axes.legend(
        handles=list(handles), loc="center", ncols=columns, frameon=False, fontsize=SMALL
    )
    legend.set_in_layout(False)


def strip_height(handles: Sequence[Artist]) -> float:
    """Height [in] that `legend_strip` needs for its handles."""
    longest = max(len(str(handle.get_label())) for handle in handles)
    columns = max(1, int(WIDTH * 72 * 0.95 / ((longest + 9) * 0.56 * SMALL)))
    return 0.12 + 0.235 * -(-len(handles) // columns)


def legend_beside(axes: Axes, handles: Sequence[Artist]) -> None:
    """A legend to the right of its panel, so that it covers nothing."""
    axes.legend(
        handles=list(handles),
        loc="upper left",
        bbox_to_anchor=(1.01, 1.0),
        borderaxespad=0.0,
        frameon=False,
        fontsize=SMALL,
    )


@styled
def save(figure: Figure, path: str | Path) -> None:
    """Write a picture as PNG, SVG or PDF by its suffix; equal pictures give equal bytes."""
    path = Path(path)
    suffix = path.suffix.lower()
    if suffix not in METADATA:
        raise InputError(
            str(path), [Fault("", "no kind of picture", "allowed: " + ", ".join(METADATA))]
        )
    _settle_layout(figure)
    with replacing(path) as part:
        figure.savefig(part, format=suffix[1:], dpi=DPI, metadata=METADATA[suffix])


def _settle_layout(figure: Figure) -> None:
    """Lay the figure out once and round the places of its axes.

    The layout's solver jitters in the last digits, and an SVG names its clips after them.
    """
    engine = figure.get_layout_engine()
    if engine is None:
        return
    engine.execute(figure)
    figure.set_layout_engine("none")
    for axes in figure.axes:
        x, y, width, height = axes.get_position(original=True).bounds
        axes.set_position((round(x, 6), round(y, 6), round(width, 6), round(height, 6)))
