"""The lines of criteria as tables: for a terminal, a report, a spreadsheet."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby
from typing import TYPE_CHECKING, Any, NamedTuple

from rollsim.cautions import CAUTION, LOLL_WARNING
from rollsim.errors import printable
from rollsim.names import unit_text
from rollsim.show.tables.cells import MISSING, number
from rollsim.show.tables.columns import Column, Split

if TYPE_CHECKING:
    from rich.console import RenderableType

Row = dict[str, Any]
"""A line: case, condition, rule, clause, quantity, unit, required, found, fulfilled, margin, note.
"""


class Quantity(NamedTuple):
    """A quantity in words, how its bound is written, and its decimals."""

    words: str
    bound: str
    digits: int


QUANTITIES: dict[str, Quantity] = {
    "area_to_30": Quantity("area under GZ to 30°", "≥", 4),
    "area_to_40": Quantity("area under GZ to 40° or flooding", "≥", 4),
    "area_30_to_40": Quantity("area under GZ, 30° to 40° or flooding", "≥", 4),
    "gz_from_30": Quantity("greatest GZ at 30° or more", "≥", 3),
    "heel_of_greatest_gz": Quantity("heel of the greatest GZ", "≥", 1),
    "gm": Quantity("GM", "≥", 3),
    "steady_heel": Quantity("heel in the steady wind", "≤", 1),
    "roll_to_windward": Quantity("roll to windward φ1", "", 1),
    "area_a": Quantity("area a", "", 4),
    "area_b": Quantity("area b", "≥", 4),
    "heel_at_intersection": Quantity("heel where the wind's lever meets GZ", "", 1),
    "lever_ratio": Quantity("lever there over the greatest GZ", "≤", 3),
    "area_ratio": Quantity("ratio of the areas", "≥", 3),
}
VERDICTS = {True: "fulfilled", False: "NOT fulfilled", None: "no verdict"}
OF_RULES = (
    "No verdict: the rule does not apply or cannot be computed. A fulfilled criterion is a necessary "
    "number, never a proof that she is safe."
)


def unit_words(units: str) -> str:
    """A CF unit in a table: "m rad" gives "m·rad"."""
    return unit_text(units).replace("m rad", "m·rad")


def words(row: Row) -> str:
    """The quantity of a line, with its unit."""
    unit = unit_words(str(row["unit"]))
    name = QUANTITIES[str(row["quantity"])].words
    return f"{name} [{unit}]" if unit else name


def verdict(row: Row) -> str:
    """Whether a line is fulfilled; empty where nothing is required and nothing is missing."""
    on_the_way = row["required"] is None and row["found"] is not None
    return "" if on_the_way else VERDICTS[row["fulfilled"]]


def columns(rows: Sequence[Row]) -> list[Column]:
    """Clause, quantity, required, found, verdict and margin of some lines."""
    each = [QUANTITIES[str(row["quantity"])] for row in rows]

    def numbers(name: str) -> list[str]:
        return [number(row[name], q.digits) for row, q in zip(rows, each, strict=True)]

    required = [
        f"{q.bound} {text}" if text != MISSING else ""
        for q, text in zip(each, numbers("required"), strict=True)
    ]
    margins = [
        number(row["margin"], q.digits) if row["required"] is not None else ""
        for row, q in zip(rows, each, strict=True)
    ]
    return [
        Column("clause", [printable(str(row["clause"])) for row in rows], words=True),
        Column("quantity", [words(row) for row in rows], words=True),
        Column("required", required),
        Column("found", numbers("found")),
        Column("verdict", [verdict(row) for row in rows], words=True),
        Column("margin", margins),
    ]


def notes(rows: Sequence[Row]) -> list[str]:
    """The notes of some lines, each once, after the quantities that it stands at."""
    by_note: dict[str, list[str]] = {}
    for row in rows:
        if row["note"]:
            by_note.setdefault(str(row["note"]), []).append(QUANTITIES[str(row["quantity"])].words)
    return [
        f"{', '.join(dict.fromkeys(names)) if len(names) < 3 else 'several lines'}: {note}"
        for note, names in by_note.items()
    ]


def overall(rows: Sequence[Row]) -> str:
    """The verdict on a rule: not fulfilled where any line is not, no verdict where one lacks it."""
    verdicts = {row["fulfilled"] for row in rows if row["required"] is not None}
    return VERDICTS[False if False in verdicts else None if None in verdicts else True]


def rules_of(rows: Sequence[Row]) -> list[str]:
    """The rules of some lines, in their order."""
    return list(dict.fromkeys(str(row["rule"]) for row in rows))


def overview(rows: Sequence[Row]) -> list[Column]:
    """A row for each case, a column for each rule."""
    by_case = [list(lines) for _, lines in groupby(rows, key=lambda row: row["case"])]
    verdicts = [
        Column(
            rule,
            [overall([row for row in lines if row["rule"] == rule]) for lines in by_case],
            words=True,
        )
        for rule in rules_of(rows)
    ]
    return [
        Column("case", [str(lines[0]["case"]) for lines in by_case]),
        Column("condition", [printable(str(lines[0]["condition"])) for lines in by_case], True),
        *verdicts,
    ]


def criteria_table(
    title: str, rows: Sequence[Row], names: Mapping[int, str], texts: Mapping[str, str], *, loll: bool
) -> RenderableType:
    """The verdicts of all cases, the lines of those that `names` names, cautions.

    `texts` says what each rule follows.
    """
    from rich.console import Group
    from rich.text import Text

    key, *verdicts = overview(rows)
    parts: list[Any] = [Text(printable(title), style="bold"), Text()]
    parts.append(Split([key, verdicts[0]], [[column] for column in verdicts[1:]]))
    for case, name in names.items():
        parts += _of_case(name, [row for row in rows if row["case"] == case], texts)
    more = len({row["case"] for row in rows}) - len(names)
    if more:
        parts += [Text(), Text(f"and {more} more cases: --case shows the lines of one")]
    cautions = [Text(), Text(CAUTION), *([Text(), Text(LOLL_WARNING)] if loll else [])]
    return Group(*parts, Text(), Text(OF_RULES), *cautions)


def _of_case(name: str, rows: Sequence[Row], texts: Mapping[str, str]) -> Iterator[Any]:
    """The lines of a case, rule by rule, with their notes."""
    from rich.text import Text

    for rule, own in groupby(rows, key=lambda row: str(row["rule"])):
        lines = list(own)
        head = f"{name}, {rule}: {overall(lines)}"
        yield Text()
        yield Text(printable(head), style="bold")
        yield Text(texts[rule])
        yield Split(columns(lines)[:2], [[column] for column in columns(lines)[2:]])
        for note in notes(lines):
            yield Text(f"  {printable(note)}")


def rows_csv(rows: Sequence[Row]) -> str:
    """Plain rows as CSV under one header, missing values empty."""
    out = io.StringIO()
    writer = csv.DictWriter(out, list(rows[0]) if rows else ["case"], lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()
