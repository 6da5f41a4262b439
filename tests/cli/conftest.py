"""What the tests of the commands share."""

from __future__ import annotations

from pathlib import Path

import pytest
from cli_samples import Command, Said, put

from rollsim.cli.main import run
from rollsim.scenario.load import load
from rollsim.study.plan import make_plan
from rollsim.study.run import Where, run_to_file


@pytest.fixture
def rollsim(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Command:
    """The command line in this process, in an empty folder."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "100")

    def command(*arguments: str | Path) -> Said:
        capsys.readouterr()
        code = run([str(argument) for argument in arguments])
        return Said(code, *capsys.readouterr())

    return command


@pytest.fixture(scope="session")
def result(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A finished result of the sample scenario; not to be written to."""
    folder = tmp_path_factory.mktemp("made")
    path = folder / "coaster.nc"
    assert run_to_file(make_plan(load(put(folder))), path, where=Where(workers=1))
    return path
