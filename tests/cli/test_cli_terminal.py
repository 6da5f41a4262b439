"""The commands among pipes, plain and coloured terminals, full disks and signals."""

from __future__ import annotations

import os
import pty
import re
import signal
import subprocess
import time
from pathlib import Path

import numpy as np
import pytest
from cli_samples import CALM, COASTER, edited, environment, held, process, put, spoken

from rollsim.store.reading import open_result

ESCAPE = re.compile(r"\x1b\[[0-9;]*m")


def reader_gone(*arguments: str | Path, folder: Path) -> tuple[int, str]:
    """Exit code and errors of a command whose reader has left before it speaks."""
    read, write = os.pipe()
    os.close(read)
    try:
        child = process(*arguments, folder=folder, stdout=write)
    finally:
        os.close(write)
    _, err = child.communicate(timeout=120.0)
    return child.returncode, err


@pytest.mark.parametrize(
    "arguments", [["--help"], ["check", "coaster.toml"], ["summary"], ["summary", "--json"]]
)
def test_a_reader_that_leaves_is_no_failure(
    arguments: list[str], result: Path, tmp_path: Path
) -> None:
    put(tmp_path)
    if arguments[0] == "summary":
        arguments = [*arguments, str(result)]
    code, err = reader_gone(*arguments, folder=tmp_path)
    assert code == 0
    assert [line for line in err.splitlines() if not line.startswith("drew ")] == []


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")
def test_a_full_disk_behind_the_output_is_refused(result: Path, tmp_path: Path) -> None:
    with Path("/dev/full").open("w") as full:
        said = spoken("summary", result, folder=tmp_path, stdout=full)
    assert said.code == 2
    assert said.err == "the system refuses: [Errno 28] No space left on device\n"


@pytest.mark.parametrize("encoding", ["ascii", "latin-1", "utf-8"])
def test_a_terminal_of_few_letters_gets_question_marks(
    encoding: str, result: Path, tmp_path: Path
) -> None:
    said = spoken("summary", result, folder=tmp_path, more={"PYTHONIOENCODING": encoding},
                  encoding=encoding)  # fmt: skip
    assert (said.code, said.err) == (0, "")
    assert ("[?]" if encoding == "ascii" else "[°]") in said.out


@pytest.mark.parametrize("more", [{"NO_COLOR": "1"}, {"TERM": "xterm-256color"}])
def test_pipes_get_no_escapes(more: dict[str, str], tmp_path: Path) -> None:
    put(tmp_path, CALM)
    said = spoken("run", "coaster.toml", "--no-plots", folder=tmp_path, more=more)
    assert said.code == 0
    assert "\x1b" not in said.out + said.err
    assert "\r" not in said.out + said.err


def on_terminal(*arguments: str | Path, folder: Path, more: dict[str, str]) -> str:
    """What the command writes to a terminal of its own."""
    leader, follower = pty.openpty()
    child = process(*arguments, folder=folder, more=more, stdin=follower, stdout=follower,
                    stderr=follower)  # fmt: skip
    os.close(follower)
    said = b""
    while True:
        try:
            part = os.read(leader, 1 << 16)
        except OSError:  # the terminal is closed
            break
        if not part:
            break
        said += part
    os.close(leader)
    assert child.wait(timeout=60.0) == 0
    return said.decode("utf-8")


def test_a_terminal_gets_a_progress_bar_and_colour_unless_it_asks_for_none(tmp_path: Path) -> None:
    put(tmp_path)
    arguments = ["run", "coaster.toml", "--no-plots", "--workers", "1"]
    plain = {"TERM": "xterm-256color", "NO_COLOR": "1"}
    coloured = on_terminal(*arguments, folder=tmp_path, more={"TERM": "xterm-256color"})
    said = on_terminal(*arguments, folder=tmp_path, more=plain)
    assert "12/12" in coloured
    assert re.search(r"\x1b\[[0-9;]*3[0-9]", coloured)
    assert not re.search(r"\x1b\[[0-9;]*(3[0-9]|38;)", said)


def test_another_width_is_obeyed(result: Path, tmp_path: Path) -> None:
    for columns in (60, 140):
        said = spoken("summary", result, folder=tmp_path, more={"COLUMNS": str(columns)})
        assert max(len(line) for line in said.out.splitlines()) <= columns


LONG = edited(
    ("duration_s = 20.0", "duration_s = 1200.0"),
    ("realisations = 3", "realisations = 60"),
    ("seed = 7", 'seed = 7\nmethod = "DOP853"'),
)
"""Minutes of work in tasks of about a second."""


def finished_runs(path: Path) -> int:
    """Tasks that the unfinished study of a result has on the disk."""
    return len(list(path.with_name(f"{path.name}.unfinished").glob("*.runs")))


def below(pid: int) -> set[int]:
    """The processes that descend from `pid`, by /proc."""
    parents = {}
    for stat in Path("/proc").glob("[0-9]*/stat"):
        try:
            fields = stat.read_text().rpartition(")")[2].split()
        except OSError:
            continue
        parents[int(stat.parent.name)] = int(fields[1])
    found = {pid}
    while more := {child for child, parent in parents.items() if parent in found} - found:
        found |= more
    return found - {pid}


def stopped(folder: Path, kind: signal.Signals, workers: int, *, group: bool) -> tuple[int, str]:
    """Stop a study by a signal when some runs have finished; its exit code and errors."""
    put(folder, LONG)
    child = process("run", "coaster.toml", "--no-plots", "--workers", str(workers), folder=folder,
                    stdout=subprocess.DEVNULL, start_new_session=True)  # fmt: skip
    end = time.monotonic() + 240.0
    while finished_runs(folder / "results" / "coaster.nc") < 3:
        assert child.poll() is None
        assert time.monotonic() < end
        time.sleep(0.05)
    children = below(child.pid)
    assert len(children) >= (workers if workers > 1 else 0)
    if group:
        os.killpg(child.pid, kind)
    else:
        child.send_signal(kind)
    _, err = child.communicate(timeout=120.0)
    end = time.monotonic() + 20.0
    while left := [pid for pid in children if Path(f"/proc/{pid}").exists()]:
        assert time.monotonic() < end, left
        time.sleep(0.1)
    return child.returncode, err


@pytest.mark.slow
@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="looks for processes in /proc")
@pytest.mark.parametrize(
    ("kind", "workers", "group"),
    [
        (signal.SIGINT, 2, True),
        (signal.SIGINT, 2, False),
        (signal.SIGINT, 1, True),
        (signal.SIGTERM, 2, False),
        (signal.SIGHUP, 2, False),
    ],
)
def test_an_interrupted_study_keeps_its_runs_and_leaves_nobody_behind(
    kind: signal.Signals, workers: int, group: bool, tmp_path: Path
) -> None:
    code, err = stopped(tmp_path, kind, workers, group=group)
    assert code == 130
    assert "interrupted: finished runs are kept" in err
    assert "Traceback" not in err
    assert finished_runs(tmp_path / "results" / "coaster.nc") >= 3
    if "wrote" not in err:  # what took too long was left to the next run
        return
    with open_result(tmp_path / "results" / "coaster.nc") as found:
        outcome = found["outcome"].values
        assert 3 <= np.count_nonzero(outcome) < outcome.size
    assert not [name for name in held(tmp_path) if name.endswith((".part", ".lock"))]


@pytest.mark.slow
def test_a_study_stopped_at_once_writes_nothing(tmp_path: Path) -> None:
    put(tmp_path, COASTER.replace("duration_s = 20.0", 'duration_s = 1e5\nmethod = "DOP853"'))
    child = process("run", "coaster.toml", "--no-plots", "--workers", "1", folder=tmp_path)
    while not (tmp_path / "results").exists():
        time.sleep(0.05)
    time.sleep(0.5)
    child.send_signal(signal.SIGINT)
    out, err = child.communicate(timeout=120.0)
    assert (child.returncode, out) == (130, "")
    assert err.strip().startswith("interrupted")
    assert not (tmp_path / "results" / "coaster.nc").exists()


def test_without_a_home_and_a_folder_for_caches_it_runs(tmp_path: Path) -> None:
    put(tmp_path, CALM)
    more = environment({"HOME": "/nonexistent", "XDG_CACHE_HOME": "/nonexistent",
                        "MPLCONFIGDIR": str(tmp_path / "mpl")})  # fmt: skip
    said = spoken("stability", "coaster.toml", folder=tmp_path, more=more)
    assert said.code == 0
    assert (tmp_path / "results" / "coaster-stability.png").exists()
