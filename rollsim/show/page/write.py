"""The classroom page: one HTML file that plays runs, and asks and fetches nothing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from rollsim.errors import Fault, InputError
from rollsim.show.html import asset, script_page
from rollsim.show.page.data import Chosen, output_step, page_data
from rollsim.store.disk import replacing, size_text

MOST_BYTES = 5_000_000
"""The greatest size of a page: what a tablet opens at once."""
WIDEST_STEP = 1.0
"""The greatest spacing [s] of points to which histories may be thinned."""

SHARED = ("values.js", "svg.js", "chart.js")
SCRIPTS = (
    "numbers.js",
    "section.js",
    "legend.js",
    "charts.js",
    "quiz.js",
    "words.js",
    "player.js",
    "controls.js",
)


def write_page(path: Path, chosen: Sequence[Chosen]) -> None:
    """Write the page of the chosen runs to `path`, in one step."""
    text = page(chosen)
    with replacing(path) as part:
        part.write_text(text, encoding="utf-8", newline="\n")


def page(chosen: Sequence[Chosen]) -> str:
    """The page of the chosen runs, thinned as far as it must be and as may be."""
    every, widest = 1, max(output_step(each.ds) for each in chosen)
    while True:
        text = html(page_data(chosen, every))
        size = len(text.encode())
        if size <= MOST_BYTES:
            return text
        # The next step that can do, were all of the page histories.
        every = max(every + 1, int(every * size / MOST_BYTES))
        if every * widest > max(WIDEST_STEP, widest):
            raise _too_much(chosen, size)


def html(data: Mapping[str, Any]) -> str:
    """The page around its data."""
    scripts = [asset("shared", name) for name in SHARED] + [asset("page", name) for name in SCRIPTS]
    style = asset("shared", "style.css") + asset("page", "style.css")
    body = asset("page", "body.html")
    return script_page("Roll of a ship", style, body, scripts, data)


def _too_much(chosen: Sequence[Chosen], size: int) -> InputError:
    runs = sum(len(each.cases) * len(each.realisations) for each in chosen)
    problem = f"{runs} runs take {size_text(size)}, a page holds {size_text(MOST_BYTES)} at most"
    hint = "choose fewer with --case and --realisation"
    return InputError(chosen[0].name, [Fault("", problem, hint)])
