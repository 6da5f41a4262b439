"""The captions: what is seen, in words, and why."""

from __future__ import annotations

import numpy as np
import pytest
from animation_samples import HEEL, Loading, study
from numpy.testing import assert_allclose

from rollsim.names import Outcome
from rollsim.show.query.track import track
from rollsim.show.query.words import captions, readout, rest, signed

LOLL = Loading(kg=5.7)
"""GM −0.2 m: she lolls at 20.4°."""


def said(loading: Loading, *times: float) -> list[tuple[str, str]]:
    """The captions of a loading at some times."""
    ds = study([loading])
    return captions(ds, 0, 0, track(ds, 0, 0, np.array(times)))


@pytest.mark.parametrize(
    ("loading", "what", "why"),
    [
        (Loading(swing=0.1), "upright", "GM +0.50 m: upright is stable"),
        (Loading(swing=9.0), "rolling about upright", "GM +0.50 m: upright is stable"),
        (Loading(kg=5.5, swing=0.1), "upright", "GM +0.000 m: upright is neutral"),
        (Loading(swing=0.0, lever=0.1, about=9.8), "at rest, heeled 10° to starboard",
         "wind or other lever 0.10 m to starboard"),
        (Loading(swing=0.0, lever=-0.1, about=-9.8), "at rest, heeled 10° to port",
         "wind or other lever 0.10 m to port"),
        (Loading(swing=0.0, off_centre=0.1, about=9.8), "at rest, with a list of 10° to starboard",
         "G 0.10 m to starboard"),
        (Loading(swing=8.0, off_centre=-0.1, about=-9.8), "rolling, with a list of 10° to port",
         "G 0.10 m to port"),
        (Loading(swing=0.0, off_centre=0.15, lever=-0.05, about=9.0),
         "at rest, heeled 10° to starboard", "lever 0.05 m to port; G 0.15 m to starboard"),
        (LOLL._replace(swing=0.0, about=20.0), "lolling to starboard",
         "GM −0.20 m, negative: upright is unstable"),
        (LOLL._replace(swing=0.0, about=-25.0), "lolling to port",
         "GM −0.20 m, negative: upright is unstable"),
        (LOLL._replace(swing=0.1), "near upright, and unstable there",
         "GM −0.20 m, negative: upright is unstable"),
        (LOLL._replace(swing=0.0, about=5.0, off_centre=-0.2), "going over to port",
         "GM −0.20 m, negative: upright is unstable"),
        (Loading(swing=0.0, about=45.0), "past the roll limit of 40°",
         "GM +0.50 m: upright is stable"),
        (Loading(swing=0.0, lever=5.0), "nothing holds her",
         "the heeling lever exceeds her righting lever"),
    ],
)  # fmt: skip
def test_caption_says_what_is_seen(loading: Loading, what: str, why: str) -> None:
    assert said(loading, 10.0) == [(what, why)]


def test_caption_says_when_she_is_past_vanishing() -> None:
    ds = study([Loading(swing=0.0, about=55.0)])
    falling = np.sin(np.radians(180.0 / 45.0 * HEEL)) * 0.3  # vanishes at 45 degrees
    ds["righting_lever"] = (("case", "heel"), falling[None])
    words = captions(ds, 0, 0, track(ds, 0, 0, np.array([3.0])))
    assert words == [("past the vanishing angle", "her own lever now turns her further over")]


def test_run_that_has_ended_says_how() -> None:
    loading = Loading(swing=0.0, about=30.0, end=20.2)
    assert said(loading, 25.0) == [("capsized at 20.2 s", "the run stops here")]
    assert said(loading, 19.0)[0][0] != "capsized at 20.2 s"


def test_survivor_is_named_at_the_end_only() -> None:
    first, last = said(Loading(swing=5.0), 39.0, 40.0)
    assert first[0] == "rolling about upright"
    assert last == ("survived", "the run stops here")


def test_solver_that_gave_up_is_named() -> None:
    ds = study([Loading(end=20.2)])
    ds["outcome"][:] = int(Outcome.NOT_SOLVED)
    words = captions(ds, 0, 0, track(ds, 0, 0, np.array([30.0])))
    assert words == [("the solver gave up at 20.2 s", "the run stops here")]


def test_equilibria_of_a_wall_sided_hull_at_loll() -> None:
    stable, unstable = track(study([Loading(kg=5.7)]), 0, 0, np.zeros(1)).rests(0)
    angle = np.degrees(np.arctan(np.sqrt(2.0 * 0.2 / 2.9)))  # tan² φ = 2 |GM| / BM, exact
    assert_allclose(stable, [-angle, angle], atol=0.01)
    assert_allclose(unstable, [0.0], atol=1e-9)


def test_rest_is_the_well_that_she_is_in() -> None:
    rests = track(study([Loading(kg=5.7)]), 0, 0, np.zeros(1)).rests(0)
    assert rest(*rests, 3.0) == pytest.approx(-rest(*rests, -3.0), abs=1e-9)
    assert rest(*rests, 3.0) > 0.0
    assert np.isnan(rest(np.zeros(0), np.zeros(0), 0.0))


def test_she_rests_where_lever_and_push_are_even() -> None:
    """A small push of 0.02 m against GM 0.5 m: 2.3 degrees, to starboard and to port."""
    run = track(study([Loading(kg=5.0)]), 0, 0, np.zeros(1))
    for lever in (0.02, -0.02):
        stable, _ = run.rests(0, lever)
        assert_allclose(stable, np.degrees(lever / 0.5), rtol=0.02)


def test_readout_names_time_and_angles_with_their_signs() -> None:
    ds = study([Loading(swing=0.0, about=-12.0, wave=6.0)])
    words = readout(track(ds, 0, 0, np.array([10.0])), 0)
    assert words.startswith("t 10.0 s  roll −12.0°  to water −1")
    assert "GZ −0." in words
    calm = readout(track(study([Loading(swing=0.0)]), 0, 0, np.array([10.0])), 0)
    assert calm == "t 10.0 s  roll +0.0°  GZ +0.00 m"


@pytest.mark.parametrize(
    ("value", "text"), [(-0.04, "+0.0"), (0.06, "+0.1"), (-1.25, "−1.2"), (12.0, "+12.0")]
)
def test_sign_is_always_written_and_zero_has_no_minus(value: float, text: str) -> None:
    assert signed(value, 1) == text
