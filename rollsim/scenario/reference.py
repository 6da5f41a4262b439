"""The scenario reference of the README, written from the schema.

`python -m rollsim.scenario.reference` prints it; `python -m rollsim.scenario.reference README.md`
puts it between the markers of that file.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from rollsim.scenario.checks.explain import BOUNDS
from rollsim.scenario.schema.catalogue import (
    KeyEntry,
    alternatives,
    is_model,
    key_of,
    kind_of,
    words,
)
from rollsim.scenario.schema.study import Range, Scenario
from rollsim.scenario.schema.units import with_unit
from rollsim.scenario.text.faults import listed

BEGIN = "<!-- scenario reference: begin -->"
END = "<!-- scenario reference: end -->"

SWEEP = """\
### `[sweep]`

Axes of a grid of cases: each key is a whole key of the file in quotes, each value a list, or a
table of evenly spaced values. Any key that holds one number or one word may be an axis, except
`format`, `title`, names and the keys of `[run]` other than `method`; an item of a list is named by
its position from 0, as in `"events.0.mass_t"`. The last axis runs fastest.

```toml
[sweep]
"ship.gravity.kg_m" = [5.10, 5.30, 5.45]
"sea.significant_height_m" = { from = 2.0, to = 10.0, steps = 5 }
```
"""

CONDITIONS = """\
### `[[conditions]]`

Named sets of overrides, crossed with the sweep; with conditions the base file is no case of its
own. Each needs a `name`, and may give any value, list or table of the file, except `format` and
the keys of `[run]` other than `method`. A list or a table replaces the base file's whole; a single
value is given by its whole key in quotes. A key may not stand both in a condition and in the sweep.

```toml
[[conditions]]
name = "deck cargo"
"ship.windage.area_m2" = 760.0
[conditions.ship.gravity]
kg_m = 5.45
[[conditions.events]]
kind = "heeling-lever"
at_s = 60.0
lever_m = 0.02
```
"""


def markdown() -> str:
    """The reference: a section for each table, a row for each key, in the schema's order."""
    sections = ["### At the top of the file\n", _table(_leaves(Scenario))]
    for name, field in Scenario.model_fields.items():
        if name not in ("sweep", "conditions"):
            sections += _sections(field.annotation, key_of(name, field), in_list=False)
    sections += [SWEEP, _table(list(_rows_of(Range))), CONDITIONS]
    return "\n".join(section.rstrip("\n") + "\n" for section in sections if section)


def replace_in(text: str) -> str:
    """`text` with the reference between its two markers; ValueError where they are missing."""
    before, begin, rest = text.partition(BEGIN)
    _, end, after = rest.partition(END)
    if not begin or not end:
        raise ValueError(f"the text lacks the markers {BEGIN} and {END}")
    return f"{before}{BEGIN}\n\n{markdown()}\n{END}{after}"


def _sections(annotation: Any, table: str, *, in_list: bool) -> Iterator[str]:
    """The sections of a table, of its kinds, and of the tables in it."""
    choices = alternatives(annotation)
    lists = [choice for choice in choices if get_origin(choice) is tuple]
    for choice in lists:
        yield from _sections(get_args(choice)[0], table, in_list=True)
    models: list[type[BaseModel]] = [choice for choice in choices if is_model(choice)]
    if not models:
        return
    title = f"`[[{table}]]`" if in_list else f"`[{table}]`"
    if len(models) == 1:
        yield f"### {title}\n\n{_doc(models[0])}\n"
        yield _table(_leaves(models[0]))
    else:
        yield from _kinds(models, title)
    for model in models:
        for name, field in model.model_fields.items():
            yield from _sections(field.annotation, f"{table}.{key_of(name, field)}", in_list=False)


def _kinds(models: list[type[BaseModel]], title: str) -> Iterator[str]:
    """The sections of a table of several kinds: what they share, then each."""
    shared = set.intersection(*(set(model.model_fields) for model in models)) - {"kind"}
    kinds = ", ".join(f'`"{kind_of(model)}"`' for model in models)
    yield f"### {title}\n\nIts `kind` is required, one of {kinds}.\n"
    yield _table([row for row in _leaves(models[0]) if row[0] in shared])
    for model in models:
        yield f'#### {title}, `kind = "{kind_of(model)}"`\n\n{_doc(model)}\n'
        yield _table([r for r in _leaves(model) if r[0] not in shared and r[0] != "kind"])


Row = tuple[str, str, str, str]


def _leaves(model: type[BaseModel]) -> list[Row]:
    """The rows of the keys that have no section of their own."""
    return [row for row in _rows_of(model) if row[2]]


def _rows_of(model: type[BaseModel]) -> Iterator[Row]:
    for name, field in model.model_fields.items():
        key = key_of(name, field)
        allowed = _allowed(key, field.annotation, field.metadata)
        yield key, (field.description or "").replace("|", "\\|"), allowed, _default(field)


def _allowed(key: str, annotation: Any, metadata: list[Any]) -> str:
    """What a key may hold, empty for a table."""
    said = []
    for choice in alternatives(annotation):
        if get_origin(choice) is tuple:
            item = alternatives(get_args(choice)[0])[0]
            said += [] if is_model(item) else ["a list of numbers"]
        elif choice in (float, int):
            number = "a whole number" if choice is int else "a number"
            bounds = _bounds(key, [*metadata, *_inner(annotation)])
            said.append(f"{number} {bounds}".rstrip())
        elif choice is str:
            said.append("text")
    entry = KeyEntry(FieldInfo(), alternatives(annotation))
    choices = [*(f'`"{word}"`' for word in words(entry)), *said]
    return listed(choices, "or") if choices else ""


def _inner(annotation: Any) -> list[Any]:
    """What annotates the number among the alternatives of a key that holds a number or a word."""
    found: list[Any] = []
    for part in get_args(annotation):
        if float in alternatives(part):
            for item in getattr(part, "__metadata__", ()):
                found += item.metadata if isinstance(item, FieldInfo) else []
    return found


def _bounds(key: str, metadata: list[Any]) -> str:
    """The bounds in words, the unit once."""
    bounds = [
        (word, getattr(item, name))
        for name, word in BOUNDS.values()
        for item in metadata
        if getattr(item, name, None) is not None
    ]
    *first, (word, last) = bounds or [("", None)]
    if last is None:
        return ""
    return " and ".join([*(f"{w} {b}" for w, b in first), f"{word} {with_unit(last, key)}"])


def _default(field: FieldInfo) -> str:
    if field.is_required():
        return "required"
    value = field.get_default()
    if value is None or value == "":
        return "none"
    return f'`"{value}"`' if isinstance(value, str) else f"`{value}`"


def _doc(model: type[BaseModel]) -> str:
    return " ".join((model.__doc__ or "").split())


def _table(rows: list[Row]) -> str:
    if not rows:
        return ""
    lines = [
        f"| `{key}` | {what} | {allowed} | {default} |" for key, what, allowed, default in rows
    ]
    head = ["| key | what it is | what it holds | default |", "|---|---|---|---|"]
    return "\n".join([*head, *lines]) + "\n"


def main(arguments: list[str]) -> None:
    """Print the reference, or put it into the file that is named."""
    if arguments:
        path = Path(arguments[0])
        path.write_text(replace_in(path.read_text(encoding="utf-8")), encoding="utf-8")
    else:
        sys.stdout.write(markdown())


if __name__ == "__main__":
    main(sys.argv[1:])
