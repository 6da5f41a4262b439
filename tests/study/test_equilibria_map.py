"""The map of equilibria of a study: what it holds, and what is refused."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from batch_samples import plan_of
from hypothesis import given, settings
from hypothesis import strategies as st

from rollsim.errors import InputError
from rollsim.ship.equilibria import equilibria
from rollsim.show.query.equilibria import fold_lines
from rollsim.steady.resting import Point, heels_at
from rollsim.store.maps import open_map
from rollsim.study.at_value import case_with
from rollsim.study.equilibria import equilibria_arrays, equilibria_of, equilibria_to_file
from rollsim.study.plan import Plan
from rollsim.study.rest_family import Family
from rollsim.study.workers import Where

TABLES = {
    "ship.levers": 'kind = "wall-sided"\nkm_m = 5.66\nbm_m = 3.0\nheel_max_deg = 60.0',
    "ship.gravity": "kg_m = 5.5\noff_centre_m = -0.02",
    "ship.damping": "linear_per_s = 0.1",
    "equilibria": 'key = "ship.gravity.kg_m"\nfrom = 5.4\nto = 5.9',
}


def plan(more: str = "", **tables: str) -> Plan:
    return plan_of(TABLES | tables, more)


def test_the_file(tmp_path: Path) -> None:
    path = tmp_path / "x-equilibria.nc"
    more = '[sweep]\n"ship.gravity.off_centre_m" = [-0.02, 0.0]\n'
    levers = TABLES["ship.levers"].replace("60.0", "35.0")
    assert equilibria_to_file(plan(more, **{"ship.levers": levers}), path, where=Where(1))
    with open_map(path, "equilibria") as ds:
        assert ds["heel"].dims == ("case", "branch", "point")
        assert ds["value"].attrs["units"] == "m"
        assert ds["off_centre"].values.tolist() == [-0.02, 0.0]
        assert np.isfinite(ds["fold_value"].values).tolist() == [[True], [False]]
        assert ds["branching_value"].values[1] == pytest.approx([5.66])
        assert ds["present_value"].values == pytest.approx([5.5, 5.5])
        # From the wrong side she is thrown over at the fold, and does not come back to it.
        down, up = np.split(ds["track_heel"].values[0, 1], [301])
        assert down[0] > 10.0
        assert up[-1] < -10.0
        lost = ds["track_value"].values[0, int(np.argmax(down < 0.0))]
        assert lost == pytest.approx(float(ds["fold_value"].values[0, 0]), abs=0.02)


def test_the_line_of_folds_is_the_cusp_of_a_wall_sided_ship(tmp_path: Path) -> None:
    """GM³ = −27 BM y² / 8: the discriminant of (BM/2) t³ + GM t − y is zero."""
    path = tmp_path / "x-equilibria.nc"
    more = '[sweep]\n"ship.gravity.off_centre_m" = { from = -0.03, to = 0.03, steps = 7 }\n'
    assert equilibria_to_file(plan(more, **{"ship.damping": ""}), path, where=Where(1))
    with open_map(path, "equilibria") as ds:
        off_centre = ds["off_centre"].values
        exact = 5.66 + np.cbrt(27.0 * 3.0 * off_centre**2 / 8.0)
        folds, crossings = ds["fold_value"].values[:, 0], ds["branching_value"].values[:, 0]
        assert np.where(off_centre == 0.0, crossings, folds) == pytest.approx(exact, abs=1e-7)
        (line,) = fold_lines(ds, list(range(7)), "off_centre")
        assert line[0] == pytest.approx(off_centre)
        assert line[1] == pytest.approx(exact, abs=1e-7)


def test_a_range_that_goes_on_where_no_static_heel_is_left() -> None:
    """The start of the case does not limit the map: there a fold is what is looked for."""
    levers = 'kind = "polynomial"\ngz_m_per_rad = [0.4, 0, -0.5]\nkg_m = 5.0\nheel_max_deg = 80.0'
    tables = {"ship.levers": levers, "ship.gravity": "kg_m = 5.0", "start": 'roll_deg = "static"'}
    table = 'key = "ship.gravity.off_centre_m"\nfrom = 0.0\nto = 0.4'
    study = plan(equilibria=table, **tables)
    arrays = equilibria_arrays(study, 0, equilibria_of(study))
    # The greatest of (0.4 φ − 0.5 φ³) / cos φ.
    heel = np.linspace(0.0, 1.0, 200_001)
    assert arrays["fold_value"] == pytest.approx(
        [np.max((0.4 * heel - 0.5 * heel**3) / np.cos(heel))], abs=1e-8
    )


KEYS = {
    "ship.gravity.kg_m": (5.4, 5.9),
    "ship.gravity.off_centre_m": (-0.05, 0.05),
    "ship.gravity.free_surface_m": (0.0, 0.4),
    "wind.speed_mps": (0.0, 40.0),
    "events.0.mass_t": (1.0, 60.0),
    "events.1.lever_m": (-0.05, 0.05),
}
MORE = (
    '[[events]]\nkind = "add-weight"\nat_s = 5.0\nover_s = 2.0\nmass_t = 30.0\nheight_m = 9.0\n'
    'across_m = 1.0\n[[events]]\nkind = "heeling-lever"\nat_s = 4.0\nover_s = 1.0\nlever_m = 0.01\n'
)
BLOWN = {
    "ship.windage": "area_m2 = 400.0\nlever_m = 6.0",
    "wind": 'speed_mps = 12.0\nfrom = "port"',
}


@pytest.mark.parametrize("key", KEYS)
def test_its_branches_hold_every_equilibrium(key: str) -> None:
    low, high = KEYS[key]
    table = f'key = "{key}"\nfrom = {low}\nto = {high}'
    study = plan(MORE, equilibria=table, **BLOWN)
    arrays = equilibria_arrays(study, 0, equilibria_of(study))
    family = Family(study, 0, equilibria_of(study))

    @settings(max_examples=12, deadline=None)
    @given(st.floats(0.01, 0.99))
    def holds(share: float) -> None:
        value = low + share * (high - low)
        curve = family.loadings([value])[0].curve(0)
        true = sorted(e.heel for e in equilibria(curve))
        followed = sorted(
            heel
            for v, h in zip(arrays["value"], np.radians(arrays["heel"]), strict=True)
            for heel in heels_at(
                [Point(a, b, 0.0, 0.0) for a, b in zip(v, h, strict=True) if np.isfinite(a)], value
            )
        )
        near = [heel for heel in true if abs(heel) < np.radians(59.9)]
        for heel in near:
            # Straight lines between points: off by the square of their distance.
            assert min(abs(heel - other) for other in followed) < 3e-3

    holds()


def test_events_count_as_complete() -> None:
    study = plan(MORE, **BLOWN)
    case = case_with(study.study, 0, {"ship.gravity.kg_m": 5.5})
    loading = Family(study, 0, equilibria_of(study)).loadings([5.5])[0]
    share = 30.0 / study.cases[0].coefficients.inertia  # only to see that the case is the same
    assert case.gravity.kg == 5.5
    assert share > 0.0
    displacement = study.study.base.ship.displacement_t
    mass = 1.0 + 30.0 / displacement
    assert loading.kg[0] == pytest.approx((5.5 + 30.0 / displacement * 9.0) / mass)
    assert loading.lever[0] == pytest.approx(0.01)


def test_a_key_that_moves_nothing() -> None:
    study = plan(equilibria='key = "ship.inertia.gyradius_m"\nfrom = 4.0\nto = 6.0')
    with pytest.raises(InputError, match=r"gyradius_m moves no equilibrium between 4 and 6"):
        equilibria_arrays(study, 0, equilibria_of(study))


def test_a_range_without_any_rest(tmp_path: Path) -> None:
    blown = BLOWN | {"wind": 'speed_mps = 12.0\nfrom = "port"'}
    levers = (
        'kind = "polynomial"\ngz_m_per_rad = [0.05, 0.0, -0.1]\nkg_m = 5.0\nheel_max_deg = 50.0'
    )
    study = plan(
        equilibria='key = "wind.speed_mps"\nfrom = 60.0\nto = 90.0',
        **(blown | {"ship.levers": levers, "ship.gravity": "kg_m = 5.0"}),
    )
    with pytest.raises(InputError, match="nothing is at rest from 60 to 90"):
        equilibria_to_file(study, tmp_path / "x.nc", where=Where(1))


@pytest.mark.parametrize(
    ("table", "words"),
    [
        ('key = "ship.gravity.kg_m"\nfrom = 5.9\nto = 5.4', "must be above from, 5.9, got 5.4"),
        ('key = "ship.gravity.kgm"\nfrom = 5.4\nto = 5.9', "unknown key"),
        ('key = "ship.name"\nfrom = 5.4\nto = 5.9', "cannot be searched over|holds a number"),
    ],
)
def test_what_is_refused(table: str, words: str) -> None:
    with pytest.raises(InputError, match=words):
        plan(equilibria=table)


def test_without_the_table() -> None:
    tables = {name: text for name, text in TABLES.items() if name != "equilibria"}
    with pytest.raises(InputError, match="add the table"):
        equilibria_of(plan_of(tables, ""))
