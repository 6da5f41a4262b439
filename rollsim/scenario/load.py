"""A scenario file read, checked and expanded: a study, or one error that names all faults.

Text becomes a value (`text`), is checked against the models and across keys (`schema`, `checks`),
and is expanded to its cases (`expand`), in that order.
"""

from __future__ import annotations

import os
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from rollsim.errors import Fault, InputError
from rollsim.scenario.checks.parts import Parts
from rollsim.scenario.checks.whole import examined
from rollsim.scenario.expand.axes import Axis
from rollsim.scenario.expand.cases import CaseSpec, alone, expanded, size
from rollsim.scenario.expand.grid import Grid, planned
from rollsim.scenario.schema.study import Scenario
from rollsim.scenario.text.beside import carried, with_named_files
from rollsim.scenario.text.faults import Finding, located
from rollsim.scenario.text.parse import parse
from rollsim.scenario.text.read import read_text

MOST_SHOWN = 50
"""Errors, and warnings, that are shown one by one."""


@dataclass(frozen=True)
class Study:
    """A scenario file, sound and expanded: the base scenario, the axes and all cases.

    `text` is whole: the files that the scenario names are in it, in its table [files]. `count` is
    the number of all cases, also where only some of them were asked for.
    """

    text: str
    file: str
    base: Scenario
    axes: tuple[Axis, ...]
    cases: tuple[CaseSpec, ...]
    warnings: tuple[str, ...]
    count: int


def load(path: str | os.PathLike[str], most: int | None = None) -> Study:
    """The study that a scenario file describes; InputError with all its faults.

    Of more than `most` cases about so many are looked at, evenly spread: to look, not to run.
    """
    return loads(read_text(path), os.fspath(path), Path(path).parent, most)


def loads(
    text: str, file: str = "scenario", folder: Path | None = None, most: int | None = None
) -> Study:
    """The study that a scenario text describes; `file` is its name in messages.

    Files that it names lie in `folder`, or in its table [files].
    """
    raw, new, missing = with_named_files(parse(text, file), folder, len(text))
    base = examined(raw)
    unread = {finding.path for finding in missing}
    base.faults[:] = [fault for fault in base.faults if fault.path not in unread] + missing
    grid, findings = planned(base.parts)
    refused = {finding.pointer for finding in findings}
    findings += [f for f in base.faults if f.pointer[:2] not in refused]
    if findings or base.parts.whole is None:
        if len(findings) + base.more <= MOST_SHOWN:
            findings += alone(grid, base.parts).findings()
        raise _error(file, findings, text, base.more)
    expansion = expanded(grid, base.parts, most)
    if expansion.faulty:
        raise _error(file, expansion.faults.findings(), text)
    warnings = _warnings(expansion.warnings.findings(), text, file)
    return Study(
        carried(text, new), file, base.parts.whole, grid.axes, tuple(expansion.cases), warnings,
        size(grid),
    )  # fmt: skip


def base_and_grid(study: Study) -> tuple[Parts, Grid]:
    """The base file of a study as its text gives it, and the grid of its cases."""
    raw, _, _ = with_named_files(parse(study.text, study.file), None)
    base = examined(raw).parts
    return base, planned(base)[0]


def _error(file: str, findings: list[Finding], text: str, more: int = 0) -> InputError:
    """One error with all faults; beyond a screen of them it says how many more there are."""
    faults = located(findings, text)
    more += max(0, len(faults) - MOST_SHOWN)
    if more:
        faults[MOST_SHOWN:] = [Fault("", f"and {more} more errors", "correct the first ones first")]
    return InputError(file, faults)


def _warnings(findings: Iterable[Finding], text: str, file: str) -> tuple[str, ...]:
    each = list(findings)
    lines = [fault.text(file) for fault in located(each, text)] if each else []
    if len(lines) > MOST_SHOWN:
        lines[MOST_SHOWN:] = [f"{file}: and {len(lines) - MOST_SHOWN} more warnings"]
    return tuple(lines)
