"""Overrides: what a condition or a sweep value puts in place of the base file's."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from rollsim.scenario.checks.explain import MOST_EXPLAINED, nearest_dotted
from rollsim.scenario.expand.axes import fixed
from rollsim.scenario.schema.catalogue import entry_at, resolve
from rollsim.scenario.text.faults import Finding
from rollsim.scenario.text.positions import KeyPath


@dataclass(frozen=True)
class Override:
    """`value` at `path`, written in the file at `source`."""

    path: KeyPath
    value: Any
    source: KeyPath


def applied(raw: dict[str, Any], overrides: Iterable[Override]) -> dict[str, Any]:
    """`raw` with the overrides in place; what they do not touch is shared, not copied."""
    for override in overrides:
        raw = _replaced(raw, override.path, override.value)
    return raw


def beyond_list(raw: dict[str, Any], override: Override) -> Finding | None:
    """The fault of an override at a list position that `raw` has not."""
    here: Any = raw
    for index, part in enumerate(override.path):
        if isinstance(part, int):
            count = len(here) if isinstance(here, list) else 0
            if part >= count:
                parent = ".".join(map(str, override.path[:index]))
                problem = f"there is no item {part} in {parent}"
                hint = f"it holds {count}, counted from 0" if count else "it is empty here"
                return Finding(override.path, problem, hint, at=override.source, at_key=True)
            here = here[part]
        else:
            here = here.get(part) if isinstance(here, dict) else None
    return None


def _replaced(tree: Any, path: KeyPath, value: Any) -> Any:
    if not path:
        return value
    part, rest = path[0], path[1:]
    if isinstance(part, int):
        items = list(tree)
        items[part] = _replaced(items[part], rest, value)
        return items
    table = dict(tree) if isinstance(tree, dict) else {}
    table[part] = _replaced(table.get(part), rest, value)
    return table


def of_condition(
    index: int, table: dict[str, Any], raw: dict[str, Any]
) -> tuple[list[Override], list[Finding]]:
    """The overrides of a condition, whole tables before single keys, and its faulty keys."""
    overrides: list[Override] = []
    findings: list[Finding] = []
    for key, value, source in _entries(table, ("conditions", index)):
        path = resolve(key)
        if path is None:
            hint = nearest_dotted(key) if len(findings) < MOST_EXPLAINED else ""
            findings.append(Finding(source, "unknown key", hint, at_key=True))
        elif fixed(path):
            hint = (
                "format, sweep, conditions, [severity] and [run] keys other than method hold for "
                "all cases"
            )
            findings.append(Finding(source, "cannot be changed by a condition", hint, at_key=True))
        else:
            overrides.append(Override(path, value, source))
    sound: list[Override] = []
    for override in sorted(overrides, key=lambda override: len(override.path)):
        beyond = beyond_list(raw, override)
        if beyond:
            findings.append(beyond)
        else:
            raw = applied(raw, [override])
            sound.append(override)
    return sound, findings


def _entries(table: dict[str, Any], source: KeyPath) -> Iterator[tuple[str, Any, KeyPath]]:
    """Dotted key, value and source; [conditions.ship.gravity] is ship.gravity, not all of ship."""
    for key, value in table.items():
        if key == "name":
            continue
        if key == "ship" and isinstance(value, dict) and _only_tables(value):
            for inner, content in value.items():
                yield f"ship.{inner}", content, (*source, key, inner)
        else:
            yield key, value, (*source, key)


def _only_tables(table: dict[str, Any]) -> bool:
    return bool(table) and all(isinstance(value, dict) for value in table.values())


def dropped(raw: dict[str, Any], override: Override) -> Finding | None:
    """The warning that a whole table of a condition drops keys that the base file sets.

    Only where the table gives nothing new: then single values were likely meant.
    """
    base: Any = raw
    for part in override.path:
        base = base.get(part) if isinstance(base, dict) else None
    if not isinstance(base, dict) or not isinstance(override.value, dict):
        return None
    if base.get("kind") != override.value.get("kind") or set(override.value) - set(base):
        return None
    lost = [key for key in base if key not in override.value and _matters(base, override, key)]
    if not lost:
        return None
    problem = f"replaces the whole table: {', '.join(lost)} of the base file no longer holds"
    table = ".".join(map(str, override.path))
    hint = f'a single value is given by its whole key in quotes: "{table}.{lost[0]}" = ...'
    return Finding(override.path, problem, hint, at=override.source)


def _matters(base: dict[str, Any], override: Override, key: str) -> bool:
    """Whether the base file's value of an optional key differs from its default."""
    field = entry.field if (entry := entry_at((*override.path, key))) else None
    return field is not None and not field.is_required() and base[key] != field.get_default()
