"""The key reference of scenarios/README.md, written from the schema.

`python -m rollsim.scenario.reference` prints it; with `scenarios/README.md` behind it puts it
between the markers of that file.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator, Sequence
from itertools import groupby
from pathlib import Path

from rollsim.scenario.describe import Described, TableDescribed, tables

BEGIN = "<!-- scenario reference: begin -->"
END = "<!-- scenario reference: end -->"

SWEEP = """\
### `[sweep]`

Axes of a grid of cases: each key is a whole key of the file in quotes, each value a list, a table
of evenly spaced values, or offsets, `{ add = [-0.1, 0.0, 0.1] }`, which are added to what each
condition, or else the base file, gives; the coordinate in the result then holds the offset. Any key
that holds one number or one word may be an axis, except `format`, `title`, names and the keys of
`[run]` other than `method`; an item of a list is named by its position from 0, as in
`"events.0.mass_t"`. The last axis runs fastest.

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
value is given by its whole key in quotes. A key may not stand both in a condition and in the sweep,
except with offsets.

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
    sections: list[str] = []
    for name, kinds in groupby(tables(), key=lambda table: table.name):
        if name == "sweep":
            sections += [SWEEP, *(_rows(table.keys) for table in kinds)]
        elif name == "conditions":
            sections.append(CONDITIONS)
        else:
            sections += _sections(list(kinds))
    return "\n".join(section.rstrip("\n") + "\n" for section in sections if section)


def replace_in(text: str) -> str:
    """`text` with the reference between its two markers; ValueError where they are missing."""
    before, begin, rest = text.partition(BEGIN)
    _, end, after = rest.partition(END)
    if not begin or not end:
        raise ValueError(f"the text lacks the markers {BEGIN} and {END}")
    return f"{before}{BEGIN}\n\n{markdown()}\n{END}{after}"


def _sections(kinds: Sequence[TableDescribed]) -> Iterator[str]:
    """The sections of a table: what its kinds share, then each kind."""
    first = kinds[0]
    if not first.name:
        yield "### At the top of the file\n"
        yield _rows(first.keys)
        return
    title = f"`[[{first.name}]]`" if first.in_list else f"`[{first.name}]`"
    if len(kinds) == 1:
        yield f"### {title}\n\n{first.meaning}\n"
        yield _rows(first.keys)
        return
    shared = set.intersection(*({row.key for row in table.keys} for table in kinds)) - {"kind"}
    words = ", ".join(f'`"{table.kind}"`' for table in kinds if table.kind)
    plain = any(not table.kind for table in kinds)
    yield f"### {title}\n\n" + (
        f"Without `kind`, or with one of {words}.\n"
        if plain
        else f"Its `kind` is required, one of {words}.\n"
    )
    yield _rows([row for row in first.keys if row.key in shared])
    for table in kinds:
        head = f'`kind = "{table.kind}"`' if table.kind else "without `kind`"
        yield f"#### {title}, {head}\n\n{table.meaning}\n"
        yield _rows([row for row in table.keys if row.key not in shared | {"kind"}])


def _rows(rows: Sequence[Described]) -> str:
    if not rows:
        return ""
    lines = [
        f"| `{row.key}` | {_escaped(row.meaning)} | {_words(row.allowed)} | {_default(row)} |"
        for row in rows
    ]
    head = ["| key | what it is | what it holds | default |", "|---|---|---|---|"]
    return "\n".join([*head, *lines]) + "\n"


def _escaped(text: str) -> str:
    return text.replace("|", "\\|")


def _words(allowed: str) -> str:
    """What a key holds, its words set as code."""
    return re.sub(r'("[^"]*")', r"`\1`", _escaped(allowed))


def _default(row: Described) -> str:
    return row.default if row.default in ("required", "none") else f"`{row.default}`"


def main(arguments: list[str]) -> None:
    """Print the reference, or put it into the file that is named."""
    if arguments:
        path = Path(arguments[0])
        path.write_text(replace_in(path.read_text(encoding="utf-8")), encoding="utf-8")
    else:
        sys.stdout.write(markdown())


if __name__ == "__main__":
    main(sys.argv[1:])
