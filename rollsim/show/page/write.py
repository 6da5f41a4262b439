"""The classroom page: one HTML file that plays runs, and asks and fetches nothing."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from markupsafe import Markup

from rollsim.errors import Fault, InputError
from rollsim.show.html import asset, digest, render
from rollsim.show.page.data import Chosen, output_step, page_data
from rollsim.store.disk import replacing, size_text

MOST_BYTES = 5_000_000
"""The greatest size of a page: what a tablet opens at once."""
WIDEST_STEP = 1.0
"""The greatest spacing [s] of points to which histories may be thinned."""

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
    """The page around its data: a policy by which nothing can be loaded, style, body, script."""
    style = asset("page", "style.css")
    script = "\n".join(asset("page", name) for name in SCRIPTS)
    script = f'(() => {{\n"use strict";\n{script}}})();\n'
    return render(
        "page",
        "page.html",
        style=Markup(style),
        style_digest=digest(style),
        script=Markup(script),
        script_digest=digest(script),
        data=Markup(embedded(data)),
    )


def embedded(data: Mapping[str, Any]) -> str:
    """JSON that no HTML parser takes for markup: only ASCII, and no <, > or &."""
    text = json.dumps(data, allow_nan=False, separators=(",", ":"))
    for mark in "<>&":
        text = text.replace(mark, f"\\u{ord(mark):04x}")
    return text


def _too_much(chosen: Sequence[Chosen], size: int) -> InputError:
    runs = sum(len(each.cases) * len(each.realisations) for each in chosen)
    problem = f"{runs} runs take {size_text(size)}, a page holds {size_text(MOST_BYTES)} at most"
    hint = "choose fewer with --case and --realisation"
    return InputError(chosen[0].name, [Fault("", problem, hint)])
