"""Whole pictures against kept descriptions, and what of it truly shows in the pixels.

A description is what a picture is made of: where its panels stand, what they say, the extent of
every line. It holds for every version of the drawing library, where pixels of letters do not.
After a wanted change `python tests/show/test_plots_images.py` writes the descriptions anew; look
at the pictures before you keep them.
"""

from __future__ import annotations

import io
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.colors import to_hex, to_rgb
from matplotlib.figure import Figure
from numpy.typing import NDArray
from PIL import Image
from show_samples import build, drawn

from rollsim.show import style
from rollsim.show.figures.exceedance import exceedance_figure
from rollsim.show.figures.histories import histories_figure
from rollsim.show.figures.phase import phase_figure
from rollsim.show.figures.stability import stability_figure
from rollsim.show.figures.storms import storm_figure
from rollsim.show.figures.sweep import sweep_figure
from rollsim.show.query.lineup import Source, line_up

KEPT = Path(__file__).parent / "pictures.json"
DPI = 75

HEIGHT = {"significant_height": ("m", (3.0, 5.0, 7.0))}
GRID = {"kg": ("m", (5.1, 5.3, 5.45)), "significant_height": ("m", (2.0, 4.0, 6.0, 8.0))}


def storm() -> Figure:
    """All loadings in a storm that capsizes one."""
    (group,) = line_up([Source(build(realisations=12, axes={"significant_height": ("m", (7.0,))}))])
    figure = storm_figure(group, 4)
    assert figure is not None
    return figure


PICTURES: dict[str, Callable[[], Figure]] = {
    "stability": lambda: stability_figure(build()),
    "histories": lambda: histories_figure(build(realisations=12), [0, 2]),
    "phase": lambda: phase_figure(build(), 2, 1),
    "sweep lines": lambda: sweep_figure(build(realisations=12, axes=HEIGHT)),
    "sweep grids": lambda: sweep_figure(build(realisations=12, axes=GRID)),
    "exceedance": lambda: exceedance_figure(
        line_up([Source(build(realisations=12, axes=HEIGHT))]), "three loadings"
    ),
    "storm": storm,
}


@style.styled
def pixels(figure: Figure) -> NDArray[np.uint8]:
    """The picture as it is seen; afterwards its panels stand where they belong."""
    written = io.BytesIO()
    figure.savefig(written, format="png", dpi=DPI)
    with Image.open(written) as picture:
        return np.asarray(picture.convert("RGB"))


def described(figure: Figure) -> dict[str, Any]:
    """What a picture is made of, once its pixels were drawn."""
    return {
        "size": [round(float(x), 1) for x in figure.get_size_inches()],
        "title": figure.get_suptitle(),
        "panels": [_panel(axes) for axes in figure.axes],
    }


def _panel(axes: Axes) -> dict[str, Any]:
    legend = axes.get_legend()
    return {
        "place": [round(float(x), 2) for x in axes.get_position().bounds],
        "words": [axes.get_title(loc="left"), axes.get_xlabel(), axes.get_ylabel()],
        "limits": _limits(axes),
        "legend": [text.get_text() for text in legend.get_texts()] if legend else [],
        "texts": [text.get_text() for text in axes.texts],
        "lines": [
            [to_hex(line.get_color()), str(line.get_marker()), *_extent(*drawn(line))]
            for line in axes.get_lines()
        ],
    }


def _limits(axes: Axes) -> list[float]:
    """What the axes span; where both have one scale that follows from the room left to them."""
    if axes.get_aspect() != "auto":
        return []
    return [float(f"{x:.3g}") for x in (*axes.get_xlim(), *axes.get_ylim())]


def _extent(x: NDArray[np.float64], y: NDArray[np.float64]) -> list[float | None]:
    ends = [pick.reduce(part, initial=np.nan) for part in (x, y) for pick in (np.fmin, np.fmax)]
    return [float(f"{end:.3g}") if np.isfinite(end) else None for end in ends]


def near(kept: Any, found: Any, where: str = "") -> list[str]:
    """Where two descriptions differ; places may by 4 % of the picture, numbers by 2 %."""
    if isinstance(kept, dict):
        return [
            fault for key in kept for fault in near(kept[key], found.get(key), f"{where}/{key}")
        ]
    if isinstance(kept, list) and isinstance(found, list) and len(kept) == len(found):
        pairs = zip(kept, found, strict=True)
        return [fault for i, (a, b) in enumerate(pairs) for fault in near(a, b, f"{where}/{i}")]
    if isinstance(kept, float) and isinstance(found, float):
        far = 0.041 if "/place/" in where else 0.02 + 0.02 * abs(kept)
        return [] if abs(kept - found) <= far else [f"{where}: {kept}, now {found}"]
    return [] if kept == found else [f"{where}: {kept!r}, now {found!r}"]


@pytest.fixture(scope="module", params=PICTURES)
def picture(request: pytest.FixtureRequest) -> tuple[str, Figure, NDArray[np.uint8]]:
    """The name of each picture, the picture, its pixels."""
    figure = PICTURES[request.param]()
    return str(request.param), figure, pixels(figure)


def test_picture_is_the_kept_one(picture: tuple[str, Figure, NDArray[np.uint8]]) -> None:
    name, figure, _ = picture
    kept = json.loads(KEPT.read_text(encoding="utf-8"))[name]
    assert near(kept, json.loads(json.dumps(described(figure)))) == []


def test_every_line_shows_in_its_panel(picture: tuple[str, Figure, NDArray[np.uint8]]) -> None:
    """Of every line's colour there are pixels, within a few shades, where its panel stands."""
    _, figure, seen = picture
    height = seen.shape[0]
    for axes in figure.axes:
        box = np.array(axes.get_window_extent().extents) * DPI / figure.dpi
        left, low, right, high = (int(x) for x in box)
        inside = seen[height - high - 8 : height - low + 8, left - 8 : right + 8].astype(int)
        for line in axes.get_lines():
            if not any(np.isfinite(part).any() for part in drawn(line)):
                continue
            away = np.abs(inside - 255.0 * np.array(to_rgb(line.get_color()))).max(axis=2)
            assert np.count_nonzero(away < 70) >= 4


def test_every_panel_is_black_on_white_or_coloured_and_never_blank(
    picture: tuple[str, Figure, NDArray[np.uint8]],
) -> None:
    seen = picture[2]
    assert tuple(seen[0, 0]) == (255, 255, 255)
    inked = float(np.mean(seen.min(axis=2) < 128))
    assert 0.01 < inked < 0.4
    assert seen.shape[1] == style.WIDTH * DPI


@pytest.mark.parametrize(
    "spoil",
    [
        lambda figure: figure.axes[1].get_lines()[0].remove(),
        lambda figure: figure.axes[2].remove(),
        lambda figure: figure.axes[0].set_xlim(0.0, 30.0),
        lambda figure: figure.axes[0].set_xlabel("roll angle"),
        lambda figure: figure.axes[0].get_lines()[0].set_color("black"),
        lambda figure: figure.suptitle("another"),
    ],
)
def test_a_spoilt_picture_is_seen(spoil: Callable[[Figure], None]) -> None:
    figure = PICTURES["exceedance"]()
    spoil(figure)
    pixels(figure)
    kept = json.loads(KEPT.read_text(encoding="utf-8"))["exceedance"]
    assert near(kept, json.loads(json.dumps(described(figure)))) != []


def keep() -> None:
    """Write all descriptions anew."""
    found = {}
    for name, draw in PICTURES.items():
        figure = draw()
        pixels(figure)
        found[name] = described(figure)
    KEPT.write_text(json.dumps(found, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")


if __name__ == "__main__":
    keep()
