"""Where the machine code is kept, and that yesterday's is never used for today's sources."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from rollsim import compiled


@pytest.fixture(autouse=True)
def _fresh() -> None:
    compiled.cache_folder.cache_clear()


def test_the_folder_that_is_told_comes_first(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path / "told"))
    assert compiled.cache_folder().parent == tmp_path / "told"


def test_a_package_and_home_that_cannot_be_written_are_no_hindrance(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "file"
    file.write_text("no folder can stand below a file")
    monkeypatch.delenv("NUMBA_CACHE_DIR", raising=False)
    monkeypatch.setenv("XDG_CACHE_HOME", str(file))
    monkeypatch.setattr(compiled, "PACKAGE", file)
    monkeypatch.setattr(compiled, "_sources", list)
    folder = compiled.cache_folder()
    assert folder.is_dir()
    assert file not in folder.parents
    folder.rmdir()


def test_another_state_of_the_sources_has_another_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path))
    source = tmp_path / "moments.py"
    monkeypatch.setattr(compiled, "_sources", lambda: [source])
    names = []
    for text in ("a = 1\n", "a = 2\n", "a = 1\n"):
        source.write_text(text)
        compiled.cache_folder.cache_clear()
        names.append(compiled.cache_folder().name)
    assert names[0] == names[2] != names[1]


def test_every_compiled_function_lies_in_a_room_that_the_digest_sees() -> None:
    seen = set(compiled._sources())
    for source in compiled.PACKAGE.rglob("*.py"):
        text = source.read_text(encoding="utf-8")
        if "@compiled" in text or "@vectorised" in text or "@inlined" in text:
            assert source in seen, source


def test_a_second_process_finds_the_code_of_the_first(tmp_path: Path) -> None:
    code = (
        "import numpy as np\nfrom rollsim.weather.spectra import bretschneider\n"
        "from rollsim.weather import spectra\n"
        "print(bretschneider(2.0, peak_period=8.0).density(np.array([0.8]))[0])\n"
        "print(sum(spectra._fill_density.stats.cache_hits.values()))\n"
    )
    place = {**os.environ, "NUMBA_CACHE_DIR": str(tmp_path)}
    found = [
        subprocess.check_output([sys.executable, "-c", code], env=place, text=True).split()
        for _ in range(2)
    ]
    assert found[0][0] == found[1][0]
    assert (found[0][1], found[1][1]) == ("0", "1")
    assert np.isfinite(float(found[0][0]))
