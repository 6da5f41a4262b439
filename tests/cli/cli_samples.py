"""A scenario file and the command line, for the tests of the commands."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, NamedTuple

COASTER = """\
format = 1
title = "Two loadings of a coaster"

[ship]
name = "Coaster"
length_m = 84.0
beam_m = 14.0
draught_m = 5.2
displacement_t = 4250.0

[ship.levers]
kind = "kn"
heel_deg = [0, 5, 10, 15, 20, 25, 30, 35, 40, 45, 50, 55, 60, 70, 80, 90]
kn_m = [
    0.0, 0.493, 0.983, 1.474, 1.969, 2.468, 2.923, 3.319, 3.658, 3.938, 4.160, 4.327, 4.444,
    4.542, 4.476, 4.264,
]
km_m = 5.659
kb_m = 2.739

[ship.gravity]
kg_m = 5.30

[ship.inertia]
gyradius_m = 5.3

[ship.damping]
linear_per_s = 0.012
quadratic = 0.35

[ship.windage]
area_m2 = 620.0
lever_m = 6.4

[limits]
roll_deg = 40.0

[wind]
speed_mps = 20.0
from = "port"

[[wind.gust]]
at_s = 5.0
rise_s = 2.0
hold_s = 4.0
speed_factor = 1.2

[sea]
kind = "irregular"
spectrum = "bretschneider"
significant_height_m = 4.0
peak_period_s = 9.0

[start]
roll_deg = "static"

[run]
duration_s = 20.0
realisations = 3
seed = 7

[sweep]
"ship.gravity.kg_m" = [5.1, 5.7]

[[conditions]]
name = "light"

[[conditions]]
name = "deck cargo"
"ship.windage.area_m2" = 760.0
"""
CALM = COASTER.partition("[ship.windage]")[0] + "[run]\nduration_s = 5.0\n"
"""The same ship alone in calm water: one case, one run, all within a moment."""

WORDS = {"PYTHONIOENCODING": "utf-8", "COLUMNS": "100"}


class Said(NamedTuple):
    """How a command ended and what it printed."""

    code: int
    out: str
    err: str


Command = Callable[..., Said]
"""The command line in this process, by its arguments."""


def edited(*changes: tuple[str, str], text: str = COASTER) -> str:
    """The scenario with some of its text replaced, each exactly once."""
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text


def put(folder: Path, text: str = COASTER, name: str = "coaster.toml") -> Path:
    """A scenario file in `folder`."""
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def held(folder: Path) -> list[str]:
    """Everything below `folder`, hidden files too."""
    return sorted(str(path.relative_to(folder)) for path in folder.rglob("*"))


def environment(more: Mapping[str, str] | None = None) -> dict[str, str]:
    """This environment without what would change the words of a command."""
    without = ("NO_COLOR", "FORCE_COLOR", "COLUMNS", "SOURCE_DATE_EPOCH", "TERM")
    found = {name: value for name, value in os.environ.items() if name not in without}
    return found | WORDS | dict(more or {})


def process(
    *arguments: str | Path, folder: Path, more: Mapping[str, str] | None = None, **options: Any
) -> subprocess.Popen[str]:
    """The command in a process of its own, in `folder`."""
    command = [sys.executable, "-m", "rollsim", *map(str, arguments)]
    pipes = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE} | options
    return subprocess.Popen(command, cwd=folder, env=environment(more), text=True, **pipes)


def spoken(
    *arguments: str | Path, folder: Path, more: Mapping[str, str] | None = None, **options: Any
) -> Said:
    """What the command says in a process of its own; it may take two minutes."""
    with process(*arguments, folder=folder, more=more, **options) as child:
        out, err = child.communicate(timeout=120.0)
    return Said(child.returncode, out or "", err or "")
