"""A base file or a case validated whole: what of it did parse, and all its faults."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, NamedTuple

from pydantic import ValidationError

from rollsim.scenario.checks import CHECKS, WARNINGS, findings_of, gm_known
from rollsim.scenario.checks.explain import explained
from rollsim.scenario.checks.parts import Parts
from rollsim.scenario.schema.papers import following, would_follow
from rollsim.scenario.schema.study import Scenario
from rollsim.scenario.text.faults import Finding


class Examined(NamedTuple):
    """What did parse, the faults, and how many more there are than were put into words."""

    parts: Parts
    faults: list[Finding]
    more: int = 0

    @property
    def warnings(self) -> list[Finding]:
        """What is allowed and yet likely not meant."""
        return [finding for check in WARNINGS for finding in findings_of(check, self.parts)]


def examined(raw: dict[str, Any]) -> Examined:
    """The base file validated; what is converted at its GM uses its own."""
    parts, faults, more = _parsed(raw)
    return _checked(replace(parts, base_gm=gm_known(parts)), faults, more)


def examined_case(raw: dict[str, Any], base_gm: float | None) -> Examined:
    """A case validated, with the base file's GM [m] for its conversions."""
    parts, faults, more = _parsed(raw)
    return _checked(replace(parts, base_gm=base_gm), faults, more)


def _parsed(raw: dict[str, Any]) -> Examined:
    try:
        return Examined(Parts(Scenario.model_validate(raw), raw), [])
    except ValidationError as error:
        faults = explained(error, raw)
        more = error.error_count() - len(faults)
        bad = tuple(finding.path for finding in faults)
        # What is missing would follow from papers whose faults are told.
        ship = raw.get("ship")
        told = {("ship", key) for key in would_follow(ship)}
        faults = [f for f in faults if not (f.problem == "is missing" and f.path in told)]
        if values := following(ship):
            raw = raw | {"ship": raw["ship"] | values}
        return Examined(Parts(None, raw, bad), faults, more)


def _checked(parts: Parts, faults: list[Finding], more: int) -> Examined:
    crossed = [finding for check in CHECKS for finding in findings_of(check, parts)]
    return Examined(parts, faults + crossed, more)
