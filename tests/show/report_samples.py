"""What the tests of the report share: results with chosen outcomes, and a page taken apart."""

from __future__ import annotations

from collections.abc import Sequence
from html.parser import HTMLParser

import numpy as np
import xarray as xr
from show_samples import build

from rollsim.names import Outcome
from rollsim.show.query.lineup import Source
from rollsim.show.report.write import report

TEXT = """title = "a study"
[ship]
name = "Marit"
gravity = { kg_m = 5.3 }
[sea]
kind = "irregular"
[run]
duration_s = 240.0
seed = 7
[[conditions]]
name = "light"
"ship.gravity.kg_m" = 5.3
"""
HOSTILE = (
    "</title><script>alert(1)</script>\"'><img src=x onerror=alert(1)>&amp;$x^2$ ]]> --> \u202e"
)


def study(outcomes: Sequence[Sequence[int]], names: Sequence[str] = ("A", "B")) -> xr.Dataset:
    """A result of one case for each row of outcomes, its probabilities to match."""
    ds = build(names, realisations=len(outcomes[0]))
    ds["outcome"].values[:] = outcomes
    ds.attrs |= {"scenario_text": TEXT, "seed": np.int64(7), "method": "block"}
    failed = np.asarray(outcomes) >= Outcome.ROLL_LIMIT
    ds["failure_probability"].values[:] = failed.mean(axis=1)
    return ds


def split(both: int, only_a: int, only_b: int, neither: int) -> list[list[int]]:
    """The outcomes of A and B so that they fail in so many storms."""
    a = [4] * both + [4] * only_a + [1] * only_b + [1] * neither
    b = [4] * both + [1] * only_a + [4] * only_b + [1] * neither
    return [a, b]


class Parts(HTMLParser):
    """A page taken apart: its tags with their attributes, its text, its style sheet."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str]]] = []
        self.cells: list[list[str]] = []
        self.style = ""
        self._text: list[str] = []
        self._open: list[str] = []
        self.feed(page)

    @property
    def text(self) -> str:
        """All text, blanks run together."""
        return " ".join("".join(self._text).split())

    def attributes(self, name: str) -> list[str]:
        """The values of an attribute, in order."""
        return [held[name] for _, held in self.tags if name in held]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, {key: value or "" for key, value in attrs}))
        if tag != "meta":
            self._open.append(tag)
        if tag == "tr":
            self.cells.append([])
        if tag in ("td", "th"):
            self.cells[-1].append("")

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, {key: value or "" for key, value in attrs}))

    def handle_endtag(self, tag: str) -> None:
        assert self._open.pop() == tag, f"{tag} closes what is not open"

    def handle_data(self, data: str) -> None:
        if self._open[-1:] == ["style"]:
            self.style += data
            return
        self._text.append(data + " ")
        if any(tag in ("td", "th") for tag in self._open):
            self.cells[-1][-1] += data


def parts(*datasets: xr.Dataset, names: Sequence[str] = ()) -> Parts:
    """The report on results, taken apart."""
    named = names or [f"result{i}.nc" for i in range(len(datasets))]
    return Parts(
        report([Source(ds, name, "0" * 64) for ds, name in zip(datasets, named, strict=True)])
    )


def row(page: Parts, *beginning: str) -> list[str]:
    """The last row of any table whose cells begin like this."""
    return [cells for cells in page.cells if cells[: len(beginning)] == list(beginning)][-1]


def column(page: Parts, header: str, *beginning: str) -> str:
    """The cell under a header, in the first row that begins like this below such a header."""
    names: list[str] = []
    for cells in page.cells:
        if header in cells:
            names = cells
        elif names and len(cells) == len(names) and cells[: len(beginning)] == list(beginning):
            return cells[names.index(header)]
        elif len(cells) != len(names):
            names = []
    raise AssertionError(f"no {header} of {beginning}")
