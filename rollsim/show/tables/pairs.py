"""Cases compared storm by storm: as plain numbers, and as tables for the terminal."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, NamedTuple

from rollsim.errors import printable
from rollsim.measures.outcome import Event
from rollsim.show.query import cases
from rollsim.show.query.duels import SHOWN, Duel, differing_axis, duels, left_out, met
from rollsim.show.query.lineup import Group, Source, line_up
from rollsim.show.tables import cells
from rollsim.show.tables.columns import Column, Split
from rollsim.show.tables.summary import LIMITS, Row, axis_name, axis_values, plain

if TYPE_CHECKING:
    import xarray as xr
    from rich.console import RenderableType

NAMED = 8
ALONE = "no other case meets the same storms"


class Comparisons(NamedTuple):
    """What a result compares: conditions at the same place, neighbours along an axis of the ship.

    `omitted` are the cases that none of them has, by their positions, and why.
    """

    pairs: list[Row]
    neighbours: list[Row]
    omitted: list[tuple[int, str]]


def comparisons(ds: xr.Dataset, event: Event | None = None) -> Comparisons:
    """Every comparison that common storms allow; none where nothing is random.

    By default the event is the one that the result is about.
    """
    if not cases.random(ds):
        return Comparisons([], [], [])
    of = event or cases.event_of(ds)
    pairs: list[Row] = []
    neighbours: list[Row] = []
    omitted: list[tuple[int, str]] = []
    names = cases.conditions(ds)
    groups = line_up([Source(ds)])
    if all(len(group.loadings) == 1 for group in groups):
        return Comparisons([], [], [])
    for group in groups:
        every, seen = duels(group, of), set()
        for duel in every:
            seen |= {duel.a, duel.b}
            axis = differing_axis(group, duel)
            (neighbours if axis else pairs).append(_row(ds, names, group, duel, axis))
        for i, loading in enumerate(group.loadings):
            reason = left_out(loading) or ("" if i in seen else ALONE)
            omitted += [(loading.case, reason)] if reason else []
    order = {name: i for i, name in enumerate(dict.fromkeys(names))}
    pairs.sort(key=lambda row: (order[row["first"]], order[row["second"]]))
    return Comparisons(pairs, neighbours, omitted if pairs or neighbours else [])


def _row(ds: xr.Dataset, names: Sequence[str], group: Group, duel: Duel, axis: str) -> Row:
    """A comparison with its place: of two conditions, or of neighbours along an axis.

    `names` are the conditions of all cases.
    """
    both = [group.loadings[i].case for i in (duel.a, duel.b)]
    place = axis_values(ds, both[0])
    if axis:
        del place[axis_name(ds, axis)]
        place = {"condition": names[both[0]], **place, "axis": axis_name(ds, axis)}
    ends = [plain(ds.variables[axis].values[case]) if axis else names[case] for case in both]
    numbers = [cases.number_of(ds, "case", case) for case in both]
    return (
        place
        | dict(zip(("first", "second"), ends, strict=True))
        | dict(zip(("first_case", "second_case"), numbers, strict=True))
        | duel_row(duel)
    )


def duel_row(duel: Duel) -> Row:
    """Counts of common storms, the difference of the probabilities with limits, p-values.

    `p_value` is that of the pair by itself, `p_value_holm` raised for all comparisons made under
    the same circumstances; both None where no storm is common.
    """
    apart = duel.comparison
    ends = zip(LIMITS, (apart.difference, apart.lower, apart.upper), strict=True)
    tested = met(duel.pair) > 0
    return duel.pair._asdict() | {
        **{f"difference{part}": plain(value) for part, value in ends},
        "p_value": apart.p_value if tested else None,
        "p_value_holm": duel.p_holm if tested else None,
    }


def pair_tables(ds: xr.Dataset, event: Event, most: int) -> list[RenderableType]:
    """The comparisons as tables of at most so many rows, and what their columns mean."""
    from rich.text import Text

    pairs, neighbours, omitted = comparisons(ds, event)
    if not pairs and not neighbours:
        return []
    verb, limits = cells.VERBS[event], cases.limits_text(ds, event)
    parts: list[RenderableType] = []
    for rows, key, which in (
        (pairs, _conditions(ds, pairs[:most]), "condition"),
        (neighbours, _places(ds, neighbours[:most]), "of two neighbours"),
    ):
        if rows:
            heading = f"Common storms: in how many of them which {which} {verb} ({limits})"
            parts += [Text(), Text(heading, style="bold"), Text()]
            parts += [
                Split(key, _counted(rows[:most], verb)),
                *cells.more(len(rows), most, "pairs"),
            ]
    lines = _meaning(event, [*pairs, *neighbours]) + _omitted(ds, omitted)
    return [*parts, Text(), Text("\n".join(lines))]


def _conditions(ds: xr.Dataset, rows: Sequence[Row]) -> list[Column]:
    return [
        Column("condition A", [printable(row["first"]) for row in rows], words=True),
        Column("condition B", [printable(row["second"]) for row in rows], words=True),
        *cells.axes(ds, rows),
    ]


def _places(ds: xr.Dataset, rows: Sequence[Row]) -> list[Column]:
    """Neighbours by the place where they stand, and what they have in common."""
    axes = {axis_name(ds, axis): axis for axis in cases.sweep_axes(ds)}
    ends = [
        Column(
            letter,
            [printable(cases.place_on(ds, axes[row["axis"]], row[end])) for row in rows],
            words=True,
        )
        for letter, end in (("A", "first"), ("B", "second"))
    ]
    shared = [
        ", ".join(
            [row["condition"]] * (row["condition"] != cases.NO_CONDITION)
            + [cases.place_on(ds, axis, row[name]) for name, axis in axes.items() if name in row]
        )
        for row in rows
    ]
    where = [Column("where", [printable(text) for text in shared], words=True)]
    return ends + (where if any(shared) else [])


def _counted(rows: Sequence[Row], verb: str) -> list[list[Column]]:
    """The counts of common storms, and how far apart the two are."""
    names = (("only_a", f"only A {verb}"), ("only_b", f"only B {verb}"), ("both", f"both {verb}"))
    counts = [cells.counts(rows, name, header) for name, header in names]
    counts.append(cells.counts(rows, "neither"))
    counts += [cells.counts(rows, "left_out")] * any(row["left_out"] for row in rows)
    return [counts, [cells.chance(rows, "P(A) - P(B)", "difference"), *cells.p_values(rows)]]


def _meaning(event: Event, rows: Sequence[Row]) -> list[str]:
    """What the columns mean, in a few lines."""
    lines = [
        f"P(A) - P(B): difference of the {event} probabilities with 95 % limits (Tango's score "
        f"interval). p: exact test that storms in which only one {cells.VERBS[event]} fall to both "
        "alike, each pair by itself; p (Holm): the same, raised for all pairs in the same weather."
    ]
    if any(_only_by_its_interval(row) for row in rows):
        lines.append(
            "Where an interval leaves out 0 and p (Holm) is not below 0.05 no difference is shown: "
            "the interval is for one pair by itself and approximate, the test exact and for all."
        )
    if any(row["left_out"] for row in rows):
        lines.append("Left out: not run or not solved in either.")
    return lines


def _only_by_its_interval(row: Row) -> bool:
    """Whether the interval of a pair leaves out 0 and its test shows nothing."""
    if row["p_value"] is None or row["p_value_holm"] < SHOWN:
        return False
    return bool(row["difference_lower"] > 0.0 or row["difference_upper"] < 0.0)


def _omitted(ds: xr.Dataset, omitted: Sequence[tuple[int, str]]) -> list[str]:
    """The cases that are out of the comparison, by the reason."""
    by_reason: dict[str, list[int]] = {}
    for case, reason in omitted:
        by_reason.setdefault(reason, []).append(case)
    every = range(ds.sizes["case"])
    lines = []
    for reason, which in by_reason.items():
        names = "; ".join(printable(cases.case_label(ds, case, every)) for case in which[:NAMED])
        more = f" and {len(which) - NAMED} more" if len(which) > NAMED else ""
        lines.append(f"Case {names}{more}: {reason}.")
    return lines
