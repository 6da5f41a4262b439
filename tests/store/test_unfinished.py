"""The folder of unfinished runs: only ours is used, only what is ours is deleted."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from rollsim.errors import MachineError
from rollsim.store.unfinished import MANIFEST, MARKER, Unfinished, unfinished_folder

HOLD = """
import sys
from pathlib import Path
from rollsim.store.unfinished import Unfinished
with Unfinished(Path(sys.argv[1])):
    print("held", flush=True)
    sys.stdin.read()
"""
RUNS = "000000-000000000-000000032.runs"


def names(folder: Path) -> list[str]:
    """What stands in a folder, hidden things too."""
    return sorted(os.listdir(folder))


@pytest.fixture
def left(tmp_path: Path) -> Path:
    """A folder that a broken study has left."""
    with Unfinished(tmp_path / "x.nc") as unfinished:
        unfinished.write_manifest({"scenario": "one"})
        unfinished.write(RUNS, b"runs")
    return unfinished.path


def test_results_of_like_names_have_folders_of_their_own(tmp_path: Path) -> None:
    folders = [unfinished_folder(tmp_path / name).name for name in ("x.nc", "x.nc5", "x")]
    assert folders == ["x.nc.unfinished", "x.nc5.unfinished", "x.unfinished"]


def test_two_names_of_one_result_share_the_folder(tmp_path: Path) -> None:
    (tmp_path / "link.nc").symlink_to("real.nc")
    assert unfinished_folder(tmp_path / "link.nc") == tmp_path / "real.nc.unfinished"


def test_what_a_broken_study_left_is_found_again(left: Path) -> None:
    assert names(left) == [RUNS, MANIFEST, MARKER]
    with Unfinished(left.with_name("x.nc")) as unfinished:
        assert unfinished.names() == [RUNS]
        assert unfinished.read(RUNS) == b"runs"
        assert unfinished.read("none.runs") is None
        assert unfinished.manifest() == {"scenario": "one"}
        unfinished.remove()
    assert not left.exists()


def test_begun_anew_it_is_empty(left: Path) -> None:
    with Unfinished(left.with_name("x.nc"), anew=True) as unfinished:
        assert unfinished.names() == []
        assert unfinished.manifest() is None
    assert not left.exists()


def test_a_study_without_a_finished_task_leaves_no_folder(tmp_path: Path) -> None:
    unfinished = Unfinished(tmp_path / "a" / "x.nc")
    with unfinished:
        unfinished.write_manifest({})
    assert names(tmp_path / "a") == []
    with pytest.raises(KeyError, match="lost"), unfinished:
        raise KeyError("lost")
    assert names(tmp_path / "a") == []


def other_file(folder: Path) -> None:
    """A folder of somebody else's."""
    folder.mkdir()
    (folder / "thesis.txt").write_text("years of work")


def beside_ours(folder: Path) -> None:
    """A file of somebody else's in our folder."""
    with Unfinished(folder.with_suffix("")) as unfinished:
        unfinished.write(RUNS, b"runs")
    (folder / "thesis.txt").write_text("years of work")


def folder_in_ours(folder: Path) -> None:
    """A folder in our folder, of a name like ours."""
    beside_ours(folder)
    (folder / "thesis.txt").unlink()
    (folder / "more.runs").mkdir()


def link_in_ours(folder: Path) -> None:
    """A link in the place of a file."""
    folder_in_ours(folder)
    (folder / "more.runs").rmdir()
    (folder / "more.runs").symlink_to("elsewhere")


def forged_name(folder: Path) -> None:
    """Files of our names without the marker."""
    folder.mkdir()
    (folder / MANIFEST).write_text("{}")


def other_marker(folder: Path) -> None:
    """A file of the marker's name that says something else."""
    folder.mkdir()
    (folder / MARKER).write_text("mine")


def linked_marker(folder: Path) -> None:
    """A link in the place of the marker."""
    folder.mkdir()
    (folder / MARKER).symlink_to("elsewhere")


def link(folder: Path) -> None:
    """A link to a folder."""
    (folder.parent / "other").mkdir()
    folder.symlink_to("other")


def broken_link(folder: Path) -> None:
    """A link to nowhere."""
    folder.symlink_to("nowhere")


def file(folder: Path) -> None:
    """A file."""
    folder.write_text("years of work")


@pytest.mark.parametrize("anew", [False, True])
@pytest.mark.parametrize(
    ("make", "match"),
    [
        (other_file, "that folder is not rollsim's"),
        (forged_name, "that folder is not rollsim's"),
        (other_marker, "that folder is not rollsim's"),
        (linked_marker, "that folder is not rollsim's"),
        (beside_ours, r"holds 'thesis\.txt', which rollsim has not written"),
        (folder_in_ours, r"holds 'more\.runs', which rollsim has not written"),
        (link_in_ours, r"holds 'more\.runs', which rollsim has not written"),
        (link, "a link stands where unfinished runs go"),
        (broken_link, "a link stands where unfinished runs go"),
        (file, "a file stands where unfinished runs go"),
    ],
)
def test_a_folder_that_is_not_ours_alone_is_refused_and_left_as_it_is(
    make: Callable[[Path], None], match: str, anew: bool, tmp_path: Path
) -> None:
    folder = tmp_path / "x.nc.unfinished"
    make(folder)
    before = sorted(tmp_path.rglob("*"))
    with (
        pytest.raises(MachineError, match=match) as caught,
        Unfinished(tmp_path / "x.nc", anew=anew),
    ):
        pass
    assert sorted(tmp_path.rglob("*")) == before
    assert str(caught.value).splitlines()[1] == (
        "  move it away, or give another place with --out FILE"
    )


def test_what_others_put_there_meanwhile_stays(tmp_path: Path) -> None:
    with Unfinished(tmp_path / "x.nc") as unfinished:
        unfinished.write(RUNS, b"runs")
        (unfinished.path / "thesis.txt").write_text("years of work")
        unfinished.remove()
    assert names(unfinished.path) == ["thesis.txt"]


@pytest.mark.parametrize("leftover", [f".{RUNS}.part", ".manifest.json.part", ".room-x1_y.part"])
def test_what_a_kill_left_half_written_is_ours(leftover: str, left: Path) -> None:
    (left / leftover).write_bytes(b"cut")
    with Unfinished(left.with_name("x.nc")) as unfinished:
        unfinished.remove()
    assert not left.exists()


def test_a_kill_before_the_marker_was_written_is_no_hindrance(tmp_path: Path) -> None:
    (tmp_path / "x.nc.unfinished").mkdir()
    (tmp_path / "y.nc.unfinished").mkdir()
    (tmp_path / "y.nc.unfinished" / MARKER).touch()
    for name in ("x.nc", "y.nc"):
        with Unfinished(tmp_path / name) as unfinished:
            assert (unfinished.path / MARKER).read_text().startswith("Finished runs of a study")
    assert names(tmp_path) == []


def test_a_second_run_is_refused_until_the_first_is_gone(left: Path) -> None:
    result = left.with_name("x.nc")
    with subprocess.Popen(
        [sys.executable, "-c", HOLD, str(result)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    ) as child:
        assert child.stdout is not None
        assert child.stdout.readline() == "held\n"
        with (
            pytest.raises(MachineError, match="another run is at work on the same runs"),
            Unfinished(result, anew=True),
        ):
            pass
        assert names(left) == [RUNS, MANIFEST, MARKER]
        child.kill()
    with Unfinished(result) as unfinished:
        assert unfinished.names() == [RUNS]


@pytest.mark.parametrize(
    "text", ["[1, 2]", "null", "3", '"a"', "", "{", "[" * 100_000, "1" * 10_000, "\xff"]
)
def test_a_manifest_that_is_no_table_is_refused(text: str, left: Path) -> None:
    (left / MANIFEST).write_bytes(text.encode("latin-1"))
    with (
        Unfinished(left.with_name("x.nc")) as unfinished,
        pytest.raises(MachineError, match="no manifest of unfinished runs\n  begin anew with"),
    ):
        unfinished.manifest()
    assert RUNS in names(left)


def test_a_name_that_would_not_be_known_again_is_a_bug(left: Path) -> None:
    with (
        Unfinished(left.with_name("x.nc")) as unfinished,
        pytest.raises(ValueError, match="would not be known as a file of unfinished runs"),
    ):
        unfinished.write("../x.nc", b"")
