"""What several commands share: options, the console, where pictures go."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar
from unicodedata import category

import click

from rollsim.errors import printable

if TYPE_CHECKING:
    from rich.console import Console

F = TypeVar("F", bound=Callable[..., Any])

PICTURES = ("png", "svg", "pdf")
PIPED_WIDTH = 100
"""Columns of a table whose reader is no terminal."""


def named(ctx: click.Context, param: click.Parameter, path: Path | None) -> Path | None:
    """A path that can stand in a result and on a terminal."""
    text = "." if path is None else str(path)
    if {category(character) for character in text} & {"Cc", "Cs"}:
        problem = "holds control characters or bytes that are no UTF-8: rename it"
        raise click.BadParameter(f"{printable(text)}: {problem}", ctx, param)
    return path


_PATH = click.Path(path_type=Path)

scenario_file = click.argument("file", metavar="FILE", type=_PATH, callback=named)
result_file = click.argument("result", metavar="RESULT", type=_PATH, callback=named)


def out(help_text: str) -> Callable[[F], F]:
    """The option `-o`, `--out`."""
    return click.option("-o", "--out", type=_PATH, callback=named, help=help_text)


event = click.option(
    "--of", "event", type=click.Choice(("capsize", "failure")),
    help="The event; failure (any limit passed) where a roll or flooding limit is set.",
)  # fmt: skip


def console(*, error: bool = False) -> Console:
    """Where tables and messages go; wide enough where the width is not known."""
    from rich.console import Console

    found = Console(stderr=error, highlight=False, soft_wrap=False)
    if not found.is_terminal and "COLUMNS" not in os.environ:
        found.width = PIPED_WIDTH
    return found


def counted(count: int, noun: str) -> str:
    """A number of things: "1 run", "3 runs"."""
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"


def default_result(file: Path) -> Path:
    """Where the result of a scenario goes: `results/<stem>.nc` under the current folder."""
    return Path("results") / f"{file.stem}.nc"


def beside(result: Path, what: str, suffix: str = "png") -> Path:
    """The picture `<stem>-<what>.<suffix>` beside a result."""
    return result.with_name(f"{result.stem}-{what}.{suffix}")
