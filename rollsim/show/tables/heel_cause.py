"""List or loll, for people: probabilities, GM, what would tell more, and the cautions."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from rollsim.cautions import CAUTION, LOLL_WARNING
from rollsim.errors import printable

if TYPE_CHECKING:
    from rich.console import RenderableType

MEANING = (
    "list: GM > 0, G off the centreline. loll: GM <= 0, she lies where the centred ship would. "
    "both: GM <= 0 otherwise. Of the ship in this file and what was thought of her G beforehand; "
    "GM with free surfaces, limits 95 %. Probabilities, never an order to act."
)
CHOSEN = ("list", "loll", "both")
"""The columns of probabilities."""


UPRIGHT = "She lies upright within the errors of the heel: there may be nothing to explain."


def heel_cause_table(
    title: str, rows: Sequence[dict[str, Any]], *, upright: bool = False
) -> RenderableType:
    """A row a case; `upright` where the heel that is seen may be none."""
    from rich import box
    from rich.console import Group
    from rich.table import Table
    from rich.text import Text

    table = Table(box=box.SIMPLE_HEAD, pad_edge=False)
    table.add_column("case", justify="right")
    table.add_column("condition")
    for name in CHOSEN:
        table.add_column(name, justify="right")
    table.add_column("GM [m]", justify="right")
    table.add_column("G off the centreline [m]", justify="right")
    for row in rows:
        table.add_row(
            str(row["case"]),
            printable(str(row["condition"])),
            *(f"{row[name]:.3f}" for name in CHOSEN),
            *(_interval(row, name) for name in ("gm_m", "off_centre_m")),
        )
    parts: list[Any] = [Text(printable(title), style="bold"), table]
    parts += [Text(line) for row in rows for line in _telling(row, len(rows) > 1)]
    parts += [Text(UPRIGHT)] if upright else []
    return Group(*parts, Text(), Text(MEANING), Text(), Text(CAUTION), Text(LOLL_WARNING))


def _interval(row: dict[str, Any], name: str) -> str:
    return f"{row[name]:.3f} [{row[f'{name}_lower']:.3f}, {row[f'{name}_upper']:.3f}]"


def _telling(row: dict[str, Any], several: bool) -> list[str]:
    where = f"case {row['case']}: " if several else ""
    if row["separating"] is None:
        return [f"{where}the cause is told as well as these observations can tell it"]
    told = "; ".join(f"{o['observation']} {o['bits']:.2f} bit" for o in row["observations"])
    return [f"{where}what would tell most: {row['separating']}", f"  {told}"]
