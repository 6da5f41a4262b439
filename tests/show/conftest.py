"""What the tests of tables and pictures share."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import matplotlib as mpl
import pytest
import xarray as xr
from live_samples import opened as opened_live
from page_browser import Browser, find_chromium
from page_samples import HOSTILE, wall_sided
from show_samples import Make, build

from rollsim.show.page.data import Chosen
from rollsim.show.page.write import write_page
from rollsim.store.reading import open_result


@pytest.fixture
def make() -> Make:
    """A maker of studies."""
    return build


@pytest.fixture
def study() -> xr.Dataset:
    """Three conditions, two realisations, no sweep."""
    return build()


@pytest.fixture(autouse=True)
def untouched_style() -> Iterator[None]:
    """No drawing may leave settings behind."""
    before = dict(mpl.rcParams)
    yield
    assert dict(mpl.rcParams) == before


@pytest.fixture(scope="module")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Browser]:
    """A browser with an empty profile."""
    held = Browser(find_chromium(), tmp_path_factory.mktemp("profile"))
    yield held
    held.close()


@pytest.fixture(scope="module")
def heights(tmp_path_factory: pytest.TempPathFactory) -> xr.Dataset:
    """The result of three heights of G; the second lolls."""
    return open_result(wall_sided(tmp_path_factory.mktemp("study") / "result.nc", HOSTILE, HOSTILE))


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory, heights: xr.Dataset) -> Path:
    """Its page."""
    path = tmp_path_factory.mktemp("page") / "page.html"
    write_page(path, [Chosen("result.nc", heights, [0, 1, 2], [0])])
    return path


@pytest.fixture
def opened(browser: Browser, page: Path) -> Iterator[Browser]:
    """The page, freshly opened; afterwards it must not have complained nor asked for anything."""
    browser.open(page)
    yield browser
    assert browser.problems() == []
    assert browser.requests() == [page.as_uri()]


@pytest.fixture
def live(browser: Browser, tmp_path: Path) -> Iterator[Browser]:
    """The live page of the sample ship; afterwards it must not have complained nor asked."""
    path = opened_live(browser, tmp_path)
    yield browser
    assert browser.problems() == []
    assert set(browser.requests()) <= {path.as_uri()}
