"""`rollsim animate RESULT`: the rolling section and its curves, one run or cases side by side."""

from __future__ import annotations

import re
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

from rollsim.cli import options
from rollsim.errors import printable

F = TypeVar("F", bound=Callable[..., Any])

PANELS = ("section", "lever", "history", "phase")


def _size(_: click.Context, __: click.Parameter, value: str) -> tuple[int, int]:
    """Width and height in pixels, from 1280x720."""
    match = re.fullmatch(r"([1-9]\d{0,4})[xX×]([1-9]\d{0,4})", value)
    if not match:
        raise click.BadParameter(f"{value!r} is no size; write it as 1280x720")
    return int(match[1]), int(match[2])


def _panels(_: click.Context, __: click.Parameter, value: str) -> tuple[str, ...]:
    """Names of panels, separated by commas."""
    names = tuple(part.strip() for part in value.split(",") if part.strip())
    if unknown := [name for name in names if name not in PANELS]:
        raise click.BadParameter(f"no panel {unknown[0]!r}; there are {', '.join(PANELS)}")
    return names


def _range(name: str, target: str, words: str) -> Callable[[F], F]:
    """An option that holds a time of the run."""
    kind = click.FloatRange(min=0.0)
    return click.option(name, target, type=kind, metavar="S", help=words)


@click.command("animate")
@options.result_file
@options.out("The animation, .gif or .mp4; <RESULT>-animation.gif beside RESULT where left out.")
@click.option(
    "--case",
    "wanted",
    multiple=True,
    help="A case by number or as condition=light,kg=5.3; several go side by side.  [default: 0]",
)
@click.option("--realisation", type=click.IntRange(min=0), help="The worst where left out.")
@click.option(
    "--fps", type=click.IntRange(1, 60), default=25, show_default=True, help="Frames a second."
)
@click.option(
    "--size",
    metavar="WxH",
    callback=_size,
    default="1280x720",
    show_default=True,
    help="Width and height [pixel].",
)
@click.option(
    "--speed",
    type=click.FloatRange(0.01, 1000.0),
    help="Times true time. Where left out: 1, 2, 4 or 8, so that the film lasts at most 30 s.",
)
@_range("--from", "start", "Show from this second of the run on.")
@_range("--to", "end", "Show up to this second of the run.")
@click.option(
    "--panels",
    metavar="NAMES",
    callback=_panels,
    default="",
    help="Some of section, lever, history, phase, with commas between; all that have room.",
)
def command(
    result: Path, out: Path | None, wanted: tuple[str, ...], realisation: int | None, **wishes: Any
) -> None:
    """Draw a run of RESULT as an animation: the rolling section, G, B, M and the lever GZ.

    Where a run is too long for 30 s at 8 times true time, the part around its end or its
    greatest roll is shown, unless --speed, --from or --to say otherwise.
    """
    from rollsim.cli.selection import choose_case, choose_realisation
    from rollsim.show.animation.plan import Wishes, run_numbers, span_text, speed_text
    from rollsim.show.animation.write import animate
    from rollsim.store.reading import open_result

    path = out or options.beside(result, "animation", "gif")
    with open_result(result) as ds:
        cases = list(dict.fromkeys(choose_case(ds, name) for name in wanted)) or [0]
        run = None if realisation is None else choose_realisation(ds, realisation)
        drawn = animate(ds, path, cases, run, Wishes(**wishes), _progress)
        numbers = [run_numbers(ds, each) for each in drawn.runs]
    named = ", ".join(f"case {case}" for case, _ in numbers)
    which = f"{named}, realisation {numbers[0][1]}: {speed_text(drawn.speed)}."
    click.echo(f"{which} {span_text(drawn)}", err=True)
    click.echo(printable(str(path)))


def _progress(done: int, count: int) -> None:
    """How many frames are done, on a terminal."""
    if sys.stderr.isatty():
        click.echo(f"\r{done} of {count} frames", nl=done == count, err=True)
