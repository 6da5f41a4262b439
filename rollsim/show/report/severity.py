"""The severity factors in a report: the headline, the loadings compared, the weakest storms."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from rollsim.show.figures.severity import fragility_of, searched, severity_of
from rollsim.show.query import cases, severity
from rollsim.show.query.lineup import Group, Loading, Source
from rollsim.show.report.blocks import Block, Heading, Items, Paragraph, Section, Table, by_case
from rollsim.show.report.svg import picture
from rollsim.show.tables import cells
from rollsim.show.tables import severity as tables
from rollsim.show.tables.columns import Column
from rollsim.show.tables.summary import static_row

if TYPE_CHECKING:
    import xarray as xr

MOST_GROUPS = 12
MOST_ROWS = 60
MOST_PAIRS = 45

MEANING = (
    "A search takes each storm as it is and multiplies its weather until she first fails: an "
    "incremental dynamic analysis (Vamvatsikos and Cornell, Earthquake Engng Struct. Dyn. 31, "
    "2002, 491). Factors are tried in steps below 5 % and then refined to 0.3 %; narrower failures "
    "below are not sought. The median and the 5 % quantile over the storms have limits by order "
    "statistics, which hold whatever the distribution is; a dash stands where there are too few "
    "storms for one (the lower limit of the 5 % quantile needs 72). Ratios compare two loadings "
    "storm by storm. A factor is no forecast: waves made higher keep their period and shape, which "
    "seas do not."
)


def headline(groups: Sequence[Group]) -> list[Block]:
    """The margin of every loading, and which of them stands more; nothing without factors."""
    found = searched(groups)
    if not found:
        return []
    asked = severity.asked(found[0].loadings[0].ds)
    assert asked is not None
    items = []
    for group in found[:MOST_GROUPS]:
        prefix = f"{group.circumstances}: " if len(groups) > 1 else ""
        items += [prefix + _margin(each) for each in group.loadings[:MOST_GROUPS]]
        items += [prefix + sentence for sentence in _ratios(group)]
    return [Paragraph(asked.meaning), Items(items)]


def _margin(loading: Loading) -> str:
    """The margin of a loading in a sentence."""
    asked = severity.asked(loading.ds)
    assert asked is not None
    middle = severity.middle(loading.ds, loading.case)
    if not severity.is_random(loading.ds, loading.case):
        return f"{loading.name}: severity factor {severity.text(middle.value, asked.tried)}"
    low = severity.low(loading.ds, loading.case)
    return (
        f"{loading.name}: median severity factor {severity.quantile_text(middle, asked.tried)}, "
        f"{tables.LOW} quantile {severity.quantile_text(low, asked.tried)}"
    )


def _ratios(group: Group) -> list[str]:
    """What the ratios of factors show, a sentence for each pair that they tell apart."""
    sentences = []
    for pair in severity.compared(group)[:MOST_GROUPS]:
        a, b = (group.loadings[i].name for i in (pair.a, pair.b))
        ratio = severity.ratio_text(pair.ratio)
        sentences.append(f"{a} ÷ {b}: {ratio}, {pair.words(a, b)}")
    return sentences


def sections(sources: Sequence[Source], groups: Sequence[Group]) -> list[Section]:
    """The section on severity factors; none without any."""
    found = searched(groups)
    if not found:
        return []
    blocks: list[Block] = [Paragraph(MEANING)]
    for source in sources:
        if severity.asked(source.ds):
            if len(sources) > 1:
                blocks.append(Heading(source.name or "a result in memory"))
            blocks += _of(source.ds)
    blocks += _compared(found)
    random = [group for group in found if group.random]
    if random:
        caption = "The share of storms in which she has failed, over the factor on the weather."
        blocks.append(picture(severity_of(random), "severity", caption))
        caption = (
            "Fragility: the probability of failing in one run, over the severity of its weather."
        )
        blocks.append(picture(fragility_of(random), "fragility", caption))
    return [Section("Severity factors", blocks)]


def _of(ds: xr.Dataset) -> list[Block]:
    """The factors of a result by case, and its weakest storms by name."""
    count = ds.sizes["case"]
    rows = [static_row(ds, i) | tables.severity_row(ds, i) for i in range(min(count, MOST_ROWS))]
    blocks: list[Block] = [
        by_case("Severity factors with 95 % limits.", cells.key(ds, rows), tables.columns(ds, rows))
    ]
    if len(rows) < count:
        words = f"Shown: the first {len(rows)} of {count}; rollsim summary --csv writes all cases."
        blocks.append(Paragraph(words))
    return [*blocks, _weakest(ds, range(len(rows)))]


def _weakest(ds: xr.Dataset, chosen: Sequence[int]) -> Table:
    """The weakest storms of every case by name."""
    asked = severity.asked(ds)
    assert asked is not None
    runs = [run for case in chosen for run in severity.weakest(ds, [case], tables.WEAKEST)][
        :MOST_ROWS
    ]
    columns = [
        Column("case", [cases.case_label(ds, run.case, chosen) for run in runs], words=True),
        Column(
            "realisation", [str(cases.number_of(ds, "realisation", r.realisation)) for r in runs]
        ),
        Column("severity factor", [severity.text(run.factor, asked.tried) for run in runs]),
        Column("islands above it", [str(run.islands) for run in runs]),
    ]
    caption = (
        f"The {tables.WEAKEST} weakest storms of each case; islands are groups of factors above "
        "it at which she survives again (structural resurrection)."
    )
    return Table(caption, columns)


def _compared(groups: Sequence[Group]) -> list[Block]:
    """Every pair of loadings by the ratio of their factors."""
    blocks: list[Block] = []
    for group in groups[:MOST_GROUPS]:
        pairs = severity.compared(group)[:MOST_PAIRS]
        if not pairs:
            continue
        if len(groups) > 1:
            blocks.append(Heading(group.circumstances))
        columns = [
            Column("A", [group.loadings[pair.a].name for pair in pairs], words=True),
            Column("B", [group.loadings[pair.b].name for pair in pairs], words=True),
            *tables.pair_columns(pairs),
        ]
        caption = (
            "Ratio of the severity factors in common storms: the median with distribution-free "
            "95 % limits, each pair by itself."
        )
        blocks.append(Table(caption, columns))
    return blocks
