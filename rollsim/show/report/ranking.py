"""Who is safer than whom, in the words and tables of a report."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from rollsim.show.query import cases
from rollsim.show.query.lineup import Duel, Group, duels, ranking, shown, verdict
from rollsim.show.report import words as report_words
from rollsim.show.report.html import Markup, join, paragraph, table, tag
from rollsim.show.tables import cells
from rollsim.show.tables.columns import Column
from rollsim.show.tables.summary import Row

MOST_GROUPS = 12
MOST_DUELS = 45

ALONE = "There is one loading only: nothing is compared."
CERTAIN = (
    "Nothing is random here: every loading has one run, and there is no chance to compare. The "
    "energy margins say how near each came."
)


def findings(groups: Sequence[Group]) -> Markup:
    """What the comparison shows, in a sentence for each step down the ranking."""
    compared = _compared(groups)
    if not compared:
        return paragraph(ALONE if any(group.random for group in groups) else CERTAIN)
    items = []
    for group in compared[:MOST_GROUPS]:
        place = f"{group.circumstances}: " if len(groups) > 1 else ""
        items += [tag("li", place + sentence) for sentence in _sentences(group)]
    said = "From the safest on, each loading against the next, by storms in which only one failed:"
    return join([paragraph(said), tag("ul", *items), *_left_out(len(compared))])


def _sentences(group: Group) -> list[str]:
    """Each step of the ranking, in one sentence together where nothing is shown at all."""
    every = duels(group)
    if not any(shown(duel) for duel in every):
        return [f"no difference shown between any of the {len(group.loadings)} loadings"]
    by_pair = {(duel.a, duel.b): duel for duel in every}
    found = []
    for better, worse in pairwise(ranking(group)):
        duel = by_pair[min(better, worse), max(better, worse)]
        names = [group.loadings[i].name for i in (duel.a, duel.b)]
        said = verdict(duel, *names)
        both = "" if shown(duel) else f"{' and '.join(names)}: "
        found.append(f"{both}{said} ({_p(duel)})")
    return found


def ranking_of(groups: Sequence[Group]) -> Markup:
    """The order of the loadings under each circumstance, and every pair of them compared."""
    compared = _compared(groups)
    if not compared:
        return paragraph(ALONE if any(group.random for group in groups) else CERTAIN)
    parts = [paragraph(report_words.MEANING_OF_RANKING)]
    for group in compared[:MOST_GROUPS]:
        if len(groups) > 1:
            parts.append(tag("h3", group.circumstances))
        parts += [_order(group), _duels(group)]
    return join([*parts, *_left_out(len(compared))])


def _compared(groups: Sequence[Group]) -> list[Group]:
    """The groups in which there is something to compare."""
    return [group for group in groups if group.random and len(group.loadings) > 1]


def _left_out(count: int) -> list[Markup]:
    if count <= MOST_GROUPS:
        return []
    return [paragraph(f"Shown: the first {MOST_GROUPS} of {count} circumstances.")]


def _p(duel: Duel) -> str:
    return "p < 0.001" if duel.p_value < 0.001 else f"p = {duel.p_value:.2g}"


def _order(group: Group) -> Markup:
    """The loadings from the safest on, each with the interval of its failure probability."""
    entries = [group.loadings[i] for i in ranking(group)]
    name = "failure_probability"
    rows: list[Row] = [
        {f"{name}{part}": cases.number(entry.ds, f"{name}{part}", case=entry.case)
         for part in ("", "_lower", "_upper")}
        for entry in entries
    ]  # fmt: skip
    columns = [
        Column("place", [str(i + 1) for i in range(len(entries))]),
        Column("loading", [entry.name for entry in entries], words=True),
        cells.chance(rows, "failure probability", name),
    ]
    return table("Loadings from the safest on.", columns)


def _duels(group: Group) -> Markup:
    """Every pair of loadings, those next to each other in the ranking first."""
    place = {entry: i for i, entry in enumerate(ranking(group))}
    found = sorted(duels(group), key=lambda d: (abs(place[d.a] - place[d.b]), place[d.a]))
    kept = found[:MOST_DUELS]
    rows: list[Row] = [
        duel.pair._asdict()
        | {
            "difference": duel.comparison.difference,
            "difference_lower": duel.comparison.lower,
            "difference_upper": duel.comparison.upper,
        }
        for duel in kept
    ]
    columns = [
        Column("A", [group.loadings[duel.a].name for duel in kept], words=True),
        Column("B", [group.loadings[duel.b].name for duel in kept], words=True),
        cells.counts(rows, "only_a", "only A failed"),
        cells.counts(rows, "only_b", "only B failed"),
        *(cells.counts(rows, name) for name in ("both", "neither", "left_out")),
        cells.chance(rows, "P(A) − P(B)", "difference"),
        Column("p, raised", [f"{duel.p_value:.2g}" for duel in kept]),
        Column("in words", [verdict(duel, "A", "B") for duel in kept], words=True),
    ]
    drawn = table("Every pair in common storms.", columns)
    if len(kept) == len(found):
        return drawn
    words = f"Shown: {MOST_DUELS} of {len(found)} pairs, those next in the ranking first."
    return join([drawn, paragraph(words)])
