"""Which runs, which span of time, how fast: what is chosen and what is refused."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
import xarray as xr
from animation_samples import Loading, study
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from rollsim.errors import InputError
from rollsim.show.animation.plan import (
    FASTEST,
    LENGTH,
    PANELS,
    FilmPlan,
    Wishes,
    plan,
    span_text,
    speed_text,
)
from rollsim.show.query.runs import worst_run


def planned(ds: xr.Dataset, **wishes: Any) -> FilmPlan:
    """The plan of the first run."""
    return plan(ds, [(0, 0)], Wishes(**wishes))


def test_short_run_is_shown_whole_in_true_time() -> None:
    film = planned(study(duration=30.0))
    assert film.speed == 1.0
    assert_allclose(film.times[[0, -1]], [0.0, 30.0])
    assert_allclose(np.diff(film.times), 1.0 / 25.0)
    assert film.panels == PANELS


@pytest.mark.parametrize(("duration", "speed"), [(31.0, 2.0), (60.0, 2.0), (240.0, 8.0)])
def test_longer_run_goes_faster_by_powers_of_two(duration: float, speed: float) -> None:
    film = planned(study(duration=duration))
    assert film.speed == speed
    assert_allclose(film.times[-1], duration)
    assert speed_text(speed) == f"{speed:g} times true time"


def test_long_run_is_shown_where_it_rolls_most() -> None:
    ds = study(duration=1000.0)
    ds["roll_angle"][0, 0, 1400] = 38.0
    film = planned(ds)
    assert film.speed == FASTEST
    assert_allclose(film.times[-1] - film.times[0], FASTEST * LENGTH)
    assert film.times[0] < 700.0 < film.times[-1]
    assert span_text(film) == "Shown: 520 to 760 s of 0 to 1000 s, one frame in 0.32 s."


def test_long_run_that_capsizes_is_shown_to_its_end() -> None:
    film = planned(study([Loading(end=900.2)], duration=1000.0))
    assert_allclose(film.times[[0, -1]], [660.0, 900.0])


def test_what_is_asked_for_is_shown_however_fast() -> None:
    film = planned(study(duration=1000.0), start=0.0)
    assert film.speed == 64.0
    assert_allclose(film.times[[0, -1]], [0.0, 1000.0])
    film = planned(study(duration=1000.0), start=100.0, end=110.0, speed=0.5)
    assert_allclose(film.times[[0, -1]], [100.0, 110.0])
    assert_allclose(np.diff(film.times), 0.02)


@settings(deadline=None)
@given(
    duration=st.integers(5, 400),
    fps=st.integers(1, 50),
    speed=st.floats(0.5, 40.0),
    start=st.floats(0.0, 5.0),
)
def test_frames_are_evenly_spaced_and_end_with_the_run(
    duration: int, fps: int, speed: float, start: float
) -> None:
    ds = SAMPLES.setdefault(duration, study(duration=float(duration)))
    if (duration - start) * fps / speed > 5990:
        with pytest.raises(InputError, match="frames; at most"):
            planned(ds, fps=fps, speed=0.1 * speed, start=start)
        return
    film = planned(ds, fps=fps, speed=speed, start=start)
    assert film.times[0] == start
    assert film.times[-1] == pytest.approx(duration, rel=1e-9)
    steps = np.diff(film.times)
    assert_allclose(steps[:-1], speed / fps)
    assert np.all(steps > 0.0)
    assert np.all(steps <= speed / fps * (1.0 + 1e-9))


SAMPLES: dict[int, xr.Dataset] = {}


@pytest.mark.parametrize(
    ("wishes", "words"),
    [
        ({"size": (1281, 720)}, "--size: cannot draw 1281x720"),
        ({"size": (320, 240)}, "--size: cannot draw 320x240"),
        ({"size": (1000, 1000)}, "1000x1000 has no room"),
        ({"start": 50.0}, "nothing lies between them"),
        ({"start": 20.0, "end": 10.0}, "nothing lies between them"),
        ({"speed": 0.01}, "at most 6000"),
    ],
)
def test_what_cannot_be_drawn_is_refused(wishes: dict[str, Any], words: str) -> None:
    with pytest.raises(InputError, match=words):
        planned(study(), **wishes)


def test_side_by_side_has_room_for_three() -> None:
    ds = study([Loading()] * 4)
    runs = [(case, 0) for case in range(4)]
    assert plan(ds, runs[:3], Wishes()).panels == PANELS[:3]
    with pytest.raises(InputError, match="4 cases"):
        plan(ds, runs, Wishes())
    with pytest.raises(InputError, match="too many"):
        plan(ds, runs[:2], Wishes(panels=PANELS))


def test_one_that_ends_early_waits_for_the_other() -> None:
    ds = study([Loading(end=10.2), Loading()])
    film = plan(ds, [(0, 0), (1, 0)], Wishes())
    assert_allclose(film.times[-1], 40.0)


def test_worst_run_capsizes_first_or_rolls_most() -> None:
    assert worst_run(study(realisations=3), [0]) == 2
    ds = study([Loading(), Loading(swing=30.0)], realisations=3)
    ds["outcome"][0, 1], ds["end_time"][0, 1] = 4, 20.0
    assert worst_run(ds, [1]) == 2
    assert worst_run(ds, [0, 1]) == 1


def test_worst_run_has_to_be_solved() -> None:
    ds = study()
    ds["outcome"][:] = 0
    with pytest.raises(InputError, match="no solved run"):
        worst_run(ds, [0])


def test_run_without_a_history_is_refused() -> None:
    ds = study()
    ds["roll_angle"] = ds["roll_angle"] * np.nan
    with pytest.raises(InputError, match="case 0, realisation 0 has no history"):
        planned(ds)
