"""`rollsim example`: what comes with the program is listed and copied, nothing else touched."""

from __future__ import annotations

import resource
import subprocess
import sys
import tomllib
from pathlib import Path
from zipfile import ZipFile

import pytest
from cli_samples import Command, spoken

from rollsim.cli import example
from rollsim.scenario.load import load

ROOT = Path(__file__).parents[2]
SCENARIOS = ROOT / "scenarios"
NAMES = sorted(
    path.relative_to(SCENARIOS).with_suffix("").as_posix() for path in SCENARIOS.rglob("*.toml")
)
HULLS = [name for name in NAMES if name.endswith("-hull")]


def names(folder: Path) -> list[str]:
    """What lies in a folder."""
    return sorted(path.name for path in folder.iterdir())


def test_every_scenario_is_listed_with_its_title(rollsim: Command) -> None:
    done = rollsim("example")
    assert (done.code, done.err) == (0, "")
    listed = dict(line.split(maxsplit=1) for line in done.out.splitlines())
    assert sorted(listed) == NAMES
    for name, title in listed.items():
        text = (SCENARIOS / f"{name}.toml").read_text(encoding="utf-8")
        raw = tomllib.loads(text)
        hull = f"The hull of the {raw.get('name')}, for rollsim hull"
        assert title == (hull if name in HULLS else raw["title"])


@pytest.mark.parametrize("name", HULLS)
def test_a_hull_comes_for_the_command_that_reads_it(name: str, rollsim: Command) -> None:
    done = rollsim("example", name)
    assert (done.code, done.out) == (0, "")
    assert done.err.endswith(f"next: rollsim hull {name}.toml\n")
    assert rollsim("hull", f"{name}.toml", "--no-plots").code == 0


@pytest.mark.parametrize("name", sorted(set(NAMES) - set(HULLS)))
def test_a_copy_is_the_very_file_and_loads(name: str, rollsim: Command) -> None:
    done = rollsim("example", name)
    copy = Path(f"{Path(name).name}.toml")
    assert (done.code, done.out) == (0, "")
    assert copy.read_bytes() == (SCENARIOS / f"{name}.toml").read_bytes()
    assert f"wrote {copy}\n" in done.err
    assert done.err.endswith(f"next: rollsim run {copy}\n")
    assert load(copy).cases


def test_a_lesson_brings_its_notes(rollsim: Command, tmp_path: Path) -> None:
    assert rollsim("example", "lessons/resonance.toml").code == 0
    assert names(tmp_path) == ["resonance.md", "resonance.toml"]


@pytest.mark.parametrize("there", ["resonance.toml", "resonance.md"])
def test_nothing_is_overwritten(there: str, rollsim: Command, tmp_path: Path) -> None:
    Path(there).write_text("mine", encoding="utf-8")
    done = rollsim("example", "lessons/resonance")
    assert done.code == 2
    assert done.err.startswith(f"{there}: is there already and is not overwritten\n")
    assert names(tmp_path) == [there]
    assert Path(there).read_text(encoding="utf-8") == "mine"


def test_no_link_is_written_through(rollsim: Command, tmp_path: Path) -> None:
    (tmp_path / "beam-gale.toml").symlink_to(tmp_path / "elsewhere.toml")
    assert rollsim("example", "beam-gale").code == 2
    assert not (tmp_path / "elsewhere.toml").exists()


def small_files() -> None:
    """No file of this process may grow past 1000 bytes: a disk that is full in the middle."""
    resource.setrlimit(resource.RLIMIT_FSIZE, (1000, 1000))


def test_a_full_disk_leaves_no_half_a_file(tmp_path: Path) -> None:
    done = spoken("example", "beam-gale", folder=tmp_path, preexec_fn=small_files)
    assert done.code == 2
    assert "beam-gale.toml: cannot be written: file too large\n" in done.err
    assert f"folder {tmp_path}, " in done.err
    assert done.err.endswith("(ulimit -f), or go to another folder first\n")
    assert names(tmp_path) == []


@pytest.mark.parametrize(
    ("wrong", "hint"),
    [
        ("beam-gal", "did you mean beam-gale?"),
        ("resonance", "did you mean lessons/resonance?"),
        ("lessons/loll-correction", "did you mean lessons/loll-corrections"),
        ("nothing-like-it", "rollsim example lists them"),
        ("../beam-gale", "did you mean beam-gale?"),
        ("lessons/../beam-gale", "did you mean beam-gale?"),
        ("../../etc/passwd", "rollsim example lists them"),
        ("/etc/passwd", "rollsim example lists them"),
        (str(SCENARIOS / "beam-gale.toml"), "did you mean beam-gale?"),
        ("", "rollsim example lists them"),
        (".", "rollsim example lists them"),
        ("\x1b[31m", "rollsim example lists them"),
        ("x" * 5000, "rollsim example lists them"),
    ],
)
def test_only_names_of_the_list_are_taken(
    wrong: str, hint: str, rollsim: Command, tmp_path: Path
) -> None:
    done = rollsim("example", wrong)
    assert (done.code, done.out) == (2, "")
    assert ": no example of that name\n" in done.err
    assert hint in done.err
    assert "\x1b" not in done.err
    assert names(tmp_path) == []


def test_an_install_without_examples_says_so(
    rollsim: Command, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(example, "PACKAGE", tmp_path / "rollsim")
    done = rollsim("example")
    assert (done.code, done.out) == (2, "")
    assert "holds no examples" in done.err


def test_the_wheel_carries_all_of_them(tmp_path: Path) -> None:
    pytest.importorskip("hatchling")
    build = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(tmp_path)]
    subprocess.run(build, cwd=ROOT, check=True, capture_output=True)
    (wheel,) = tmp_path.glob("*.whl")
    with ZipFile(wheel) as packed:
        shipped = {name for name in packed.namelist() if name.startswith("rollsim/examples/")}
        for path in SCENARIOS.rglob("*.*"):
            name = f"rollsim/examples/{path.relative_to(SCENARIOS).as_posix()}"
            if path.suffix in {".toml", ".md", ".ipynb"}:
                assert packed.read(name) == path.read_bytes()
        assert not [name for name in packed.namelist() if name.startswith(("tests", "scenarios"))]
    assert len(shipped) > len(NAMES)
