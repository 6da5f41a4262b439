"""The faults that the models find, in plain words: which rule, which value, which key was meant."""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from rollsim.scenario.schema.catalogue import (
    catalogue,
    entry_at,
    keys_in,
    pattern_of,
    words,
)
from rollsim.scenario.schema.units import with_unit
from rollsim.scenario.text.faults import Finding, dotted, listed, shown
from rollsim.scenario.text.positions import KeyPath

# After these keys pydantic puts the chosen member of a union into the place of an error.
UNIONS = {
    ("ship", "levers"),
    ("sea",),
    ("sea", "slope_coefficient"),
    ("start", "roll_deg"),
    ("events", "*"),
    ("ship", "loading", "weights", "*"),
    ("sweep", "*"),
    ("sweep", "*", "*"),
}

TYPES = {
    "float_type": "must be a number",
    "int_type": "must be a whole number",
    "string_type": "must be text in quotes",
    "is_instance_of": "must be the name of a file in quotes",
    "tuple_type": "must be a list",
    "dict_type": "must be a table",
    "model_type": "must be a table",
    "model_attributes_type": "must be a table",
    "finite_number": "must be a finite number",
}

AXIS_HINT = (
    "an axis is a list of values, { from = 1.0, to = 3.0, steps = 5 }, or { add = [-0.1, 0.1] }"
)

BOUNDS = {
    "greater_than": ("gt", "above"),
    "greater_than_equal": ("ge", "at least"),
    "less_than": ("lt", "below"),
    "less_than_equal": ("le", "at most"),
}


MOST_EXPLAINED = 200
"""Faults that are put into words; whoever has more mends these first."""

LONGEST_KEY = 100
"""Characters of an unknown key up to which a near one is looked for."""


def explained(error: ValidationError, raw: dict[str, Any]) -> list[Finding]:
    """The first errors of pydantic in plain words; `raw` is what was validated."""
    details = error.errors(include_url=False)[:MOST_EXPLAINED]
    return [_explained(detail, key_path(detail["loc"]), raw) for detail in details]


def key_path(loc: KeyPath) -> KeyPath:
    """The path of an error's key in the file: without the tags of unions."""
    path: KeyPath = ()
    parts = iter(loc)
    for part in parts:
        path += (part,)
        pattern = pattern_of(path)
        if pattern[:1] == ("sweep",) and len(pattern) > 1:
            pattern = ("sweep", "*", *pattern[2:])
        if pattern in UNIONS:
            next(parts, None)
    return path


def _explained(detail: ErrorDetails, path: KeyPath, raw: dict[str, Any]) -> Finding:
    kind = detail["type"]
    if kind == "missing":
        return missing(path)
    if kind == "extra_forbidden":
        return unknown(path, raw)
    if kind == "union_tag_not_found":
        return missing((*path, "kind"))
    value, context = detail["input"], detail.get("ctx", {})
    if kind == "union_tag_invalid":
        path, value = (*path, "kind"), value["kind"]
    return Finding(path, f"{_rule(kind, path, context)}, got {shown(value)}", _hint(path, value))


def _rule(kind: str, path: KeyPath, context: dict[str, Any]) -> str:
    key = next((part for part in reversed(path) if isinstance(part, str)), "")
    if kind in TYPES:
        entry = entry_at(path)
        choices = words(entry) if entry and kind == "float_type" else ()
        return TYPES[kind] + "".join(f' or "{word}"' for word in choices)
    if kind in BOUNDS:
        name, text = BOUNDS[kind]
        return f"must be {text} {with_unit(context[name], key)}"
    if kind in ("literal_error", "union_tag_invalid"):
        return f"must be {_allowed(path)}"
    if kind == "too_short":
        return "must hold at least one value"
    if kind == "string_too_short":
        return "must not be empty"
    if kind == "string_too_long":
        return f"must be at most {context['max_length']} characters long"
    return f"is not valid ({kind})"


def _allowed(path: KeyPath) -> str:
    entry = entry_at(path)
    if entry is None:
        return "one of the known words"
    number = ["a number"] if float in entry.alternatives else []
    return listed([f'"{word}"' for word in words(entry)] + number, "or")


def _hint(path: KeyPath, value: Any) -> str:
    if path[0] == "sweep":
        return AXIS_HINT
    while path and (entry_at(path) is None or isinstance(path[-1], int)):
        path = path[:-1]
    entry = entry_at(path)
    if entry is None:
        return ""
    lowered = {word.lower(): word for word in words(entry)}
    near = _near(value.lower(), lowered) if isinstance(value, str) else ""
    return f'did you mean "{lowered[near]}"?' if near else entry.description


def missing(path: KeyPath) -> Finding:
    """A required key or table that is not there, shown at its table's header."""
    entry = entry_at(path)
    keys = keys_in(path)
    if keys:
        needs = ["kind"] if "kind" in keys else [key for key in keys if _required(path, key)]
        rest = f"with {listed(needs)}" if needs else f"with one of {listed(keys, 'or')}"
        return Finding(path, "is missing", f"add the table [{dotted(path)}] {rest}")
    if path[0] == "sweep":
        return Finding(path, "is missing", AXIS_HINT)
    if path[-1] == "kind":
        return Finding(path, "is missing", f"add it: {_allowed(path)}")
    hint = f"add it: {entry.description}" if entry else ""
    return Finding(path, "is missing", hint, ((*path[:-1], "kind"),))


def _required(table: KeyPath, key: str) -> bool:
    entry = entry_at((*table, key))
    return entry is not None and entry.field.is_required()


def unknown(path: KeyPath, raw: dict[str, Any]) -> Finding:
    """A key that its table does not know: another kind's, another table's, or misspelt."""
    table, key = path[:-1], path[-1]
    if table[:1] == ("sweep",):
        return Finding(path, "unknown key", AXIS_HINT, at_key=True)
    kind = _kind_at(raw, table)
    entry = entry_at(path)
    if entry is not None and entry.kinds and kind:
        kinds = " or ".join(f'"{k}"' for k in entry.kinds)
        problem = f'does not belong to the kind "{kind}"'
        hint = f"it belongs to the kind {kinds}"
        return Finding(path, problem, hint, ((*table, "kind"),), at_key=True)
    return Finding(path, "unknown key", nearest(str(key), table, kind), at_key=True)


def nearest(key: str, table: KeyPath, kind: str | None = None) -> str:
    """A hint that names the nearest known key, in the table or elsewhere in the file."""
    known = keys_in(table, kind)
    homes = {p[:-1]: bool(entry.kinds) for p, entry in catalogue().items() if p[-1] == key}
    if homes:
        plain = [home for home, of_kinds in homes.items() if not of_kinds] or list(homes)
        return "it stands " + " or ".join(_home(home) for home in plain)
    near = _near(key.lower(), known, 0.5)
    return f"did you mean {near}?" if near else f"known here: {listed(known)}"


def _home(path: KeyPath) -> str:
    table = ".".join(str(part) for part in path if part != "*")
    return f"in [{table}]" if table else "at the top of the file"


def nearest_dotted(key: str) -> str:
    """A hint that names the known dotted key nearest to `key`."""
    known = [
        ".".join("0" if part == "*" else part for part in pattern)
        for pattern in catalogue()
        if pattern[0] != "conditions"
    ]
    ends = [k for k in known if k.rpartition(".")[2] == key.rpartition(".")[2] and "." in k]
    near = _near(key, ends or known, 0.0 if ends else 0.5)
    return f'did you mean "{near}"?' if near else "write the key with its tables: ship.beam_m"


def _near(key: str, known: Iterable[str], cutoff: float = 0.6) -> str:
    """The known word nearest to `key`, empty where none is near."""
    near = get_close_matches(key, known, 1, cutoff) if len(key) <= LONGEST_KEY else []
    return near[0] if near else ""


def _kind_at(raw: Any, path: KeyPath) -> str | None:
    for part in path:
        try:
            raw = raw[part]
        except (KeyError, IndexError, TypeError):
            return None
    kind = raw.get("kind") if isinstance(raw, dict) else None
    return kind if isinstance(kind, str) else None
