"""A scenario file read, validated and expanded: a study, or one error that names all faults."""

from __future__ import annotations

import os
import re
import stat
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from rollsim.errors import Fault, InputError
from rollsim.scenario import checks
from rollsim.scenario.axes import Axis
from rollsim.scenario.faults import Finding, located
from rollsim.scenario.plan import planned
from rollsim.scenario.schema import Scenario
from rollsim.scenario.sweep import CaseSpec, alone, examined, expanded

MOST_BYTES = 10_000_000
MOST_TOLD = 50
"""Faults that are told one by one."""

MOST_LEVELS = 30
"""How deep tables and lists may lie in each other; the deepest key of the schema has 5 levels."""

TOML_HINT = "one key = value a line, text in quotes, decimals with a point, # before a comment"


@dataclass(frozen=True)
class Study:
    """A scenario file, sound and expanded: the base scenario, the axes and all cases."""

    text: str
    file: str
    base: Scenario
    axes: tuple[Axis, ...]
    cases: tuple[CaseSpec, ...]
    warnings: tuple[str, ...]


def load(path: str | os.PathLike[str]) -> Study:
    """The study that a scenario file describes; InputError with all its faults."""
    return loads(read_text(path), os.fspath(path))


def loads(text: str, file: str = "scenario") -> Study:
    """The study that a scenario text describes; `file` is its name in messages."""
    base, findings = examined(parse(text, file))
    plan, more = planned(base)
    refused = {finding.place for finding in more}
    findings = more + [f for f in findings if f.place[:2] not in refused]
    if findings or base.whole is None:
        raise _faulty(file, findings + alone(plan, base).told(), text)
    cases, faults, warned = expanded(plan, base)
    if faults.first:
        raise _faulty(file, faults.told(), text)
    told = warned.told() if plan.axes or plan.conditions else checks.warnings(base)
    return Study(text, file, base.whole, plan.axes, tuple(cases), _warnings(told, text, file))


def _faulty(file: str, findings: list[Finding], text: str) -> InputError:
    """One error with all faults; beyond a screen of them it says how many more there are."""
    faults = located(findings, text)
    if len(faults) > MOST_TOLD:
        more = len(faults) - MOST_TOLD
        faults[MOST_TOLD:] = [Fault("", f"and {more} faults more", "mend the first ones first")]
    return InputError(file, faults)


def _warnings(findings: Iterable[Finding], text: str, file: str) -> tuple[str, ...]:
    found = list(findings)
    return tuple(fault.text(file) for fault in located(found, text)) if found else ()


def read_text(path: str | os.PathLike[str]) -> str:
    """The text of a scenario file; InputError for whatever is no plain text file."""
    name = os.fspath(path)
    try:
        status = os.stat(path)
        if stat.S_ISDIR(status.st_mode):
            raise _refused(name, "is a directory", "name a scenario file in it")
        if not stat.S_ISREG(status.st_mode):
            raise _refused(name, "is not a regular file", "save the scenario as a text file")
        if status.st_size > MOST_BYTES:
            raise _refused(name, f"holds more than {MOST_BYTES // 1_000_000} MB", TEXT_HINT)
        data = Path(path).read_bytes()
    except FileNotFoundError:
        raise _refused(name, "there is no such file", _beside(Path(path))) from None
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else str(error)
        raise _refused(name, f"cannot be read: {reason}") from None
    return _decoded(data, name)


TEXT_HINT = "a scenario is a small text file in TOML"


def _refused(name: str, problem: str, hint: str = "") -> InputError:
    return InputError(name, [Fault("", problem, hint)])


def _beside(path: Path) -> str:
    """A hint that names the scenario files in the folder, if there are some."""
    try:
        others = sorted(other.name for other in path.parent.glob("*.toml"))
    except (OSError, ValueError):
        return ""
    return f"in that folder: {', '.join(others[:8])}" if others else ""


def _decoded(data: bytes, name: str) -> str:
    if b"\0" in data:
        raise _refused(name, "is a binary file", TEXT_HINT)
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        before = data[: error.start].decode("utf-8-sig", errors="replace")
        line, column = before.count("\n") + 1, len(before) - before.rfind("\n")
        problem = f"is not UTF-8 text: byte 0x{data[error.start]:02x}"
        raise InputError(
            name, [Fault("", problem, "save the file as UTF-8", line, column)]
        ) from None


def parse(text: str, file: str) -> dict[str, Any]:
    """The TOML text as nested dicts; InputError with line and column where it is no TOML."""
    try:
        raw = tomllib.loads(text)
        if _depth_beyond(raw, MOST_LEVELS):
            raise RecursionError
    except tomllib.TOMLDecodeError as error:
        raise InputError(file, [_syntax_fault(str(error), text)]) from None
    except RecursionError:
        problem = f"tables or lists lie more than {MOST_LEVELS} levels deep in each other"
        raise InputError(file, [Fault("", problem)]) from None
    except ValueError:  # a whole number of more digits than Python converts
        raise InputError(file, [Fault("", "holds a number with too many digits")]) from None
    return raw


def _syntax_fault(message: str, text: str) -> Fault:
    place = re.search(r" \(at (?:line (\d+), column (\d+)|end of document)\)$", message)
    problem = message[: place.start()] if place else message
    if place and place[1]:
        line, column = int(place[1]), int(place[2])
    else:
        line, column = text.count("\n") + 1, len(text) - text.rfind("\n")
    problem = "not TOML: " + problem[:1].lower() + problem[1:]
    return Fault("", problem, TOML_HINT, line, column)


def _depth_beyond(raw: dict[str, Any], most: int) -> bool:
    """Whether anything lies deeper than `most` levels; level by level, never recursing."""
    level: list[Any] = [raw]
    for _ in range(most):
        level = [
            item
            for holder in level
            for item in (holder.values() if isinstance(holder, dict) else holder)
            if isinstance(item, dict | list)
        ]
    return bool(level)
