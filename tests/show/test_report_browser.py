"""The report in a browser: its policy lets its own style through and nothing else happens."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
import xarray as xr
from page_browser import Browser, find_chromium
from report_samples import HOSTILE
from severity_samples import with_factors
from show_samples import build

import rollsim
from rollsim.show.query.lineup import Source
from rollsim.show.report.write import write_report


@pytest.fixture(scope="module")
def report(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A report on a result whose texts are hostile."""
    path = tmp_path_factory.mktemp("report") / "report.html"
    ds = build([HOSTILE, "b"], realisations=6, title=HOSTILE)
    ds.attrs["scenario_text"] = f"title = '''{HOSTILE}'''\n"
    write_report(path, [Source(ds, HOSTILE)])
    return path


@pytest.fixture(scope="module")
def opened(report: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Browser]:
    """The report, opened."""
    held = Browser(find_chromium(), tmp_path_factory.mktemp("profile"))
    held.open(report)
    yield held
    held.close()


def test_nothing_is_fetched_and_nothing_complained_of(opened: Browser, report: Path) -> None:
    assert opened.problems() == []
    assert opened.requests() == [report.as_uri()]


def test_no_text_of_a_file_has_become_an_element(opened: Browser) -> None:
    assert opened.run("document.querySelectorAll('script, img, iframe, object, a').length") == 0
    assert opened.run("document.title").startswith("Comparison of loading conditions: </title>")


def test_its_own_style_holds(opened: Browser) -> None:
    assert opened.run("getComputedStyle(document.querySelector('.caution')).fontWeight") == "700"
    assert opened.run("getComputedStyle(document.querySelector('.number')).textAlign") == "right"


def test_pictures_fill_the_width_and_nothing_sticks_out(opened: Browser) -> None:
    widths = opened.run(
        "[...document.querySelectorAll('svg')].map(s => s.getBoundingClientRect().width)"
    )
    assert len(widths) > 3
    assert all(width > 1000 for width in widths)
    assert opened.run("document.documentElement.scrollWidth <= window.innerWidth")


def test_three_conditions_with_criteria_print_on_six_sheets(
    opened: Browser, tmp_path: Path
) -> None:
    study = rollsim.load("scenarios/criteria-coaster.toml")
    with study.run(tmp_path / "a.nc", workers=1) as ds:
        write_report(tmp_path / "report.html", [Source(ds, "a.nc", "0" * 64)])
    opened.open(tmp_path / "report.html")
    assert 4 <= opened.paper().count(b"/Type /Page\n") <= 6


@pytest.mark.parametrize("made", [build, with_factors])
def test_three_conditions_print_on_six_sheets_at_most(
    made: Callable[..., xr.Dataset], opened: Browser, tmp_path: Path
) -> None:
    """With severity factors too: two pictures and two tables more."""
    ds = made(realisations=40)
    ds.attrs["scenario_text"] = Path("scenarios/beam-gale.toml").read_text(encoding="utf-8")
    write_report(tmp_path / "report.html", [Source(ds, "a.nc", "0" * 64)])
    opened.open(tmp_path / "report.html")
    paper = opened.paper()
    assert paper.startswith(b"%PDF")
    assert 2 <= paper.count(b"/Type /Page\n") <= 6
