"""Doubts of numbers that a loading sheet makes: told at the sheet, where there is one."""

from __future__ import annotations

from rollsim.scenario.checks.parts import Parts, split
from rollsim.scenario.text.faults import Finding
from rollsim.scenario.text.positions import KeyPath

SHEET = split("ship.loading")


def of_loading(
    parts: Parts, key: str, problem: str, hint: str, causes: tuple[KeyPath, ...] = ()
) -> Finding:
    """A finding of displacement or G: at its key, or at the loading that it follows from."""
    if parts("ship.loading") is None:
        return Finding(split(key), problem, hint, causes)
    return Finding(split(key), problem, hint, (SHEET, *causes), SHEET)
