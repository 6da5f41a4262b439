"""What each demo scenario tells: claims of its title and comments, checked on its result."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
import xarray as xr
from numpy.typing import NDArray

from rollsim.names import Outcome
from rollsim.show.query.criteria import overall, rows_of
from rollsim.show.query.loading import stored

Array = NDArray[np.float64]
Story = Callable[[xr.Dataset], None]


def case(ds: xr.Dataset, name: str) -> xr.Dataset:
    """The case of the condition `name`."""
    return ds.isel(case=list(ds["condition"].values).index(name))


def roll(of: xr.Dataset, start: float = 0.0, end: float = np.inf) -> Array:
    """Roll angles [degree] of a case from `start` to `end` [s], (realisation, t)."""
    t = of["t"].values
    return np.asarray(of["roll_angle"].values[:, (t >= start) & (t <= end)], dtype=np.float64)


def swings(of: xr.Dataset) -> Array:
    """Sizes [degree] of the extremes of the only run, in order of time."""
    angle = roll(of)[0]
    turn = np.flatnonzero(np.diff(angle)[:-1] * np.diff(angle)[1:] < 0.0) + 1
    return np.asarray(np.abs(angle[turn]), dtype=np.float64)


def failures(of: xr.Dataset) -> NDArray[np.bool_]:
    """Which runs passed a limit."""
    return np.asarray(of["outcome"].values >= Outcome.ROLL_LIMIT)


def three_metacentric_heights(ds: xr.Dataset) -> None:
    """She rights, stays about where she is put, lies over at loll."""
    assert (ds["outcome"] == Outcome.SURVIVED).all()
    assert ds["gm"].values.round(9).tolist() == [0.40, 0.0, -0.10]
    rights, stays, lolls = (case(ds, name) for name in ("GM 0.40 m", "GM zero", "GM -0.10 m"))
    assert np.abs(roll(rights, 100.0)).max() < 0.2
    assert rights["roll_min"] < -0.5
    assert 0.7 < roll(stays)[0, -1] < 0.8
    assert np.all(np.diff(roll(stays)[0]) <= 0.0)
    loll = float(lolls["loll_angle"])
    assert abs(loll - 15.3) < 0.1
    assert lolls["roll_max"] > 1.2 * loll
    assert np.abs(roll(lolls, 90.0)[0] - loll).max() < 1.5


def free_decay(ds: xr.Dataset) -> None:
    """Linear damping clears small rolls, quadratic cuts large ones, the measured lies between."""
    linear, quadratic, measured = (
        swings(case(ds, name)) for name in ("linear", "quadratic", "extinction")
    )
    assert quadratic[0] < measured[0] < linear[0]
    assert linear[-1] < measured[-1] < quadratic[-1]
    for sizes in (linear, quadratic, measured):
        assert np.all(np.diff(sizes) < 0.0)
        near = int(np.argmin(np.abs(sizes - 15.5)))
        assert 2.3 < sizes[near] - sizes[near + 1] < 2.9
    shares = linear[1:10] / linear[:9]
    assert np.ptp(shares) < 0.06
    assert np.ptp(quadratic[1:10] / quadratic[:9]) > 0.1


def loll_corrections(ds: xr.Dataset) -> None:
    """Right: the heel grows, then she comes upright. Wrong: she flops, and lies further over."""
    right, wrong = case(ds, "right: low side first"), case(ds, "wrong: to the high side")
    loll = float(right["loll_angle"])
    for start in (right, wrong):
        assert abs(roll(start)[0, 0] - loll) < 1e-3
    assert loll + 2.0 < right["roll_max"] < loll + 5.0
    assert roll(right, 0.0, 900.0).min() > loll - 0.01
    assert right["roll_min"] > -1.0
    assert np.abs(roll(right, 2000.0)).max() < 0.1
    assert wrong["roll_max"] < loll + 0.01
    assert wrong["roll_min"] < -(loll + 8.0)
    assert np.all(roll(wrong, 1000.0) < -(loll + 5.0))
    lowered = right["centre_of_gravity_z"].values
    assert lowered[-1] < 5.66 < lowered[0]
    assert np.ptp(wrong["centre_of_gravity_z"].values) < 1e-9


def gust_on_roll(ds: xr.Dataset) -> None:
    """The tender ship goes over when the gust strikes at the windward end, and only then."""
    stiffer, calm, leeward, windward = (ds.isel(case=i, realisation=0) for i in range(4))
    lost = [Outcome.SURVIVED] * 3 + [Outcome.CAPSIZED]
    assert ds["outcome"].values[:, 0].tolist() == lost
    gust = ds["heeling_lever"].max("t").values[:, 0]
    assert gust[0] == gust[2] == gust[3] > 1.9 * gust[1]
    assert stiffer["energy_margin"] > 0.4
    assert windward["energy_margin"] < 0.0
    assert 0.3 < calm["energy_margin"] < stiffer["energy_margin"]
    assert abs(leeward["roll_max"] - calm["roll_max"]) < 0.1
    assert stiffer["roll_max"] > calm["roll_max"]
    assert ds["static_heel"].values.min() > 5.0
    assert np.abs(ds["roll_angle"].values[:, 0, 0] + 20.0).max() < 1e-4


def cargo_shift(ds: xr.Dataset) -> None:
    """Without a shift she holds, with a small one she lists, with a larger one she floods."""
    stays, lists, floods = (
        case(ds, name) for name in ("cargo stays", "100 t shift", "180 t shift")
    )
    assert not failures(stays).any()
    assert not failures(lists).any()
    assert failures(floods).all()
    assert floods["failure_time"].values.min() > 200.0
    before = [roll(ship, 0.0, 200.0) for ship in (stays, lists, floods)]
    assert np.abs(before[1] - before[0]).max() < 1e-3
    assert np.abs(before[2] - before[0]).max() < 1e-3
    assert np.abs(stays["roll_max"].values).max() < 15.0
    assert np.abs(roll(lists, 400.0).mean(axis=1) - 15.5).max() < 1.5
    assert np.nanmean(roll(floods, 400.0)) > 20.0
    assert ds["centre_of_gravity_y"].values[:, -1].round(3).tolist() == [0.0, 0.118, 0.212]


def beam_gale(ds: xr.Dataset) -> None:
    """Low cargo rolls most and lives; the squall takes deck cargo over in some of the seas."""
    low, full, deck = (case(ds, name) for name in ("low cargo", "full holds", "deck cargo"))
    assert not failures(low).any()
    assert not failures(full).any()
    lost = failures(deck)
    assert 3 <= np.count_nonzero(lost) <= lost.size - 3
    assert (deck["outcome"] == Outcome.CAPSIZED).sum() >= 2
    assert np.all(deck["failure_time"].values[lost] > 600.0)
    low_std, full_std, deck_std = (roll(ship, 60.0, 600.0).std() for ship in (low, full, deck))
    assert low_std > deck_std > full_std
    assert low["roll_max"].max() < 30.0
    assert abs(deck["gm"] - 0.11) < 1e-9


def gale_sweep(ds: xr.Dataset) -> None:
    """More fail the higher G is and the higher the waves; at low KG she floods at worst."""
    failed = np.count_nonzero(ds["outcome"].values >= Outcome.ROLL_LIMIT, axis=1).reshape(5, 4)
    lost = np.count_nonzero(ds["outcome"].values == Outcome.CAPSIZED, axis=1).reshape(5, 4)
    assert ds["kg"].values[::4].tolist() == [5.20, 5.30, 5.40, 5.50, 5.58]
    assert ds["significant_height"].values[:4].tolist() == [4.0, 6.0, 8.0, 10.0]
    assert np.all(np.diff(failed[2:], axis=0) >= 0)
    assert np.abs(np.diff(failed[:3], axis=0)).max() <= 2
    assert np.all(np.diff(failed, axis=1) >= 0)
    assert failed[0, 0] == 0
    assert failed[4, 3] >= 8
    assert failed[0, 3] >= 1
    assert not lost[:3].any()
    assert lost[4].sum() > 0.5 * lost.sum() > 0.0


def head_seas(ds: xr.Dataset) -> None:
    """In tune the roll grows past twenty degrees from two; else it dies."""
    tuned, slower, stiff = (case(ds, name) for name in ("in tune", "slower", "stiff in waves"))
    assert np.abs(roll(tuned, 500.0)).max() > 18.0
    assert max(tuned["roll_max"].values[0], -tuned["roll_min"].values[0]) > 20.0
    assert np.abs(roll(slower, 500.0)).max() < 0.2
    assert np.abs(roll(stiff, 500.0)).max() < 0.2
    assert not failures(ds).any()
    assert np.isnan(ds["failure_probability"].values).all()


def irregular_head_seas(ds: xr.Dataset) -> None:
    """Slow she rolls up in some storms; faster, or by one number, the roll hardly grows."""
    slow, faster, simple = (case(ds, name) for name in ("slow", "faster", "one number"))
    greatest = [
        np.maximum(of["roll_max"].values, -of["roll_min"].values) for of in (slow, faster, simple)
    ]
    assert np.median(greatest[0]) > 8.0
    assert greatest[0].max() > 20.0
    assert greatest[1].max() < 3.0
    assert greatest[2].max() < 8.0
    assert failures(slow).any()
    assert np.isfinite(ds["flooding_limit"].values).all()
    assert np.isfinite(ds["section_y"].values).any()


def crest_of_a_following_sea(ds: xr.Dataset) -> None:
    """The squall on the crest takes her over; in the trough she heels less than in still water."""
    crest, trough, still = (case(ds, name) for name in ("crest", "trough", "still water"))
    assert (crest["outcome"] == Outcome.CAPSIZED).all()
    assert 100.0 < float(crest["failure_time"].values[0]) < 130.0
    assert float(trough["roll_max"].values[0]) < float(still["roll_max"].values[0]) - 5.0
    assert not failures(trough).any()
    assert not failures(still).any()


def four_loadings(ds: xr.Dataset) -> None:
    """Each finds its own draught and GM; in ballast she rolls most, with timber least."""
    departure, arrival, ballast, timber = (
        case(ds, name) for name in ("departure", "arrival", "ballast", "timber")
    )
    gm = [float(of["gm"]) for of in (timber, departure, arrival, ballast)]
    assert gm == sorted(gm)
    assert gm[0] == pytest.approx(0.137, abs=2e-3)
    draught = [float(of["draught"]) for of in (ballast, arrival, timber, departure)]
    assert draught == sorted(draught)
    rolls = [float(of["roll_std"].mean()) for of in (timber, departure, ballast)]
    assert rolls == sorted(rolls)
    assert float(timber["roll_period"]) > 2.0 * float(ballast["roll_period"])
    assert failures(ballast).any()
    assert not failures(departure).any()


def papers_to_report(ds: xr.Dataset) -> None:
    """Both sheets fulfil the general criteria; six storms do not tell which she stands better."""
    departure, arrival = (case(ds, name) for name in ("departure", "arrival, timber wet"))
    assert float(departure["gm"]) == pytest.approx(0.303, abs=2e-3)
    assert float(arrival["gm"]) == pytest.approx(0.202, abs=2e-3)
    assert not failures(ds).any()
    assert departure["severity_factor"].values.min() == pytest.approx(1.09, abs=0.01)
    assert arrival["severity_factor"].values.min() == pytest.approx(1.13, abs=0.01)
    ratio = departure["severity_factor"].values / arrival["severity_factor"].values
    assert ratio.min() < 0.95 < 1.05 < ratio.max()
    general, weather, long_periods = (
        {overall([row for row in rows_of(ds) if (row["case"], row["rule"]) == (i, rule)])
         for i in range(2)}
        for rule in ("general", "weather", "weather-long-periods")
    )  # fmt: skip
    assert general == long_periods == {"fulfilled"}
    assert weather == {"no verdict"}
    sheets = stored(ds)
    assert [round(sheet["displacement_t"], 1) for sheet in sheets] == [3940.1, 3831.2]
    assert np.isfinite(ds["flooding_limit"].values).all()


def limiting_kg(ds: xr.Dataset) -> None:
    """Cargo on deck lies higher and catches more wind: she heels further under it."""
    full, deck = (ds.isel(case=ds["condition"] == name) for name in ("full holds", "deck cargo"))
    assert full["significant_height"].values.tolist() == [4.0, 5.0, 6.0, 7.0, 8.0]
    assert np.all(deck["gm"].values < full["gm"].values)
    assert np.all(deck["static_heel"].values > full["static_heel"].values + 2.0)
    assert not failures(full).any()


def gusty_wind(ds: xr.Dataset) -> None:
    """The gusts add to the wandering of the list and to the greatest rolls of the same seas."""
    steady, gusty = (case(ds, name) for name in ("steady wind", "gusty wind"))
    assert np.isfinite(ds["capsize_probability"].values).all()
    assert gusty["roll_std"].values.mean() > 1.1 * steady["roll_std"].values.mean()
    assert gusty["limit_margin"].values.min() < steady["limit_margin"].values.min()
    # Her levers stiffen with the heel, and σ² adds 2 % to V²: the wider roll has the smaller mean.
    means = [ds["roll_mean"].values.mean() for ds in (gusty, steady)]
    assert 0.0 < means[0] < means[1] < steady["static_heel"].values.max()


def criteria_coaster(ds: xr.Dataset) -> None:
    """One loading fulfils all, one lacks area to 30 degrees, one has no GM and passes nothing."""
    rows = rows_of(ds)
    verdicts = {
        (row["condition"], row["rule"]): overall(
            [r for r in rows if (r["case"], r["rule"]) == (row["case"], row["rule"])]
        )
        for row in rows
    }
    for rule in ("general", "weather", "weather-long-periods"):
        assert verdicts["ore in the holds", rule] == "fulfilled"
        assert verdicts["timber and ice", rule] != "fulfilled"
    assert verdicts["deck cargo", "general"] == "NOT fulfilled"
    assert verdicts["deck cargo", "weather"] == "no verdict"
    assert verdicts["deck cargo", "weather-long-periods"] == "fulfilled"
    lacking = [r["quantity"] for r in rows if r["case"] == 1 and r["fulfilled"] is False]
    assert lacking == ["area_to_30"]
    assert np.isfinite(ds["loll_angle"].values).tolist() == [False, False, True]


STORIES: dict[str, Story] = {
    "beam-gale": beam_gale,
    "cargo-shift": cargo_shift,
    "criteria-coaster": criteria_coaster,
    "four-loadings": four_loadings,
    "free-decay": free_decay,
    "gale-sweep": gale_sweep,
    "gust-on-roll": gust_on_roll,
    "gusty-wind": gusty_wind,
    "head-seas": head_seas,
    "irregular-head-seas": irregular_head_seas,
    "crest-of-a-following-sea": crest_of_a_following_sea,
    "limiting-kg": limiting_kg,
    "papers-to-report": papers_to_report,
    "loll-corrections": loll_corrections,
    "three-metacentric-heights": three_metacentric_heights,
}
"""The story of each scenario file, by the stem of its name."""
