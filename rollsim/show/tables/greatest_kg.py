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
    for case, own in groupby(rows, key=lambda row: int(row["case"])):
        if case in names:
            parts += _of_case(names[case], list(own))
    heard = [Text(printable(line)) for line in storms]
    return Group(*parts, Text(), *heard, Text(MEANING), Text(), Text(CAUTION))


def _of_case(name: str, rows: Sequence[Row]) -> Iterator[Any]:
    from rich.text import Text

    first = rows[0]
    head = f"{name}: {first['displacement_t']:g} t, KG {first['kg_m']:.3f} m"
    least = next((row["greatest_kg_m"] for row in rows if row["governing"]), None)
    if least is not None:
        word = "to spare" if least >= first["kg_m"] else "too high"
        head += f", {abs(least - first['kg_m']):.3f} m {word}"
    yield Text()
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
