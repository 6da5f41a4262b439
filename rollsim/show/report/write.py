"""The report: one HTML file that compares loading conditions and says how surely."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Sequence
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING

from markupsafe import Markup

from rollsim.cautions import CAUTION, LOLL_WARNING
from rollsim.measures.outcome import Event
from rollsim.show.figures.exceedance import by_chance, exceedance_figure
from rollsim.show.figures.loading import loading_figure
from rollsim.show.figures.stability import stability_figure
from rollsim.show.figures.storms import storm_figure
from rollsim.show.figures.sweep import sweep_figure
from rollsim.show.html import asset, digest, render
from rollsim.show.query import cases
from rollsim.show.query.lineup import Group, Source, line_up, worst_storms
from rollsim.show.query.loading import stored
from rollsim.show.report import severity, words
from rollsim.show.report.blocks import Block, Heading, Items, Paragraph, Section, Verbatim
from rollsim.show.report.criteria import criteria_of
from rollsim.show.report.inputs import inputs_of
from rollsim.show.report.ranking import findings, ranking_of
from rollsim.show.report.svg import picture
from rollsim.show.report.tables import (
    extremes_of_groups,
    loading_of,
    margins_of,
    provenance_of,
    rolling_of,
    statics_of,
)
from rollsim.store.disk import replacing

if TYPE_CHECKING:
    import xarray as xr

MOST_STORMS = 3
MOST_CASES_DRAWN = 200
"""Cases above which the picture of margins would be too small to read."""
MOST_CHARACTERS = 20_000
"""How much of a scenario's text is printed."""


def source_of(path: Path, ds: xr.Dataset) -> Source:
    """A result that was read from `path`, with the digest by which its file can be known."""
    with path.open("rb") as file:
        return Source(ds, path.name, hashlib.file_digest(file, "sha256").hexdigest())


def write_report(
    path: Path, sources: Sequence[Source], event: Event | None = None, *, loadings: bool = False
) -> None:
    """Write the report on the results to `path`, in one step; `loadings` draws their sheets."""
    whole = report(sources, event, loadings=loadings)
    with replacing(path) as part:
        part.write_text(whole, encoding="utf-8", newline="\n")


def report(sources: Sequence[Source], event: Event | None = None, *, loadings: bool = False) -> str:
    """The report on one or several results as HTML; equal results give equal bytes.

    Rates, comparisons and ranking are of the `event`, by default failure where any of the results
    has a roll or flooding limit.
    """
    style = asset("report", "style.css")
    titles = list(dict.fromkeys(cases.title(source.ds) or _name(source) for source in sources))
    return render(
        "report",
        "report.html",
        style=Markup(style),
        style_digest=digest(style),
        titles=titles,
        about=_about(sources),
        cautions=[CAUTION, *([LOLL_WARNING] if _any_loll(sources) else [])],
        sections=_sections(sources, event or _event(sources), loadings),
    )


def _event(sources: Sequence[Source]) -> Event:
    """The event that the results are about: failure where any of them counts failures."""
    events = {cases.event_of(source.ds) for source in sources}
    return "failure" if "failure" in events else "capsize"


def _sections(sources: Sequence[Source], event: Event, loadings: bool) -> list[Section]:
    groups = line_up(sources)
    meaning = [Paragraph(words.MEANING_OF_MARGINS)]
    if any(group.random for group in groups):
        meaning.append(Paragraph(words.meaning_of_chances(event)))
    margins = _each(sources, lambda source, name: _margins(source, name, event))
    at_rest = [*_each(sources, _statics), Paragraph(words.MEANING_OF_STATICS)]
    return [
        Section("Findings", [*severity.headline(groups), *findings(groups, event)]),
        Section("Inputs", _each(sources, lambda source, _: inputs_of(source.ds))),
        *_loading(sources, loadings),
        Section("At rest", at_rest),
        *criteria_of([(_name(source), source.ds) for source in sources]),
        *severity.sections(sources, groups),
        Section("Margins and probabilities", [*margins, *meaning]),
        *_exceedance(groups),
        Section("Ranking with its uncertainty", ranking_of(groups, event)),
        *_storms(groups),
        Section("Limits of the model", [Items(words.LIMITS_OF_THE_MODEL)]),
        Section("Provenance", [*_each(sources, _provenance), _maker()]),
    ]


def _loading(sources: Sequence[Source], drawn: bool) -> list[Section]:
    """The loading sheets, where any of the results carries some, and in pictures if `drawn`."""

    def sheets(source: Source, name: str) -> Sequence[Block]:
        tables, records = loading_of(source.ds), stored(source.ds)
        if not (drawn and records):
            return tables
        caption = "Where the masses lie, what free surfaces take, and the height of M."
        return [*tables, picture(loading_figure(records, ""), f"{name}-loading", caption)]

    blocks = _each(sources, sheets)
    some = any(not isinstance(block, Heading) for block in blocks)
    return [Section("Loading", blocks)] if some else []


def _any_loll(sources: Sequence[Source]) -> bool:
    return any(cases.has_loll(s.ds, range(s.ds.sizes["case"])) for s in sources)


def _about(sources: Sequence[Source]) -> str:
    """How much the report is about, and from where."""
    count = sum(source.ds.sizes["case"] for source in sources)
    runs = sum(source.ds.sizes["case"] * source.ds.sizes["realisation"] for source in sources)
    numbers = f"{count} case{'s' * (count != 1)}, {runs} run{'s' * (runs != 1)}"
    return f"{numbers} from {', '.join(_name(source) for source in sources)}"


def _each(sources: Sequence[Source], part: Callable[[Source, str], Sequence[Block]]) -> list[Block]:
    """A part for every result, each under the name of its file where there are several."""
    blocks: list[Block] = []
    for i, source in enumerate(sources):
        if len(sources) > 1:
            blocks.append(Heading(_name(source)))
        blocks += part(source, f"result{i}")
    return blocks


def _name(source: Source) -> str:
    """What a source is called."""
    return source.name or "a result in memory"


def _statics(source: Source, name: str) -> list[Block]:
    drawn = stability_figure(source.ds)
    caption = "Righting levers, dynamical stability, and how M and B move with heel."
    return [*statics_of(source.ds), picture(drawn, f"{name}-rest", caption)]


def _margins(source: Source, name: str, event: Event) -> list[Block]:
    count = source.ds.sizes["case"]
    blocks = [*margins_of(source.ds, event), *rolling_of(source.ds)]
    if 1 < count <= MOST_CASES_DRAWN:
        drawn = sweep_figure(source.ds, event)
        blocks.append(picture(drawn, f"{name}-margins", "Margins over the study."))
    elif count > 1:
        blocks.append(Paragraph(f"More than {MOST_CASES_DRAWN} cases are not drawn."))
    return blocks


def _exceedance(groups: Sequence[Group]) -> list[Section]:
    """The exceedance curves; no section where nothing is random."""
    random = by_chance(groups)
    if not random:
        return []
    caption = "Probability that one run rolls beyond an angle to either side."
    drawn = picture(exceedance_figure(random), "exceedance", caption)
    return [Section("Greatest roll of a run", [drawn, *extremes_of_groups(random)])]


def _storms(groups: Sequence[Group]) -> list[Section]:
    """The worst storms in pictures, as far as their histories are kept."""
    drawn: list[Block] = []
    for i, storm in enumerate(worst_storms(groups, MOST_STORMS)):
        group = groups[storm.group]
        figure = storm_figure(group, storm.realisation)
        if figure is not None:
            caption = (
                f"Realisation {storm.realisation}, {group.circumstances}: {storm.capsized} of "
                f"{len(group.loadings)} loadings capsized, {storm.failed} passed a limit."
            )
            drawn.append(picture(figure, f"storm{i}", caption))
    if not drawn:
        drawn.append(Paragraph(words.NO_HISTORY))
    if not any(group.random for group in groups):
        return [Section("The roll in time", drawn)]
    return [Section("Worst storms", [Paragraph(words.MEANING_OF_STORMS), *drawn])]


def _provenance(source: Source, _: str) -> list[Block]:
    written = str(source.ds.attrs.get("scenario_text", ""))
    cut = written[:MOST_CHARACTERS]
    blocks: list[Block] = [provenance_of(source)]
    blocks.append(Verbatim("The scenario as the result holds it", cut))
    if len(written) > len(cut):
        more = f"Only the first {MOST_CHARACTERS} of {len(written)} characters"
        blocks.append(Paragraph(f"{more}; the result holds all."))
    return blocks


def _maker() -> Paragraph:
    return Paragraph(
        f"Report made by rollsim {version('rollsim')} from nothing but the named results. {CAUTION}"
    )
