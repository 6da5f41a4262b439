"""`rollsim report`: where the report goes, and what is refused."""

from __future__ import annotations

from pathlib import Path

import pytest

import rollsim
from rollsim.cli.main import run

SCENARIO = """
format = 1
title = "three <b>storms</b>"
[ship]
name = "Marit"
length_m = 84.0
beam_m = 14.0
draught_m = 5.2
displacement_t = 4250.0
levers = { kind = "wall-sided", km_m = 5.7, bm_m = 2.9, heel_max_deg = 50.0 }
gravity = { kg_m = 5.2 }
inertia = { gyradius_m = 5.3 }
[limits]
roll_deg = 6.0
[sea]
kind = "irregular"
spectrum = "bretschneider"
significant_height_m = 4.0
peak_period_s = 9.0
[run]
duration_s = 30.0
realisations = 3
"""


@pytest.fixture
def result(tmp_path: Path) -> Path:
    """A result of one case in three storms."""
    rollsim.loads(SCENARIO).run(tmp_path / "a.nc", workers=1).close()
    return tmp_path / "a.nc"


def test_report_stands_beside_the_result(result: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["report", str(result)]) == 0
    made = result.with_name("a-report.html")
    assert capsys.readouterr().out == f"{made}\n"
    text = made.read_text(encoding="utf-8")
    assert "three &lt;b&gt;storms&lt;/b&gt;" in text
    assert "a.nc" in text


def test_several_results_make_one_report(result: Path, tmp_path: Path) -> None:
    other = SCENARIO.replace("kg_m = 5.2", "kg_m = 5.5")
    rollsim.loads(other).run(tmp_path / "b.nc", workers=1).close()
    out = tmp_path / "new" / "both.html"
    assert run(["report", str(result), str(tmp_path / "b.nc"), "-o", str(out)]) == 0
    text = out.read_text(encoding="utf-8")
    assert "Pairs in common storms: in how many of them which failed; " in text
    assert "2 cases, 6 runs from a.nc, b.nc" in text


def test_only_an_html_file_is_written(result: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = result.read_bytes()
    assert run(["report", str(result), "-o", str(result)]) == 2
    assert "give it a name that ends in .html" in capsys.readouterr().err
    assert result.read_bytes() == before


def test_what_is_no_result_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["report", str(tmp_path / "none.nc")]) == 2
    assert "cannot be read" in capsys.readouterr().err
    assert run(["report"]) == 2
    assert "Missing argument 'RESULT...'" in capsys.readouterr().err
