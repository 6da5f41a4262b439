"""Who is safer than whom, in the words and tables of a report."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from rollsim.measures.outcome import Event
from rollsim.show.query import cases
from rollsim.show.query.duels import Duel, duels, left_out, met, ranking, shown, verdict
from rollsim.show.query.lineup import Group
from rollsim.show.query.runs import without_result
from rollsim.show.report import words
from rollsim.show.report.blocks import Block, Heading, Items, Paragraph, Table
from rollsim.show.tables import cells
from rollsim.show.tables.cells import VERBS
from rollsim.show.tables.columns import Column
from rollsim.show.tables.pairs import duel_row
from rollsim.show.tables.summary import LIMITS, Row

MOST_GROUPS = 12
MOST_DUELS = 45
MOST_SENTENCES = 12
MOST_NAMED = 6

ALONE = "There is one loading only: nothing is compared."
UNSOLVED = "No run has a result: nothing can be compared. The result holds the reason of each."
CERTAIN = (
    "Nothing is random here: every loading has one run, and there is no chance to compare. The "
    "energy margins say how near each came."
)


def findings(groups: Sequence[Group], event: Event) -> list[Block]:
    """What the comparison shows, in a sentence for each step down the ranking."""
    compared = _compared(groups)
    if not compared:
        return [_nothing(groups)]
    items = []
    for group in compared[:MOST_GROUPS]:
        prefix = f"{group.circumstances}: " if len(groups) > 1 else ""
        items += [prefix + sentence for sentence in _sentences(group, event)]
    items += _alone(groups)
    only = f"by storms in which only one {VERBS[event]}"
    if any(_swept(group) for group in compared):
        lead = f"Loadings that differ in one thing, one against the other, {only}:"
    else:
        lead = f"From the safest on, each loading against the next, {only}:"
    return [Paragraph(lead), Items(items), *_left_out(len(compared))]


def _alone(groups: Sequence[Group]) -> list[str]:
    """The loadings that are compared with none because no other has met their weather."""
    lone = [group for group in groups if len(group.loadings) == 1]
    names = [f"{group.loadings[0].name} ({group.circumstances})" for group in lone]
    if not names:
        return []
    more = f" and {len(names) - MOST_NAMED} more" if len(names) > MOST_NAMED else ""
    told = ", ".join(names[:MOST_NAMED])
    return [f"compared with none, for no other has met the weather: {told}{more}"]


def _swept(group: Group) -> bool:
    """Whether loadings of a group stand along an axis of the ship."""
    return any(loading.place for loading in group.loadings)


def _sentences(group: Group, event: Event) -> list[str]:
    """What is shown of a group and what not, and who is out of the comparison and why."""
    every = duels(group, event)
    out = [
        f"{group.loadings[i].name}: {words}, ranked last"
        for i in ranking(group, event)
        if (words := left_out(group.loadings[i]))
    ]
    if not any(shown(duel) for duel in every):
        between = f"between any of the {len(group.loadings)} loadings"
        if _swept(group):
            between = f"in any of {len(every)} pairs of neighbours and conditions"
        return [f"no difference shown {between}", *out]
    chosen = [duel for duel in every if shown(duel)] if _swept(group) else _steps(group, event)
    sentences = [_sentence(group, duel) for duel in chosen[:MOST_SENTENCES]]
    if len(chosen) > MOST_SENTENCES:
        sentences.append(f"a difference is shown in {len(chosen) - MOST_SENTENCES} pairs more")
    if _swept(group) and len(chosen) < len(every):
        others = len(every) - len(chosen)
        sentences.append(f"no difference shown in the other {others} of {len(every)} pairs")
    return [*sentences, *out]


def _steps(group: Group, event: Event) -> list[Duel]:
    """Each loading of a ranking against the next one that is compared with it."""
    by_pair = {(duel.a, duel.b): duel for duel in duels(group, event)}
    steps = (
        by_pair.get((min(better, worse), max(better, worse)))
        for better, worse in pairwise(ranking(group, event))
    )
    return [duel for duel in steps if duel]


def _sentence(group: Group, duel: Duel) -> str:
    """What a comparison came to."""
    names = [group.loadings[i].name for i in (duel.a, duel.b)]
    both = "" if shown(duel) else f"{' and '.join(names)}: "
    return both + verdict(duel, *names) + _p(duel)


def ranking_of(groups: Sequence[Group], event: Event) -> list[Block]:
    """The order of the loadings under each circumstance, and every pair of them compared."""
    compared = _compared(groups)
    if not compared:
        return [_nothing(groups)]
    blocks: list[Block] = [Paragraph(words.MEANING_OF_RANKING[event])]
    for group in compared[:MOST_GROUPS]:
        if len(groups) > 1:
            blocks.append(Heading(group.circumstances))
        blocks += [_order(group, event), *_duels(group, event)]
    return [*blocks, *_left_out(len(compared))]


def _nothing(groups: Sequence[Group]) -> Paragraph:
    every = [loading for group in groups for loading in group.loadings]
    if all(without_result(loading.ds, loading.case) for loading in every):
        return Paragraph(UNSOLVED)
    return Paragraph(ALONE if any(group.random for group in groups) else CERTAIN)


def _compared(groups: Sequence[Group]) -> list[Group]:
    """The groups in which there is something to compare."""
    return [group for group in groups if sum(each.random for each in group.loadings) > 1]


def _left_out(count: int) -> list[Block]:
    if count <= MOST_GROUPS:
        return []
    return [Paragraph(f"Shown: the first {MOST_GROUPS} of {count} circumstances.")]


def _p(duel: Duel) -> str:
    """The p-values of a comparison in brackets; nothing where no storm is common."""
    if not met(duel.pair):
        return ""
    raw, raised = (
        "p < 0.001" if p < 0.001 else f"p = {p:.2g}" for p in (duel.comparison.p_value, duel.p_holm)
    )
    return f" ({raw}; after Holm {raised})"


def _chance(group: Group, i: int, event: Event) -> Row:
    """The probability of the event for a loading, with its limits."""
    loading, name = group.loadings[i], f"{event}_probability"
    return {
        f"{name}{part}": cases.number(loading.ds, f"{name}{part}", case=loading.case)
        for part in LIMITS
    }


def _order(group: Group, event: Event) -> Table:
    """The loadings from the safest on, each with the interval of its probability."""
    order = ranking(group, event)
    rows = [_chance(group, i, event) for i in order]
    columns = [
        Column("place", [str(i + 1) for i in range(len(order))]),
        Column("loading", [group.loadings[i].name for i in order], words=True),
        cells.chance(rows, f"{event} probability", f"{event}_probability"),
    ]
    reasons = [left_out(group.loadings[i]) for i in order]
    if any(reasons):
        columns.append(Column("last because", reasons, words=True))
    caption = f"Loadings from the safest on, by the {event} probability; {_limits(group, event)}."
    return Table(caption, columns)


def _limits(group: Group, event: Event) -> str:
    """The limits whose passing is the event, of every result that has a part in it."""
    every = {id(each.ds): each.ds for each in group.loadings}.values()
    return " / ".join(dict.fromkeys(cases.limits_text(ds, event) for ds in every))


def _duels(group: Group, event: Event) -> list[Block]:
    """Every comparison, loadings next to each other in the ranking first."""
    place = {loading: i for i, loading in enumerate(ranking(group, event))}
    every = sorted(duels(group, event), key=lambda d: (abs(place[d.a] - place[d.b]), place[d.a]))
    kept = every[:MOST_DUELS]
    rows = [duel_row(duel) for duel in kept]
    columns = [
        Column("A", [group.loadings[duel.a].name for duel in kept], words=True),
        Column("B", [group.loadings[duel.b].name for duel in kept], words=True),
        cells.counts(rows, "only_a", f"only A {VERBS[event]}"),
        cells.counts(rows, "only_b", f"only B {VERBS[event]}"),
        *(cells.counts(rows, name) for name in ("both", "neither", "left_out")),
        cells.chance(rows, "P(A) − P(B)", "difference"),
        *cells.p_values(rows),
        Column("in words", [verdict(duel, "A", "B") for duel in kept], words=True),
    ]
    verb = VERBS[event]
    caption = f"Pairs in common storms: in how many of them which {verb}; {_limits(group, event)}."
    table = Table(caption, columns)
    if len(kept) == len(every):
        return [table]
    note = f"Shown: {MOST_DUELS} of {len(every)} pairs, those next in the ranking first."
    return [table, Paragraph(note)]
