"""What a criterion answers: one line for each quantity, what is required and what was found."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field, replace

ROUNDING = 1e-9
"""A margin above minus this is none below zero: rounding of metre-sized numbers."""


@dataclass(frozen=True)
class Requirement:
    """One line of a criterion.

    `unit` as CF writes it. `margin` is found − required, or required − found where the rule sets a
    greatest value. `fulfilled` is None where there is no verdict; where one was required, `note`
    says why there is none.
    """

    clause: str
    quantity: str
    unit: str
    required: float | None
    found: float | None
    fulfilled: bool | None
    margin: float | None
    note: str = ""


@dataclass(frozen=True)
class Judgement:
    """The lines of a criterion on a ship; heels [rad] and levers [m] that a picture marks."""

    requirements: tuple[Requirement, ...]
    marks: dict[str, float] = field(default_factory=dict)

    @property
    def fulfilled(self) -> bool | None:
        """False where any line is not fulfilled, None where one that is required has no verdict."""
        verdicts = {r.fulfilled for r in self.requirements if r.required is not None}
        if False in verdicts:
            return False
        return None if None in verdicts or not verdicts else True


def at_least(
    clause: str, quantity: str, unit: str, required: float, found: float, note: str = ""
) -> Requirement:
    """A quantity that may not be less than `required`."""
    margin = found - required
    return Requirement(clause, quantity, unit, required, found, _enough(margin), margin, note)


def at_most(
    clause: str, quantity: str, unit: str, required: float, found: float, note: str = ""
) -> Requirement:
    """A quantity that may not be more than `required`."""
    margin = required - found
    return Requirement(clause, quantity, unit, required, found, _enough(margin), margin, note)


def shown(clause: str, quantity: str, unit: str, found: float, note: str = "") -> Requirement:
    """A quantity on the way to another, of which nothing is required."""
    return Requirement(clause, quantity, unit, None, found, None, None, note)


def unanswered(
    clause: str, quantity: str, unit: str, required: float | None, note: str
) -> Requirement:
    """A quantity that cannot be had here, and why."""
    return Requirement(clause, quantity, unit, required, None, None, None, note)


def failed(clause: str, quantity: str, unit: str, required: float, note: str) -> Requirement:
    """A quantity that there is none of because she is lost before, which is no pass."""
    return Requirement(clause, quantity, unit, required, None, False, None, note)


def only_as_lower_bound(requirement: Requirement, note: str) -> Requirement:
    """A found value that the true one can only exceed: enough is enough, less says nothing."""
    if requirement.fulfilled:
        return replace(requirement, note=joined(requirement.note, note))
    return replace(requirement, fulfilled=None, margin=None, note=joined(requirement.note, note))


def without_passes(requirements: Iterable[Requirement], note: str) -> tuple[Requirement, ...]:
    """The lines where a number that would be enough gets no verdict all the same, and why."""
    return tuple(
        replace(r, fulfilled=None if r.fulfilled else r.fulfilled, note=joined(r.note, note))
        for r in requirements
    )


def joined(*notes: str) -> str:
    """Several notes in one."""
    return "; ".join(dict.fromkeys(note for note in notes if note))


def degrees(angle: float) -> str:
    """A heel [rad] in words."""
    return f"{math.degrees(angle):.4g}°"


def _enough(margin: float) -> bool:
    return margin >= -ROUNDING
