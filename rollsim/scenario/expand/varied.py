"""A sound scenario with some values put in place of its own: only what they touch is done again.

The tables that hold the new values are validated again, all others are shared; the cross-checks
that read a touched key run again, all others gave what they give. What comes out is equal to a
validation of the whole; where anything is wrong, that validation finds the words for it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from pydantic import ValidationError

from rollsim.scenario.checks import CHECKS, WARNINGS, findings_of
from rollsim.scenario.checks.base import Check
from rollsim.scenario.checks.parts import Parts, UnparsedError, overlap
from rollsim.scenario.expand.overrides import Override
from rollsim.scenario.schema.base import Table
from rollsim.scenario.schema.catalogue import entry_at, is_model, key_of, kind_of
from rollsim.scenario.schema.papers import FOLLOWING, SOURCES
from rollsim.scenario.schema.study import Scenario
from rollsim.scenario.text.faults import Finding
from rollsim.scenario.text.positions import KeyPath

Warned = dict[Check, tuple[Finding, ...]]


@dataclass(frozen=True, eq=False)
class Sound:
    """A scenario without faults, what each check warned of, and the keys that it read."""

    parts: Parts
    warned: Warned
    reads: dict[Check, frozenset[KeyPath]]

    @property
    def scenario(self) -> Scenario:
        """The scenario itself."""
        assert self.parts.whole is not None
        return self.parts.whole


def sound(parts: Parts) -> Sound | None:
    """Every check run over a whole scenario; None where one finds a fault."""
    return _noted(parts, (*CHECKS, *WARNINGS), {}, {})


class Step:
    """The way from a sound scenario to those that differ from it at the same `paths`."""

    def __init__(self, start: Sound, paths: Sequence[KeyPath]) -> None:
        self.start = start
        if any(overlap(path, source) for path in paths for source in SOURCES):
            paths = [*paths, *(("ship", key) for key in FOLLOWING)]
        holders = sorted({_holder(start.scenario, path) for path in paths}, key=len)
        self.holders: list[KeyPath] = []
        for holder in holders:
            if not any(holder[: len(outer)] == outer for outer in self.holders):
                self.holders.append(holder)
        self.touched = {
            check
            for check, keys in start.reads.items()
            if any(overlap(key, path) for key in keys for path in paths)
        }
        self.checks = [check for check in CHECKS if check in self.touched]
        self.warnings = [check for check in WARNINGS if check in self.touched]

    @property
    def untouched(self) -> list[Finding]:
        """The warnings that hold for every scenario of this step."""
        kept = (check for check in self.start.warned if check not in self.touched)
        return [finding for check in kept for finding in self.start.warned[check]]

    def to(self, overrides: Iterable[Override]) -> Parts | None:
        """The scenario with the overrides in place; None where anything is wrong with it."""
        scenario = rebuilt(self.start.scenario, self.holders, overrides)
        if scenario is None:
            return None
        parts = Parts(scenario, {}, base_gm=self.start.parts.base_gm)
        return None if any(findings_of(check, parts) for check in self.checks) else parts

    def warned(self, parts: Parts) -> list[Finding]:
        """The warnings of a scenario of this step that may differ from those of the start."""
        return [finding for check in self.warnings for finding in findings_of(check, parts)]

    def sound(self, overrides: Iterable[Override]) -> Sound | None:
        """The scenario with the overrides in place as a start of further steps."""
        parts = self.to(overrides)
        if parts is None:
            return None
        kept = self.start.reads.keys() - self.touched
        warned = {check: self.start.warned[check] for check in kept if check in self.start.warned}
        reads = {check: self.start.reads[check] for check in kept}
        return _noted(parts, (*self.checks, *self.warnings), warned, reads)


def _noted(
    parts: Parts,
    checks: Iterable[Check],
    warned: Warned,
    reads: dict[Check, frozenset[KeyPath]],
) -> Sound | None:
    """`parts` with what the checks warn of and read, added to what is known of the others."""
    for check in checks:
        keys: set[KeyPath] = set()
        findings = findings_of(check, replace(parts, reads=keys))
        if findings and check in _FAULTS:
            return None
        if check not in _FAULTS:
            warned[check] = findings
        reads[check] = frozenset(keys)
    return Sound(parts, warned, reads)


_FAULTS = frozenset(CHECKS)


def rebuilt(
    scenario: Scenario, holders: Iterable[KeyPath], overrides: Iterable[Override]
) -> Scenario | None:
    """`scenario` with the tables at `holders` validated again, the overrides in place."""
    edits = list(overrides)
    for holder in holders:
        tree: Any = _at(scenario, holder)
        for override in edits:
            if override.path[: len(holder)] == holder:
                tree = _edited(tree, override.path[len(holder) :], override.value)
        try:
            table = _model(holder, tree).model_validate(tree)
        except (ValidationError, UnparsedError):
            return None
        scenario = _put(scenario, holder, table)
    return scenario


def _model(holder: KeyPath, tree: dict[str, Any]) -> type[Table]:
    """The model of the table at `holder`, that of its kind if there are several."""
    entry = entry_at(holder)
    models = [a for a in entry.alternatives if is_model(a)] if entry else [Scenario]
    for model in models:
        if len(models) == 1 or kind_of(model) == tree.get("kind"):
            return model
    raise UnparsedError(holder)


def _holder(scenario: Scenario, path: KeyPath) -> KeyPath:
    """The path of the innermost table that the file gives and that holds the key at `path`."""
    node: Any = scenario
    holder: KeyPath = ()
    for depth, part in enumerate(path[:-1], 1):
        if isinstance(node, Table) and part not in node.model_fields_set:
            break
        node = _child(node, part)
        if isinstance(node, Table):
            holder = path[:depth]
        elif not isinstance(node, tuple):
            break
    return holder


def _child(node: Any, part: str | int) -> Any:
    if isinstance(node, tuple):
        return node[part] if isinstance(part, int) and part < len(node) else None
    return getattr(node, str(part), None)


def _at(scenario: Scenario, path: KeyPath) -> Any:
    node: Any = scenario
    for part in path:
        node = _child(node, part)
    return node


def _edited(node: Any, path: KeyPath, value: Any) -> Any:
    """`node` as a file holds it with `value` at `path`; tables that it does not touch as they are.

    The models accept a table that is a model already, and do not validate it again.
    """
    if not path:
        return value
    part, rest = path[0], path[1:]
    if isinstance(part, int):
        items = list(node)
        items[part] = _edited(items[part], rest, value)
        return items
    if isinstance(node, Table):
        fields = type(node).model_fields
        given = node.model_fields_set
        table = {key_of(name, fields[name]): getattr(node, name) for name in given}
    else:
        table = dict(node) if isinstance(node, dict) else {}
    table[str(part)] = _edited(table.get(str(part)), rest, value)
    return table


def _put(node: Any, path: KeyPath, value: Any) -> Any:
    """`node` with a validated `value` at `path`, everything else shared."""
    if not path:
        return value
    part, rest = path[0], path[1:]
    inner = _put(_child(node, part), rest, value)
    if isinstance(node, tuple):
        return tuple(inner if index == part else item for index, item in enumerate(node))
    return node.model_copy(update={str(part): inner})
