"""The key that a search goes over: which key may be, in a file with this sweep."""

from __future__ import annotations

from rollsim.scenario.checks.explain import nearest_dotted
from rollsim.scenario.checks.parts import Parts
from rollsim.scenario.expand.axes import not_varied
from rollsim.scenario.expand.overrides import Override, beyond_list
from rollsim.scenario.schema.catalogue import entry_at, resolve
from rollsim.scenario.text.faults import Finding, shown


def searched_key(parts: Parts, table: str) -> list[Finding]:
    """What is wrong with `key` of a table of the file that searches over it, if anything."""
    given = parts.raw.get(table)
    key = given.get("key") if isinstance(given, dict) else None
    if not isinstance(key, str):
        return []  # left out, or a fault of its type
    problem = _wrong(parts, key)
    return [Finding((table, "key"), *problem)] if problem else []


def _wrong(parts: Parts, key: str) -> tuple[str, str] | None:
    """Problem and hint, None where the key may be searched over."""
    path = resolve(key)
    if path is None:
        return f"unknown key, got {shown(key)}", nearest_dotted(key)
    if hint := not_varied(path):
        return f"cannot be searched over, got {shown(key)}", hint
    entry = entry_at(path)
    if entry is None or float not in entry.alternatives:
        hint = 'a search goes over a key that holds a number, such as "ship.gravity.kg_m"'
        return f"must be a key that holds a number, got {shown(key)}", hint
    if beyond := beyond_list(parts.raw, Override(path, None, path)):
        return f"{beyond.problem}, got {shown(key)}", beyond.hint
    swept = parts.raw.get("sweep")
    for axis in swept if isinstance(swept, dict) else ():
        if resolve(axis) == path:
            hint = "the search sets it by itself: leave that axis out of [sweep]"
            return f"stands in the sweep as well, got {shown(key)}", hint
    return None
