"""What is said of a command that was broken off: what is kept, and how to go on from there."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from threading import Lock

import click

from rollsim.errors import printable

KEEPING = frozenset({"run", "critical", "equilibria", "basin", "response"})
"""Commands whose finished work lies on the disk."""
PATIENCE = 0.2
"""Seconds to wait for another thread that is about to say it."""
AGAIN = "the same command begins anew"


@dataclass
class Course:
    """How far a command has come, "" where none is named."""

    command: str = ""
    result: Path | None = None
    whole: bool = False
    told: bool = False

    def wrote(self, path: Path, *, whole: bool = True) -> None:
        """Say that the result stands; what comes now are tables and pictures."""
        self.result, self.whole = path, whole
        click.echo(f"wrote {printable(str(path))}", err=True)

    def tell(self, write: Callable[[str], object]) -> None:
        """Say once, whoever comes first, how the broken command is left and gone on with."""
        held = _telling.acquire(timeout=PATIENCE)
        try:
            if not self.told:
                write(f"interrupted: {printable(self._left())}\n")
                self.told = True
        finally:
            if held:
                _telling.release()

    def _left(self) -> str:
        if self.result and self.whole:
            drawn = f"rollsim plot {self.result} draws it" if self.command == "run" else AGAIN
            return f"{self.result} is whole; {drawn}"
        if self.command not in KEEPING:
            return f"no file is left half written; {AGAIN}"
        if self.command != "run":
            return "what is finished is kept; the same command goes on"
        rest = ", the rest is not_run" if self.result else ""
        return f"finished runs are kept{rest}; the same command goes on"


_telling = Lock()
course = Course()
"""That of the command at work in this process."""


def begin(command: str) -> None:
    """A command begins."""
    vars(course).update(vars(Course(command)))
