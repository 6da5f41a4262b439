"""HTML from templates: what comes from a file is text there, and can neither break out nor run."""

from __future__ import annotations

import base64
import hashlib
import json
from collections.abc import Mapping, Sequence
from functools import lru_cache
from importlib.resources import files
from typing import Any

from jinja2 import Environment, FunctionLoader, StrictUndefined
from markupsafe import Markup

from rollsim.errors import printable


def asset(room: str, name: str) -> str:
    """The text of a file that lies in a room of show."""
    return files(f"rollsim.show.{room}").joinpath(name).read_text(encoding="utf-8")


def render(room: str, template: str, **values: Any) -> str:
    """A template of a room with its values, every one escaped unless it is `Markup`."""
    return _environment(room).get_template(template).render(values)


@lru_cache
def _environment(room: str) -> Environment:
    return Environment(
        loader=FunctionLoader(lambda name: asset(room, name)),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=_visible,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )


def _visible(value: Any) -> Any:
    """A value on its way into a page: control characters are written out."""
    return value if isinstance(value, Markup) else printable(str(value))


def digest(text: str) -> str:
    """How a content security policy names an inline style or script."""
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode("ascii")


def script_page(
    title: str, style: str, body: str, scripts: Sequence[str], data: Mapping[str, Any]
) -> str:
    """A page around its data: style, body and scripts, and a policy by which nothing is loaded."""
    script = "\n".join(scripts)
    script = f'(() => {{\n"use strict";\n{script}}})();\n'
    return render(
        "shared",
        "page.html",
        title=title,
        style=Markup(style),
        style_digest=digest(style),
        body=Markup(body),
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
