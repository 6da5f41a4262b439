"""What the tests of tables and pictures share."""

from __future__ import annotations

from collections.abc import Iterator

import matplotlib as mpl
import pytest
import xarray as xr
from show_samples import Make, build


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
