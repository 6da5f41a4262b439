"""The live page: one HTML file that computes as it is used, and fetches nothing."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from rollsim.show.html import asset, script_page
from rollsim.store.disk import replacing

SHARED = ("values.js", "svg.js", "chart.js")
SCRIPTS = (
    "levers.js",
    "timeline.js",
    "weather.js",
    "filling.js",
    "physics.js",
    "rests.js",
    "aboard.js",
    "moment.js",
    "model.js",
    "toml.js",
    "files.js",
    "liquid.js",
    "stage.js",
    "ladder.js",
    "lollmap.js",
    "curves.js",
    "words.js",
    "ships.js",
    "hands.js",
    "controls.js",
    "lesson.js",
    "instructor.js",
    "api.js",
    "start.js",
)


def write_live(path: Path, data: Mapping[str, Any]) -> None:
    """Write the live page to `path`, in one step."""
    text = live_page(data)
    with replacing(path) as part:
        part.write_text(text, encoding="utf-8", newline="\n")


def live_page(data: Mapping[str, Any]) -> str:
    """The page around its data."""
    scripts = [asset("shared", name) for name in SHARED] + [asset("live", name) for name in SCRIPTS]
    style = asset("shared", "style.css") + asset("live", "style.css")
    body = asset("live", "body.html")
    return script_page("Live model of a rolling ship", style, body, scripts, data)
