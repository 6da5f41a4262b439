"""Ctrl-C ends every phase within two seconds, whatever the program is doing just then."""

from __future__ import annotations

import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from cli_samples import COASTER, Command, environment, put
from study_files import scenario, written
from test_map_commands import EQUILIBRIA

from rollsim.cli import main as cli
from rollsim.cli.main import run

IN_TIME = 3.0
"""Seconds: two, and one more on a busy machine."""
DEAF = "hashlib.pbkdf2_hmac('sha256', b'', b'', 10**9)"
"""Minutes in compiled code that hears no signal."""
HOLDS_ON = """
    try:
        time.sleep(60)
    finally:
        print("cleaning", flush=True)
        time.sleep(60)
"""
STUBBORN = """
    while True:
        try:
            time.sleep(60)
        except KeyboardInterrupt:
            print("no", flush=True)
"""
ANEW = "no file is left half written; the same command begins anew"
GOES_ON = "what is finished is kept; the same command goes on"
PROGRAM = """
import hashlib, sys, time
import rollsim.scenario.load
from rollsim.cli.main import main
def load(*_):
    print("at work", flush=True)
    {work}
rollsim.scenario.load.load = load
main(["{command}", "coaster.toml"])
"""


def started(folder: Path, work: str, command: str = "check") -> subprocess.Popen[str]:
    """A command at its work."""
    put(folder)
    child = subprocess.Popen(
        [sys.executable, "-c", PROGRAM.format(work=work, command=command)],
        cwd=folder,
        env=environment(),
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert child.stdout is not None
    assert child.stdout.readline() == "at work\n"
    return child


@pytest.mark.parametrize("stop", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
@pytest.mark.parametrize("work", [DEAF, "time.sleep(60)"])
def test_one_ctrl_c_is_enough(work: str, stop: signal.Signals, tmp_path: Path) -> None:
    with started(tmp_path, work) as child:
        start = time.monotonic()
        child.send_signal(stop)
        out, err = child.communicate(timeout=30.0)
        assert time.monotonic() - start < IN_TIME
    assert (child.returncode, out, err.strip()) == (130, "", f"interrupted: {ANEW}")


@pytest.mark.parametrize("work", [HOLDS_ON, STUBBORN])
def test_two_end_at_once_what_holds_on(work: str, tmp_path: Path) -> None:
    with started(tmp_path, work.strip(), "run") as child:
        assert child.stdout is not None
        time.sleep(0.3)  # until it is within its `try`
        start = time.monotonic()
        child.send_signal(signal.SIGINT)
        assert child.stdout.readline() in ("cleaning\n", "no\n")
        time.sleep(0.3)  # until it is at its work again
        child.send_signal(signal.SIGINT)
        err = child.communicate(timeout=30.0)[1]
        assert time.monotonic() - start < IN_TIME
    assert child.returncode == 130
    assert err.strip() == "interrupted: finished runs are kept; the same command goes on"


def test_while_it_compiles(tmp_path: Path) -> None:
    put(tmp_path, COASTER)
    with subprocess.Popen(
        [sys.executable, "-m", "rollsim", "run", "coaster.toml", "--workers", "1", "--no-plots"],
        cwd=tmp_path,
        env=environment({"NUMBA_CACHE_DIR": str(tmp_path / "cache")}),
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    ) as child:
        while not list((tmp_path / "cache").rglob("*.code")):
            assert child.poll() is None
            time.sleep(0.05)
        time.sleep(1.0)
        start = time.monotonic()
        child.send_signal(signal.SIGINT)
        out, err = child.communicate(timeout=30.0)
        assert time.monotonic() - start < IN_TIME
    assert (child.returncode, out) == (130, "")
    assert err.splitlines()[-1].startswith("interrupted")
    assert "Traceback" not in err


@pytest.mark.parametrize(
    ("error", "code", "words"),
    [
        (EOFError("lost"), 3, "This is a bug in rollsim"),
        (KeyboardInterrupt(), 130, f"interrupted: {ANEW}\n"),
        (OSError(28, "No space left on device"), 2, "No space left on device"),
    ],
)
def test_what_ends_a_command_is_called_by_its_name(
    error: BaseException,
    code: int,
    words: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    def load(*_: object) -> None:
        raise error

    monkeypatch.setattr("rollsim.scenario.load.load", load)
    assert run(["check", str(put(tmp_path))]) == code
    assert words in capsys.readouterr().err


@pytest.mark.parametrize(
    ("command", "words"),
    [
        ("run", "finished runs are kept; the same command goes on"),
        *((command, GOES_ON) for command in ("critical", "basin", "equilibria", "response")),
        *((command, ANEW) for command in ("criteria", "heel-cause", "live", "loading", "hull")),
    ],
)
def test_a_command_that_is_broken_off_says_what_is_kept(
    command: str, words: str, rollsim: Command, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for module in ("rollsim.scenario.load", "rollsim.study.hull"):
        monkeypatch.setattr(f"{module}.read_text", _interrupted)
    said = rollsim(command, put(tmp_path))
    assert (said.code, said.out, said.err.strip()) == (130, "", f"interrupted: {words}")


@pytest.mark.parametrize(
    ("command", "words"),
    [
        ("run", "results/trial.nc is whole; rollsim plot results/trial.nc draws it"),
        ("equilibria", "results/trial-equilibria.nc is whole; the same command begins anew"),
    ],
)
def test_a_result_that_stands_is_told_where_its_pictures_are_broken_off(
    command: str, words: str, rollsim: Command, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = written(tmp_path, scenario(run="duration_s = 5.0\n", more=EQUILIBRIA))
    monkeypatch.setattr("rollsim.show.style.save", _interrupted)
    said = rollsim(command, file)
    assert said.code == 130
    assert said.err.endswith(f"interrupted: {words}\n")
    assert said.err.count("interrupted") == 1


def _interrupted(*_: object, **__: object) -> None:
    raise KeyboardInterrupt


def test_warnings_of_the_program_are_one_line(capsys: pytest.CaptureFixture[str]) -> None:
    cli._show_warning(UserWarning("no \x1broom"), UserWarning, "a.py", 1)
    assert capsys.readouterr().err == "warning: no \\x1broom\n"
    cli._show_warning(DeprecationWarning("old"), DeprecationWarning, "a.py", 1)
    assert "DeprecationWarning: old" in capsys.readouterr().err


def test_a_stop_that_is_lost_in_a_callback_says_nothing(capsys: pytest.CaptureFixture[str]) -> None:
    class Lost:
        def __init__(self, kind: type[BaseException]) -> None:
            self.exc_type, self.exc_value, self.exc_traceback = kind, kind("no"), None
            self.err_msg, self.object = None, None

    cli._unraisable(Lost(KeyboardInterrupt))  # type: ignore[arg-type]
    assert capsys.readouterr().err == ""
