"""HTML from plain values: everything is text unless it was made here, so nothing can break out."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Iterable, Sequence
from html import escape
from importlib.resources import files

from rollsim.errors import printable
from rollsim.show.tables.columns import Column


class Markup(str):
    """Text that is HTML already; only functions of this room make it."""

    __slots__ = ()


VOID = frozenset({"meta"})
"""Tags that are never closed."""


def tag(kind: str, /, *children: object, **attributes: str) -> Markup:
    """An element; children that are no Markup are escaped, `class_` gives the attribute class."""
    said = "".join(f' {key.rstrip("_")}="{escape(value)}"' for key, value in attributes.items())
    if kind in VOID:
        return Markup(f"<{kind}{said}>")
    return Markup(f"<{kind}{said}>{join(children)}</{kind}>")


def join(children: Iterable[object]) -> Markup:
    """Several elements or texts, one after the other."""
    return Markup(
        "".join(child if isinstance(child, Markup) else text(child) for child in children)
    )


def text(value: object) -> Markup:
    """A value as text, control characters written out."""
    return Markup(escape(printable(str(value))))


def verbatim(value: str) -> Markup:
    """Text of several lines, as it stands in a file."""
    return tag("pre", Markup("\n".join(text(line) for line in value.splitlines())))


def table(caption: str, columns: Sequence[Column]) -> Markup:
    """A table; words stand to the left, numbers to the right."""
    sides = [{} if column.words else {"class_": "number"} for column in columns]
    heads = (tag("th", c.header, scope="col", **s) for c, s in zip(columns, sides, strict=True))
    rows = zip(*(column.cells for column in columns), strict=True)
    body = (
        tag("tr", *(tag("td", cell, **s) for cell, s in zip(row, sides, strict=True)))
        for row in rows
    )
    whole = tag(
        "table", tag("caption", caption), tag("thead", tag("tr", *heads)), tag("tbody", *body)
    )
    return tag("div", whole, class_="wide")


def section(heading: str, *children: object) -> Markup:
    """A part of the page with its heading."""
    return tag("section", tag("h2", heading), *children)


def paragraph(*children: object) -> Markup:
    """A paragraph."""
    return tag("p", *children)


def page(title: str, *children: object) -> str:
    """A whole page that may load nothing and run nothing; only its own style is allowed."""
    style = files("rollsim.show.report").joinpath("style.css").read_text(encoding="utf-8")
    digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
    policy = f"default-src 'none'; style-src 'sha256-{digest}'; base-uri 'none'; form-action 'none'"
    head = tag(
        "head",
        tag("meta", charset="utf-8"),
        Markup(f'<meta http-equiv="Content-Security-Policy" content="{policy}">'),
        tag("meta", name="viewport", content="width=device-width, initial-scale=1"),
        tag("title", title),
        Markup(f"<style>{style}</style>"),
    )
    body = tag("body", tag("main", *children))
    return f'<!DOCTYPE html>\n<html lang="en-GB">\n{head}\n{body}\n</html>\n'
