"""`rollsim animate`: the options, what is said, what is refused."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest
import xarray as xr
from PIL import Image

from rollsim.cli.main import run
from rollsim.names import COORDINATES, SEARCHED, VARIABLES
from rollsim.show.animation import write as animation
from rollsim.show.animation.plan import LENGTH, PANELS, FilmPlan, Wishes

FAST = ["--size", "640x360", "--fps", "5", "--to", "1"]


@pytest.fixture
def result(tmp_path: Path) -> Path:
    """A result of two conditions and two realisations, at rest."""
    t, heel = np.arange(0.0, 4.5, 0.5), np.arange(-60.0, 61.0)
    sizes = {"case": 2, "realisation": 2, "t": t.size, "heel": heel.size}
    ds = xr.Dataset(
        {
            name: (held.dims, np.zeros([sizes[dim] for dim in held.dims], held.dtype))
            for name, held in VARIABLES.items()
            if held.dtype != "str" and name not in SEARCHED and sizes.keys() >= {*held.dims}
        },
        attrs={"title": "at rest", "scenario_text": "", "rollsim_format": np.int32(1)},
    )
    values = {"outcome": 1, "beam": 14.0, "draught": 5.0, "depth": 8.0, "gyradius": 5.0, "gm": 1.0}
    values |= {"metacentre_z": 6.0, "centre_of_gravity_z": 5.0, "end_time": 4.0}
    for name, value in values.items():
        ds[name] = ds[name] + np.asarray(value, ds[name].dtype)
    ds["righting_lever"] = ds["righting_lever"] + np.sin(np.radians(heel))
    ds["roll_max"][1, 1] = 5.0
    own = {"case": np.arange(2, dtype="i4"), "realisation": np.arange(2, dtype="i4")}
    ds = ds.assign_coords(own).assign_coords(t=t, heel=heel)
    ds = ds.assign_coords(condition=("case", np.array(["light", "laden"], dtype=object)))
    assert set(ds.coords) <= set(COORDINATES)
    path = tmp_path / "rest.nc"
    ds.to_netcdf(path, engine="netcdf4")
    return path


def test_animation_stands_beside_the_result(
    result: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["animate", str(result), *FAST]) == 0
    made = result.with_name("rest-animation.gif")
    said = capsys.readouterr()
    assert said.out == f"{made}\n"
    assert said.err == (
        "case 0, realisation 0: true time. Shown: 0 to 1 s of 0 to 4 s, one frame in 0.2 s.\n"
    )
    with Image.open(made) as picture:
        assert picture.size == (640, 360)


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> list[tuple[object, ...]]:
    """What the command asks for, without drawing it."""
    calls: list[tuple[object, ...]] = []

    def note(
        ds: xr.Dataset, path: Path, wanted: list[int], run: int | None, wishes: Wishes, *_: object
    ) -> FilmPlan:
        calls.append((path.name, wanted, run, wishes))
        places = tuple((case, run or 0) for case in wanted)
        return FilmPlan(places, np.array([0.0, 4.0]), 1.0, 25, (1280, 720), PANELS, (0.0, 4.0))

    monkeypatch.setattr(animation, "animate", note)
    return calls


def test_options_say_what_is_drawn(result: Path, asked: list[tuple[object, ...]]) -> None:
    given = ["--case", "condition=laden", "--case", "0", "--realisation", "1", "-o", "x.mp4"]
    given += ["--fps", "30", "--size", "1920x1080", "--speed", "2.5", "--from", "1", "--to", "3"]
    assert run(["animate", str(result), *given, "--panels", "section, phase"]) == 0
    wishes = Wishes(30, (1920, 1080), 2.5, 1.0, 3.0, ("section", "phase"))
    assert asked == [("x.mp4", [1, 0], 1, wishes)]


def test_left_out_options_leave_the_choice_to_the_program(
    result: Path, asked: list[tuple[object, ...]]
) -> None:
    assert run(["animate", str(result)]) == 0
    assert asked == [("rest-animation.gif", [0], None, Wishes())]


@pytest.mark.parametrize(
    ("given", "words"),
    [
        (["--case", "7"], "no such case"),
        (["--realisation", "9"], "no such realisation: 9"),
        (["--size", "wide"], "is no size; write it as 1280x720"),
        (["--size", "1280x0"], "is no size; write it as 1280x720"),
        (["--panels", "section,gauge"], "no panel 'gauge'"),
        (["--speed", "0"], "is not in the range"),
        (["--from", "9"], "nothing lies between them"),
        (["-o", "a.avi"], "no kind of animation"),
    ],
)
def test_what_makes_no_sense_is_refused(
    result: Path, given: list[str], words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["animate", str(result), *given]) == 2
    said = capsys.readouterr()
    assert words in said.err
    assert said.out == ""


def test_missing_encoder_is_refused_with_its_remedy(
    result: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "imageio_ffmpeg", None)
    assert run(["animate", str(result), "-o", str(result.with_suffix(".mp4"))]) == 2
    assert 'pip install "rollsim[video]"' in capsys.readouterr().err


def test_help_names_every_option(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["animate", "--help"]) == 0
    said = capsys.readouterr().out
    for option in ("--case", "--realisation", "--fps", "--size", "--speed", "--from", "--panels"):
        assert option in said


def test_the_help_says_how_long_a_film_is(capsys: pytest.CaptureFixture[str]) -> None:
    """At most `LENGTH` of true seconds; the frames follow from that and --fps."""
    assert run(["animate", "--help"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert f"so that the film lasts at most {LENGTH:g} s" in said
    assert "frames" not in said
