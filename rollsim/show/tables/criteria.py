"""The lines of criteria as tables: for a terminal, a report, a spreadsheet."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby
from typing import TYPE_CHECKING, Any

from rollsim.cautions import CAUTION, LOLL_WARNING
from rollsim.errors import printable
from rollsim.show.query.criteria import (
    QUANTITIES,
    Row,
    notes,
    overall,
    quantity_words,
    verdict,
)
from rollsim.show.tables.cells import MISSING, number
from rollsim.show.tables.columns import Column, Split

if TYPE_CHECKING:
    from rich.console import RenderableType

DETAILED = 6
"""Cases whose lines are printed."""
OF_RULES = (
    "No verdict: the rule does not apply or cannot be computed. A fulfilled criterion is a number "
    "that was required, never a proof that she is safe."
)


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
        Column("quantity", [quantity_words(row) for row in rows], words=True),
        Column("required", required),
        Column("found", numbers("found")),
        Column("verdict", [verdict(row) for row in rows], words=True),
        Column("margin", margins),
    ]


def rules_of(rows: Sequence[Row]) -> list[str]:
    """The rules of some lines, in their order."""
    return list(dict.fromkeys(str(row["rule"]) for row in rows))


def overview(rows: Sequence[Row], names: Mapping[int, str] | None = None) -> list[Column]:
    """A row for each case, under its name or number and condition; a column for each rule."""
    by_case = [list(lines) for _, lines in groupby(rows, key=lambda row: row["case"])]
    verdicts = [
        Column(
            rule,
            [overall([row for row in lines if row["rule"] == rule]) for lines in by_case],
            words=True,
        )
        for rule in rules_of(rows)
    ]
    plain = {lines[0]["case"]: f"{lines[0]['case']}: {lines[0]['condition']}" for lines in by_case}
    called = names or plain
    case = Column("case", [printable(called[lines[0]["case"]]) for lines in by_case], words=True)
    return [case, *verdicts]


def criteria_table(
    title: str,
    rows: Sequence[Row],
    names: Mapping[int, str],
    texts: Mapping[str, str],
    *,
    loll: bool,
) -> RenderableType:
    """The verdicts of all cases by their `names`, the lines of the first ones, cautions.

    `texts` says what each rule follows.
    """
    from rich.console import Group
    from rich.text import Text

    key, *verdicts = overview(rows, names)
    parts: list[Any] = [Text(printable(title), style="bold"), Text()]
    parts.append(Split([key], [[column] for column in verdicts]))
    for case, name in list(names.items())[:DETAILED]:
        parts += _of_case(name, [row for row in rows if row["case"] == case], texts)
    more = len(names) - DETAILED
    if more > 0:
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
