"""The report: one HTML file that compares loading conditions and says how surely."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Sequence
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING

from rollsim.cautions import CAUTION, LOLL_WARNING
from rollsim.show.figures.exceedance import exceedance_figure
from rollsim.show.figures.stability import stability_figure
from rollsim.show.figures.storms import storm_figure
from rollsim.show.figures.sweep import sweep_figure
from rollsim.show.query import cases
from rollsim.show.query.lineup import Group, Source, line_up, worst_storms
from rollsim.show.report import words as report_words
from rollsim.show.report.html import Markup, join, page, paragraph, section, tag, verbatim
from rollsim.show.report.inputs import inputs_of
from rollsim.show.report.ranking import findings, ranking_of
from rollsim.show.report.svg import picture
from rollsim.show.report.tables import margins_of, provenance_of, statics_of
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


def write_report(path: Path, sources: Sequence[Source]) -> None:
    """Write the report on the results to `path`, in one step."""
    whole = report(sources)
    with replacing(path) as part:
        part.write_text(whole, encoding="utf-8", newline="\n")


def report(sources: Sequence[Source]) -> str:
    """The report on one or several results as HTML; equal results give equal bytes."""
    groups = line_up(sources)
    titles = list(dict.fromkeys(cases.title(source.ds) or _name(source) for source in sources))
    title = " / ".join(titles)
    return page(
        f"Comparison of loading conditions: {title}",
        _head(sources, titles),
        section("Findings", findings(groups)),
        section("Inputs", *_each(sources, lambda source, _: inputs_of(source.ds))),
        section("At rest", *_each(sources, _statics), paragraph(report_words.MEANING_OF_STATICS)),
        section("Margins and probabilities", *_each(sources, _margins), *_meaning(groups)),
        *_exceedance(groups),
        section("Ranking with its uncertainty", ranking_of(groups)),
        *_storms(groups),
        section("Limits of the model", _list(report_words.LIMITS_OF_THE_MODEL)),
        section("Provenance", *_each(sources, _provenance), _maker()),
    )


def _head(sources: Sequence[Source], titles: Sequence[str]) -> Markup:
    """Title, what the report is about, and the cautions, where nobody can miss them."""
    loll = any(cases.has_loll(s.ds, range(s.ds.sizes["case"])) for s in sources)
    count = sum(source.ds.sizes["case"] for source in sources)
    runs = sum(source.ds.sizes["case"] * source.ds.sizes["realisation"] for source in sources)
    about = f"{count} case{'s' * (count != 1)}, {runs} run{'s' * (runs != 1)}"
    warnings = [tag("p", CAUTION, class_="caution", role="note")]
    if loll:
        warnings.append(tag("p", LOLL_WARNING, class_="caution", role="note"))
    return tag(
        "header",
        tag("p", "Comparison of loading conditions", class_="kind"),
        *(tag("h1", title) for title in titles),
        tag("p", f"{about} from {', '.join(_name(source) for source in sources)}"),
        *warnings,
    )


def _each(sources: Sequence[Source], part: Callable[[Source, str], Markup]) -> list[Markup]:
    """A part for every result, each under the name of its file where there are several."""
    found = []
    for i, source in enumerate(sources):
        if len(sources) > 1:
            found.append(tag("h3", _name(source)))
        found.append(part(source, f"result{i}"))
    return found


def _name(source: Source) -> str:
    """What a source is called."""
    return source.name or "a result in memory"


def _statics(source: Source, name: str) -> Markup:
    drawn = stability_figure(source.ds)
    words = "Righting levers, dynamical stability, and how M and B move with heel."
    return join([statics_of(source.ds), picture(drawn, f"{name}-rest", words)])


def _margins(source: Source, name: str) -> Markup:
    count = source.ds.sizes["case"]
    parts = [margins_of(source.ds)]
    if 1 < count <= MOST_CASES_DRAWN:
        words = "Margins over the study."
        parts.append(picture(sweep_figure(source.ds), f"{name}-margins", words))
    elif count > 1:
        parts.append(paragraph(f"More than {MOST_CASES_DRAWN} cases are not drawn."))
    return join(parts)


def _meaning(groups: Sequence[Group]) -> list[Markup]:
    words = [report_words.MEANING_OF_MARGINS]
    if any(group.random for group in groups):
        words.append(report_words.MEANING_OF_CHANCES)
    return [paragraph(said) for said in words]


def _exceedance(groups: Sequence[Group]) -> list[Markup]:
    """The exceedance curves; no section where nothing is random."""
    random = [group for group in groups if group.random]
    if not random:
        return []
    words = "Probability that one run rolls beyond an angle to either side."
    drawn = picture(exceedance_figure(random), "exceedance", words)
    return [section("Exceedance of the greatest roll", drawn)]


def _storms(groups: Sequence[Group]) -> list[Markup]:
    """The worst storms in pictures, as far as their histories are kept."""
    drawn = []
    for i, storm in enumerate(worst_storms(groups, MOST_STORMS)):
        group = groups[storm.group]
        figure = storm_figure(group, storm.realisation)
        if figure is not None:
            words = (
                f"Realisation {storm.realisation}, {group.circumstances}: {storm.capsized} of "
                f"{len(group.loadings)} loadings capsized, {storm.failed} passed a limit."
            )
            drawn.append(picture(figure, f"storm{i}", words))
    if not drawn:
        drawn = [
            paragraph(
                "The results keep no history of the worst storms: rollsim replay makes any run "
                "again, and [output] histories keeps more."
            )
        ]
    if not any(group.random for group in groups):
        return [section("The roll in time", *drawn)]
    return [section("Worst storms", paragraph(report_words.MEANING_OF_STORMS), *drawn)]


def _provenance(source: Source, _: str) -> Markup:
    written = str(source.ds.attrs.get("scenario_text", ""))
    cut = written[:MOST_CHARACTERS]
    more = (
        f"Only the first {MOST_CHARACTERS} of {len(written)} characters; the result holds all."
        if len(written) > len(cut)
        else ""
    )
    parts = [provenance_of(source), tag("h4", "The scenario as the result holds it"), verbatim(cut)]
    return join([*parts, paragraph(more)] if more else parts)


def _maker() -> Markup:
    return paragraph(
        f"Report made by rollsim {version('rollsim')} from nothing but the named results. {CAUTION}"
    )


def _list(items: Sequence[str]) -> Markup:
    return tag("ul", *(tag("li", item) for item in items))
