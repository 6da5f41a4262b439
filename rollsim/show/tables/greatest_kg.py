"""The greatest KG by each line of the criteria, as a table for a terminal."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby
from typing import TYPE_CHECKING, Any

from rollsim.cautions import CAUTION
from rollsim.errors import printable
from rollsim.show.query.criteria import QUANTITIES, Row, notes
from rollsim.show.tables.cells import number
from rollsim.show.tables.columns import Column, Split

if TYPE_CHECKING:
    from rich.console import RenderableType

MEANING = (
    "Greatest KG: height of G above the keel, free surfaces not included, up to which the line is "
    "fulfilled, coming from low down; free surfaces and off-centre G stay as they are. * governs: "
    "it allows the least. A line with a note has no verdict above its KG, rather than a failure."
)


def greatest_kg_table(
    title: str, rows: Sequence[Row], names: Mapping[int, str], storms: Sequence[str]
) -> RenderableType:
    """The lines of each case of `names`, the storms' answer in words, the caution."""
    from rich.console import Group
    from rich.text import Text

    parts: list[Any] = [Text(printable(title), style="bold")]
    for same in _alike([row for row in rows if row["case"] in names]):
        parts += _of_ship([_head(names[own[0]["case"]], own) for own in same], same[0])
    heard = [Text(printable(line)) for line in storms]
    return Group(*parts, Text(), *heard, Text(MEANING), Text(), Text(CAUTION))


def _alike(rows: Sequence[Row]) -> list[list[list[Row]]]:
    """The lines of each case, those of cases that are allowed the same together."""
    alike: dict[tuple[Any, ...], list[list[Row]]] = {}
    for _, lines in groupby(rows, key=lambda row: row["case"]):
        own = list(lines)
        alike.setdefault(tuple(row["greatest_kg_m"] for row in own), []).append(own)
    return list(alike.values())


def _head(name: str, rows: Sequence[Row]) -> str:
    """A case in words: its displacement, its KG, and how far that is from the greatest."""
    kg = rows[0]["kg_m"]
    head = f"{name}: {rows[0]['displacement_t']:g} t, KG {kg:.3f} m"
    least = next((row for row in rows if row["governing"]), None)
    if least is None or least["greatest_kg_m"] is None:
        return head
    spare = least["greatest_kg_m"] - kg
    above = "above the last verdict" if least["note"] else "too high"
    return f"{head}, {abs(spare):.3f} m {'to spare' if spare >= 0.0 else above}"


def _of_ship(heads: Sequence[str], rows: Sequence[Row]) -> Iterator[Any]:
    from rich.text import Text

    yield Text()
    for head in heads:
        yield Text(printable(head), style="bold")
    key = [
        Column("rule", [str(row["rule"]) for row in rows], words=True),
        Column("line", [QUANTITIES[str(row["quantity"])].words for row in rows], words=True),
    ]
    values = Column("greatest KG [m]", [number(row["greatest_kg_m"], 3) for row in rows])
    governs = Column("", ["*" if row["governing"] else "" for row in rows], words=True)
    yield Split(key, [[values, governs]])
    for note in notes(rows):
        yield Text(f"  {printable(note)}")
