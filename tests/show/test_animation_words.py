"""The captions: what is seen, in words, and why."""

from __future__ import annotations

import json

import numpy as np
import pytest
import xarray as xr
from animation_samples import HEEL, Loading, righting_lever, study
from numpy.testing import assert_allclose

from rollsim.names import Outcome
from rollsim.ship.verdict import BORDERS, RULES
from rollsim.show.page.answer import asked
from rollsim.show.query.track import track
from rollsim.show.query.words import VERDICTS, captions, readout, signed, verdict_table

LOLL = Loading(kg=5.7)
"""GM −0.2 m: she lolls at 20.4°."""


def said(loading: Loading, *times: float) -> list[tuple[str, str]]:
    """The captions of a loading at some times."""
    ds = study([loading])
    return captions(ds, 0, 0, track(ds, 0, 0, np.array(times)))


STABLE = "GM +0.50 m: upright is stable"
UNSTABLE = "GM −0.20 m, negative: upright is unstable"


@pytest.mark.parametrize(
    ("loading", "what", "why"),
    [
        (Loading(swing=0.0), "upright", STABLE),
        (Loading(swing=9.0), "rolling about upright", STABLE),
        (Loading(kg=5.5, swing=0.0), "neutral: she stays where she is put",
         "GM +0.000 m: upright is neutral"),
        (Loading(swing=0.0, lever=0.1, about=10.4), "held over 10° to starboard",
         "lever 0.10 m to starboard"),
        (Loading(swing=0.0, lever=-0.1, about=-10.4), "held over 10° to port",
         "lever 0.10 m to port"),
        (Loading(swing=0.0, off_centre=0.1, about=10.4), "lies with a list of 10° to starboard",
         "G 0.10 m to starboard"),
        (Loading(swing=8.0, off_centre=-0.1, about=-9.8), "rolling about 10° to port",
         "G 0.10 m to port"),
        (Loading(swing=0.0, off_centre=0.15, lever=-0.05, about=10.4), "held over 10° to starboard",
         "lever 0.05 m port; G 0.15 m starboard"),
        (LOLL._replace(swing=0.0, about=20.4), "at her angle of loll, 20° to starboard", UNSTABLE),
        (LOLL._replace(swing=0.0, about=-20.4), "at her angle of loll, 20° to port", UNSTABLE),
        (LOLL._replace(swing=0.0, about=-25.0), "rolling about her loll of 20° to port",
         UNSTABLE),
        (LOLL._replace(swing=0.0), "near upright, and unstable there", UNSTABLE),
        (LOLL._replace(swing=40.0), "flopping over to starboard", UNSTABLE),
        (LOLL._replace(swing=0.0, about=10.0, off_centre=-0.2),
         "swinging across to her loll of 31° to port", "GM −0.20 m; G 0.20 m to port"),
        (LOLL._replace(swing=0.0, about=22.4, off_centre=0.02),
         "at her angle of loll, 22° to starboard", "GM −0.20 m; G 0.020 m to starboard"),
        (Loading(swing=0.0, about=45.0), "past the roll limit of 40°", "rolling about upright"),
        (Loading(swing=0.0, lever=5.0), "going over to starboard",
         "no heel holds her: lever 5.00 m to starboard"),
    ],
)  # fmt: skip
def test_caption_says_what_is_seen(loading: Loading, what: str, why: str) -> None:
    assert said(loading, 10.5 if loading.swing == 40.0 else 10.0) == [(what, why)]


def vanishing(**changes: float) -> xr.Dataset:
    """A hull whose GZ vanishes at 45°; at 20 s she is where she is put, without a rate."""
    ds = study([Loading(swing=0.0, **changes)])  # type: ignore[arg-type]
    falling = np.sin(np.radians(180.0 / 45.0 * HEEL)) * 0.3
    ds["righting_lever"] = (("case", "heel"), falling[None])
    ds["roll_limit"][:] = np.nan
    return ds


def test_caption_says_when_she_is_past_vanishing() -> None:
    ds = vanishing(about=55.0)
    words = captions(ds, 0, 0, track(ds, 0, 0, np.array([3.0])))
    reason = "past her barrier: she does not turn back"
    assert words == [("going over to starboard", reason)]


def test_a_ship_pressed_beyond_her_barrier_is_going_over_and_not_righting() -> None:
    """At 40° under a lever of 0.25 m her own lever still rights her, and does not hold her."""
    ds = vanishing(about=40.0, lever=0.25)
    ds["roll_rate"][:] = 2.0
    run = track(ds, 0, 0, np.array([3.0]))
    assert run.scene.lever[0] > 0.0
    assert captions(ds, 0, 0, run)[0][0] == "going over to starboard"


def test_a_stable_list_of_fifteen_degrees_is_a_list() -> None:
    across = 0.5 * np.tan(np.radians(15.0)) + 1.45 * np.tan(np.radians(15.0)) ** 3
    (words,) = said(Loading(swing=0.0, off_centre=float(across), about=15.0), 10.0)
    assert words[0] == "lies with a list of 15° to starboard"


@pytest.mark.parametrize(("law", "power"), [("cos", 1), ("cos2", 2)])
def test_a_lever_that_falls_off_with_heel_is_worked_back_by_its_law(law: str, power: int) -> None:
    """At 10° she feels less of the lever than upright; the well does not wander as she rolls."""
    ds = study([Loading(swing=5.0, about=10.0, lever=0.1)])
    ds["steady_heeling_lever"][0] = 0.1 * np.cos(np.radians(HEEL)) ** power
    felt = 0.1 * np.cos(np.radians(ds["roll_angle"].values)) ** power
    ds["heeling_lever"] = (ds["heeling_lever"].dims, felt)
    run = track(ds, 0, 0, np.arange(3.0, 10.0, 0.5))
    assert run.law == law
    assert np.ptp(run.verdicts.well) < np.radians(0.05)
    well = run.verdicts.well
    assert_allclose(righting_lever(well, 5.0), 0.1 * np.cos(well) ** power, atol=1e-4)


@pytest.mark.parametrize("name", ["righting_lever", "centre_of_gravity_y", "centre_of_gravity_z"])
def test_where_levers_are_not_known_nothing_is_made_up(name: str) -> None:
    ds = study([Loading(swing=5.0)])
    ds[name] = (ds[name].dims, np.full(ds[name].shape, np.nan))
    words = captions(ds, 0, 0, track(ds, 0, 0, np.array([3.0, 40.0])))
    assert [what for what, _ in words] == ["her levers are not known"] * 2
    assert asked(ds, 0, 0).answer == ""


def test_the_table_can_be_handed_on() -> None:
    rows = verdict_table()
    assert [row["name"] for row in rows] == list(RULES) == list(VERDICTS)
    assert all(row["when"] and row["words"] for row in rows)
    assert json.loads(json.dumps(rows)) == rows
    assert json.loads(json.dumps(BORDERS)) == BORDERS


def test_run_that_has_ended_says_how() -> None:
    loading = Loading(swing=0.0, about=30.0, end=20.2)
    assert said(loading, 25.0) == [("capsized at 20.2 s", "end of the run")]
    assert said(loading, 19.0)[0][0] != "capsized at 20.2 s"


def test_survivor_is_named_at_the_end_only() -> None:
    first, last = said(Loading(swing=5.0), 39.0, 40.0)
    assert first[0] == "rolling about upright"
    assert last == ("rolling about upright", "end of the run: no limit passed")


def test_a_lolling_ship_lolls_to_the_end() -> None:
    (last,) = said(LOLL._replace(swing=0.0, about=20.4), 40.0)
    assert last == (
        "at her angle of loll, 20° to starboard", "end of the run: no limit passed"
    )  # fmt: skip


def test_solver_that_gave_up_is_named() -> None:
    ds = study([Loading(end=20.2)])
    ds["outcome"][:] = int(Outcome.NOT_SOLVED)
    words = captions(ds, 0, 0, track(ds, 0, 0, np.array([30.0])))
    assert words == [("the solver gave up at 20.2 s", "end of the run")]


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
