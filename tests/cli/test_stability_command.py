"""`stability`: what it prints, draws, and gives to programs."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

from cli_samples import Command, held, put

from rollsim.cautions import CAUTION, LOLL_WARNING


def test_stability_prints_and_draws_the_ship_at_rest(rollsim: Command, tmp_path: Path) -> None:
    put(tmp_path)
    said = rollsim("stability", "coaster.toml")
    assert said.code == 0
    for words in ("GM [m]", "loll P / S", "vanishing P / S", "static heel", "area under GZ",
                  " stable", " unstable", CAUTION[:40], LOLL_WARNING[:40]):  # fmt: skip
        assert words in said.out
    assert "drew results/coaster-stability.png" in said.err
    assert held(tmp_path) == ["coaster.toml", "results", "results/coaster-stability.png"]


def test_stability_refuses_a_kind_of_picture_before_it_prints(
    rollsim: Command, tmp_path: Path
) -> None:
    put(tmp_path)
    said = rollsim("stability", "coaster.toml", "-o", "coaster.jpg")
    assert (said.code, said.out, held(tmp_path)) == (2, "", ["coaster.toml"])
    assert "coaster.jpg: no kind of picture\n  allowed: .png, .svg, .pdf" in said.err


def test_stability_as_json_and_csv_is_for_programs(rollsim: Command, tmp_path: Path) -> None:
    put(tmp_path)
    said = rollsim("stability", "coaster.toml", "--json")
    assert (said.code, said.err, held(tmp_path)) == (0, "", ["coaster.toml"])
    cases = json.loads(said.out)["cases"]
    assert [(case["case"], case["kg_m"]) for case in cases][:2] == [(0, 5.1), (1, 5.7)]
    kinds = [place["kind"] for place in cases[0]["equilibria"]]
    assert "stable" in kinds
    said = rollsim("stability", "coaster.toml", "--csv")
    rows = list(csv.DictReader(io.StringIO(said.out)))
    assert float(rows[1]["greatest_gz_m"]) == cases[1]["greatest_gz_m"]
    assert rows[1]["caution"].startswith(CAUTION)
    both = rollsim("stability", "coaster.toml", "--json", "--csv")
    assert (both.code, both.out) == (2, "")
    assert "--json and --csv at once: take one of them" in both.err
