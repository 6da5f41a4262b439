"""Where the texts of a picture lie, measured as they are drawn."""

from __future__ import annotations

from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg, RendererAgg
from matplotlib.figure import Figure
from matplotlib.text import Annotation, Text
from matplotlib.transforms import Bbox


def measured(figure: Figure) -> RendererAgg:
    """What the picture is measured with, once it is drawn."""
    canvas = FigureCanvasAgg(figure)
    canvas.draw()  # type: ignore[no-untyped-call]
    renderer: RendererAgg = canvas.get_renderer()  # type: ignore[no-untyped-call]
    return renderer


def boxes_of(axes: Axes) -> dict[str, Bbox]:
    """The texts in a panel and the box [pixel] of each; an arrow is no part of it."""
    figure = axes.figure
    assert isinstance(figure, Figure)
    renderer = measured(figure)
    return {t.get_text(): Bbox(Text.get_window_extent(t, renderer)) for t in axes.texts}


def crossing(boxes: dict[str, Bbox]) -> list[tuple[str, str]]:
    """The pairs of texts that cover each other."""
    named = list(boxes.items())
    return [
        (one, other)
        for i, (one, box) in enumerate(named)
        for other, beside in named[:i]
        if box.padded(-1.0).overlaps(beside.padded(-1.0))
    ]


Place = tuple[float, float]


def lined_names(axes: Axes) -> dict[str, tuple[Place, Place]]:
    """The names with a line to their point: right middle of the name as shares of the panel, and
    the point [m]."""
    boxes = boxes_of(axes)
    frame = axes.bbox
    named: dict[str, tuple[Place, Place]] = {}
    for text in axes.texts:
        if isinstance(text, Annotation) and text.arrow_patch is not None:
            box = boxes[text.get_text()]
            right = (box.x1 - frame.x0) / frame.width
            height = (0.5 * (box.y0 + box.y1) - frame.y0) / frame.height
            named[text.get_text()] = ((right, height), (float(text.xy[0]), float(text.xy[1])))
    return named
