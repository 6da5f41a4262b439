"""The error tree: what a person did, what the machine refuses, and where exactly."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

EXIT_DONE = 0
EXIT_NOT_SOLVED = 1
EXIT_REFUSED = 2
EXIT_BUG = 3
EXIT_INTERRUPTED = 130


REPLAY = "rollsim replay makes any run again"
"""The hint where a history was not kept."""


def printable(text: str) -> str:
    """`text` with every control character written out (escapes too), safe on a terminal."""
    return "".join(c if c.isprintable() else c.encode("unicode_escape").decode() for c in text)


@dataclass(frozen=True)
class Fault:
    """One fault of an input: where it stands, what is wrong, what is allowed or how to mend it."""

    key: str
    problem: str
    hint: str = ""
    line: int = 0
    column: int = 0

    def text(self, file: str) -> str:
        """The fault as `file:line:column: key: problem`, the hint indented below."""
        place = f"{file}:{self.line}:{self.column}" if self.line else file
        head = ": ".join(printable(part) for part in (place, self.key, self.problem) if part)
        return f"{head}\n  {printable(self.hint)}" if self.hint else head


class RollsimError(Exception):
    """Base of all errors that the program raises on purpose; exit code 2 at the command line."""


class InputError(RollsimError):
    """A file or an argument is faulty: carries all its faults at once."""

    def __init__(self, file: str, faults: Sequence[Fault]) -> None:
        self.file = file
        self.faults = tuple(faults)
        super().__init__("\n".join(fault.text(file) for fault in self.faults))

    def __reduce__(self) -> tuple[type[InputError], tuple[str, tuple[Fault, ...]]]:
        return type(self), (self.file, self.faults)


class LeverRangeError(RollsimError):
    """A lever was asked for beyond the heel range that is known: nothing is extrapolated."""


class MachineError(RollsimError):
    """The machine refuses: no space, no permission, another run at work on the same result."""
