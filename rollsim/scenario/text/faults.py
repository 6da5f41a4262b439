"""A fault before and after its place in the file is known, and how messages write things."""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from rollsim.errors import Fault
from rollsim.scenario.text.positions import KeyPath, missing_place, positions

LONGEST_PART = 60
"""Characters of a part of a key that a message shows."""


@dataclass(frozen=True)
class Finding:
    """A fault before its place is known: at key `path`, or where `at` points instead.

    `causes` are other keys that the fault depends on; a case of a sweep looks among them for the
    axis to blame. `at_key` points at the key rather than at its value.
    """

    path: KeyPath
    problem: str
    hint: str = ""
    causes: tuple[KeyPath, ...] = ()
    at: KeyPath | None = None
    at_key: bool = False

    @property
    def pointer(self) -> KeyPath:
        """The path whose line and column are shown."""
        return self.path if self.at is None else self.at


def located(findings: Iterable[Finding], text: str) -> list[Fault]:
    """The findings as faults with line and column, in the order of the file, each once."""
    places = positions(text)
    faults: dict[tuple[int, int, str, str], Fault] = {}
    for finding in findings:
        position = missing_place(places, finding.pointer)
        at_key = finding.at_key and finding.pointer in places
        line, column = position[2:] if at_key else position[:2]
        key = dotted(finding.path)
        fault = Fault(key, finding.problem, finding.hint, line, column)
        faults.setdefault((line, column, key, finding.problem), fault)
    return [faults[order] for order in sorted(faults)]


def dotted(path: KeyPath) -> str:
    """A path as a person writes it; a part that holds a dot is quoted, a long one is cut."""
    return ".".join(_part(part) for part in path)


def _part(part: str | int) -> str:
    word = str(part)
    if len(word) > LONGEST_PART:
        word = f"{word[:LONGEST_PART]}..."
        return f'"{word}"'
    return f'"{word}"' if "." in word else word


def listed(names: Iterable[str], word: str = "and") -> str:
    """Names as a person lists them: a, b and c."""
    *first, last = names
    return f"{', '.join(first)} {word} {last}" if first else last


def shown(value: Any) -> str:
    """A value of the file as it may stand in a message: short, in one line."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return f'"{value[:40]}..."' if len(value) > 40 else f'"{value}"'
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list):
        return "a list" if value else "an empty list"
    if isinstance(value, int) and abs(value) >= 10**40:
        return "a number that is too large"
    if isinstance(value, datetime.date | datetime.time):
        return f"the date or time {value}"
    return str(value)
