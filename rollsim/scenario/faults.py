"""What is wrong with a scenario, in plain words and at its place in the file."""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from rollsim.errors import Fault
from rollsim.scenario.catalogue import (
    catalogue,
    dotted,
    entry_at,
    keys_in,
    pattern_of,
    words,
)
from rollsim.scenario.positions import KeyPath, missing_place, positions
from rollsim.scenario.units import with_unit


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
    def place(self) -> KeyPath:
        """The path whose place in the file is shown."""
        return self.path if self.at is None else self.at


def located(findings: Iterable[Finding], text: str) -> list[Fault]:
    """The findings as faults with line and column, in the order of the file, each once."""
    places = positions(text)
    faults: dict[tuple[int, int, str, str], Fault] = {}
    for finding in findings:
        place = missing_place(places, finding.place)
        at_key = finding.at_key and finding.place in places
        line, column = place[2:] if at_key else place[:2]
        key = dotted(finding.path)
        fault = Fault(key, finding.problem, finding.hint, line, column)
        faults.setdefault((line, column, key, finding.problem), fault)
    return [faults[order] for order in sorted(faults)]


# After these keys pydantic puts the chosen member of a union into the place of an error.
UNIONS = {
    ("ship", "levers"),
    ("sea",),
    ("sea", "slope_coefficient"),
    ("start", "roll_deg"),
    ("events", "*"),
    ("sweep", "*"),
    ("sweep", "*", "*"),
}

TYPES = {
    "float_type": "must be a number",
    "int_type": "must be a whole number",
    "string_type": "must be text in quotes",
    "tuple_type": "must be a list",
    "dict_type": "must be a table",
    "model_type": "must be a table",
    "model_attributes_type": "must be a table",
    "finite_number": "must be a finite number",
}

AXIS_HINT = "an axis is a list of values, or { from = 1.0, to = 3.0, steps = 5 }"

BOUNDS = {
    "greater_than": ("gt", "above"),
    "greater_than_equal": ("ge", "at least"),
    "less_than": ("lt", "below"),
    "less_than_equal": ("le", "at most"),
}


def explained(error: ValidationError, raw: dict[str, Any]) -> list[Finding]:
    """The errors of pydantic in plain words; `raw` is what was validated."""
    details = error.errors(include_url=False)
    return [_explained(detail, _key_path(detail["loc"]), raw) for detail in details]


def _key_path(loc: KeyPath) -> KeyPath:
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
    near = get_close_matches(value.lower(), lowered, 1) if isinstance(value, str) else []
    return f'did you mean "{lowered[near[0]]}"?' if near else entry.description


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
    near = get_close_matches(key.lower(), known, 1, 0.5)
    return f"did you mean {near[0]}?" if near else f"known here: {listed(known)}"


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
    near = get_close_matches(key, ends or known, 1, 0.0 if ends else 0.5)
    return f'did you mean "{near[0]}"?' if near else "write the key with its tables: ship.beam_m"


def _kind_at(raw: Any, path: KeyPath) -> str | None:
    for part in path:
        try:
            raw = raw[part]
        except (KeyError, IndexError, TypeError):
            return None
    kind = raw.get("kind") if isinstance(raw, dict) else None
    return kind if isinstance(kind, str) else None


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
