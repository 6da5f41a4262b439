"""`rollsim check --accuracy`: the step of each case, and how far half of it moves the roll."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from study_files import CONDITIONS, STORM, scenario, written

from rollsim.cli.main import run
from rollsim.store.reading import open_result

RUN = "duration_s = 120.0\nrealisations = 4\n"
LINE = re.compile(r"^  case (\d+): step ([\d.e-]+) s, ([\d.e-]+)°", re.MULTILINE)


def told(text: str, folder: Path, capsys: pytest.CaptureFixture[str]) -> str:
    """What the command says of a scenario."""
    assert run(["check", "--accuracy", str(written(folder, text))]) == 0
    return capsys.readouterr().out


def found(text: str, folder: Path, capsys: pytest.CaptureFixture[str]) -> list[tuple[float, float]]:
    """Step [s] and difference [degree] of each case, as the command says them."""
    rows = LINE.findall(told(text, folder, capsys))
    assert [int(case) for case, _, _ in rows] == list(range(len(rows)))
    return [(float(step), float(difference)) for _, step, difference in rows]


def test_every_case_has_a_line_with_step_and_difference(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rows = found(scenario(RUN), tmp_path, capsys)
    assert len(rows) == 2
    for step, difference in rows:
        assert 0.0 < step <= 0.5
        assert 0.0 < difference < 0.01
    assert "requested: 0.01°" in told(scenario(RUN), tmp_path, capsys)


def test_a_finer_accuracy_takes_a_smaller_step_and_errs_less(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    sea = STORM.replace("significant_height_m = 5.0", "significant_height_m = 1.0")
    rows = [
        found(scenario(f"{RUN}accuracy_deg = {degrees}\n", sea=sea, more=""), tmp_path, capsys)[0]
        for degrees in (1e-2, 1e-3)
    ]
    steps, differences = zip(*rows, strict=True)
    assert list(steps) == sorted(set(steps), reverse=True)
    assert list(differences) == sorted(set(differences), reverse=True)
    assert differences[0] < 1e-2
    assert differences[1] < 1e-3


def test_a_scipy_method_has_no_step_to_halve(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    said = told(scenario(f'{RUN}method = "DOP853"\n'), tmp_path, capsys)
    lines = [line for line in said.splitlines() if line.startswith("  case ")]
    assert len(lines) == 2
    assert all("a scipy method" in line for line in lines)
    assert not LINE.findall(said)


def test_without_the_option_nothing_is_run(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("rollsim.engines.registry.engine_for", None)
    assert run(["check", str(written(tmp_path, scenario(RUN)))]) == 0
    said = capsys.readouterr().out
    assert "2 cases x 4 realisations = 8 runs" in said
    assert "half the step" not in said


def test_a_calm_sea_is_compared_too(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    calm = '[sea]\nkind = "calm"\n[start]\nroll_deg = 10.0\n'
    ((step, difference),) = found(scenario(RUN, sea=calm, more=""), tmp_path, capsys)
    assert step > 0.0
    assert 0.0 < difference < 0.01


@pytest.mark.parametrize("degrees", [0.01, 0.001])
def test_the_result_states_the_same_step(
    degrees: float, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = scenario(f"{RUN}accuracy_deg = {degrees}\n", more=CONDITIONS)
    steps = [step for step, _ in found(text, tmp_path, capsys)]
    out = tmp_path / "result.nc"
    assert run(["run", str(tmp_path / "trial.toml"), "-o", str(out), "--no-plots"]) == 0
    with open_result(out) as ds:
        assert ds.attrs["accuracy_deg"] == degrees
        assert ds.attrs["block_step_s"] == pytest.approx(min(steps), rel=5e-3)
