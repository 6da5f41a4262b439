"""The researcher's scenarios of basins and responses: their words, and that they show them."""

from __future__ import annotations

import math
import re
from pathlib import Path

import numpy as np
import pytest

from rollsim.cli.main import run
from rollsim.scenario.load import load, loads
from rollsim.show.query.basins import profiles
from rollsim.steady.family import PERIOD
from rollsim.steady.search import Search
from rollsim.store.maps import open_map
from rollsim.study.basin import basin_to_file
from rollsim.study.plan import make_plan
from rollsim.study.warnings import warnings
from rollsim.study.workers import Where

FOLDER = Path(__file__).parents[2] / "scenarios" / "research"
FILES = ("basin-beam-sea", "hopping", "loll-map", "response-folded")


@pytest.mark.parametrize("stem", FILES)
def test_the_words_of_a_file(stem: str) -> None:
    file = FOLDER / f"{stem}.toml"
    text = file.read_text(encoding="utf-8")
    words = " ".join(
        line.lstrip("#").strip() for line in text.partition("format = 1")[0].splitlines()
    )
    assert "What to look at" in words
    assert "The ship and all her data are invented." in words
    assert f"scenarios/research/{stem}.toml" in words
    assert not warnings(make_plan(load(file)))


def test_the_basin_is_eroded_after_melnikov_s_estimate(tmp_path: Path) -> None:
    text = (FOLDER / "basin-beam-sea.toml").read_text(encoding="utf-8")
    coarse = text.replace("steps = 240", "steps = 48").replace("steps = 14", "steps = 7")
    path = tmp_path / "x.nc"
    assert basin_to_file(make_plan(loads(coarse)), path, where=Where(1))
    with open_map(path, "basin") as ds:
        (line,) = profiles(ds, "height")
        assert np.all(np.diff(line.share) < 0.03)
        assert line.share[0] > 0.97
        assert line.share[-1] < 0.5
        assert 1.5 < line.melnikov < line.falls < 3.5


def test_the_folded_response_has_three_rolls_between_its_folds() -> None:
    plan = make_plan(load(FOLDER / "response-folded.toml"))
    table = plan.study.base.response
    assert table is not None
    search = Search(plan.cases[0], PERIOD, table.from_, table.to)
    (branch,) = search.run()
    first, last = (special.point.value for special in search.specials("fold"))
    middle = 0.5 * (first + last)
    value = np.array([point.value for point in branch.points])
    passes = np.flatnonzero((value[:-1] - middle) * (value[1:] - middle) < 0.0)
    assert len(passes) == 3
    assert [branch.points[i].stable for i in passes] == [True, False, True]
    # It leans to longer periods, past that of her small rolls.
    top = max(branch.points, key=lambda point: point.course.amplitude)
    assert top.value > 10.2
    assert math.degrees(top.course.amplitude) > 15.0


@pytest.mark.slow
@pytest.mark.parametrize(
    ("stem", "command"), [("basin-beam-sea", "basin"), ("response-folded", "response")]
)
def test_the_command_of_the_file(stem: str, command: str, tmp_path: Path) -> None:
    """As its reader runs it, pictures included."""
    text = (FOLDER / f"{stem}.toml").read_text(encoding="utf-8")
    assert re.search(rf"rollsim {command} scenarios/research/{stem}\.toml", text)
    path = tmp_path / f"{stem}-{command}.nc"
    assert run([command, str(FOLDER / f"{stem}.toml"), "--out", str(path)]) == 0
    pictures = {file.name for file in tmp_path.glob("*.png")}
    more = {f"{stem}-basin-integrity.png"} if command == "basin" else set()
    assert pictures == {f"{stem}-{command}.png"} | more
