"""What is drawn is what the numbers say: the data of the artists against the closed form."""

from __future__ import annotations

from typing import TypeVar

import numpy as np
import pytest
from animation_samples import (
    Loading,
    buoyancy,
    metacentre,
    righting_lever,
    study,
    turned,
)
from matplotlib.lines import Line2D
from matplotlib.patches import Polygon
from matplotlib.path import Path
from numpy.testing import assert_allclose
from show_samples import drawn

from rollsim.show.animation.curves import LeverPanel, PhasePanel
from rollsim.show.animation.film import Film, film
from rollsim.show.animation.plan import Wishes, plan
from rollsim.show.animation.section import DetailPanel, Points, SectionPanel
from rollsim.show.query.section import to_earth

LOADINGS = {
    "upright": Loading(kg=5.1),
    "listed": Loading(kg=5.1, off_centre=0.2, about=10.0),
    "with free surfaces": Loading(kg=5.0, free_surface=0.2),
    "at loll": Loading(kg=5.7, about=20.0),
    "in waves": Loading(kg=5.2, wave=6.0),
}
FINE = 4e-3
"""Curves are stored every half degree and joined by straight lines [m]."""


def made(loading: Loading, **wishes: object) -> Film:
    """The film of one loading."""
    ds = study([loading])
    return film(ds, plan(ds, [(0, 0)], Wishes(fps=5, **wishes)))  # type: ignore[arg-type]


P = TypeVar("P", bound=Points)


def panel(whole: Film, kind: type[P]) -> P:
    """The one panel of a kind."""
    found = [each for each in whole.panels if isinstance(each, kind)]
    assert len(found) == 1
    return found[0]


def point(line: Line2D) -> np.ndarray:
    """The one point of a line."""
    return np.array(drawn(line))[:, 0]


@pytest.mark.parametrize("loading", LOADINGS.values(), ids=LOADINGS)
def test_points_of_the_section_are_those_of_the_closed_form(loading: Loading) -> None:
    whole = made(loading)
    shown = panel(whole, SectionPanel)
    for frame in range(0, whole.count, 7):
        whole.update(frame)
        roll = np.radians(shown.run.roll[[frame]])
        heel = np.radians(shown.run.heel[[frame]])
        lift = np.array([[0.0], [float(shown.run.scene.rise[frame])]])
        expected = {
            "G": np.array([[loading.off_centre], [loading.kg]]),
            "B": buoyancy(heel),
            "M": metacentre(heel),
        }
        for name, place in expected.items():
            found = point(shown.marks[name])
            where = (turned(place, roll) + lift)[:, 0]
            if np.isfinite(found).all():
                assert_allclose(found, where, atol=FINE)
            else:
                assert not shown.inside(where)
            assert_allclose(point(shown.letters[name]), found)


@pytest.mark.parametrize("loading", LOADINGS.values(), ids=LOADINGS)
def test_lever_is_drawn_as_long_as_the_curve_says(loading: Loading) -> None:
    whole = made(loading)
    for kind in (SectionPanel, DetailPanel):
        shown = panel(whole, kind)
        for frame in range(0, whole.count, 7):
            whole.update(frame)
            ends = np.array(drawn(shown.lever))
            heel = np.radians(shown.run.heel[frame])
            virtual = loading.kg + loading.free_surface
            expected = float(righting_lever(heel, virtual, loading.off_centre))
            slope = np.radians(shown.run.slope[frame])
            step = ends[:, 1] - ends[:, 0]
            assert_allclose(np.hypot(*step), abs(expected), atol=FINE)
            assert_allclose(step, expected * np.array([np.cos(slope), -np.sin(slope)]), atol=FINE)


@pytest.mark.parametrize("loading", LOADINGS.values(), ids=LOADINGS)
def test_weight_and_buoyancy_stand_across_the_water_through_their_points(loading: Loading) -> None:
    whole = made(loading)
    shown = panel(whole, SectionPanel)
    scene = shown.run.scene
    for frame in range(0, whole.count, 11):
        whole.update(frame)
        surface = np.diff(np.array(drawn(shown.surface)), axis=1)[:, 0]
        assert_allclose(np.arctan2(-surface[1], surface[0]), scene.slope[frame], atol=1e-12)
        for line, at in ((shown.weight, scene.virtual), (shown.force, scene.buoyancy)):
            start, end = np.array(drawn(line)).T
            assert_allclose(surface @ (end - start), 0.0, atol=1e-9)
            assert_allclose(surface @ (at[:, frame] - start) / np.hypot(*surface), 0.0, atol=FINE)
        assert drawn(shown.weight)[1][1] < drawn(shown.weight)[1][0]


def test_detail_shows_the_same_points_about_g() -> None:
    whole = made(LOADINGS["with free surfaces"])
    detail = panel(whole, DetailPanel)
    scene = detail.run.scene
    for frame in range(0, whole.count, 11):
        whole.update(frame)
        assert_allclose(point(detail.marks["Gv"]), 0.0, atol=1e-12)
        expected = scene.gravity[:, frame] - scene.virtual[:, frame]
        assert_allclose(point(detail.marks["G"]), expected, atol=1e-12)
        foot = point(detail.letters["Z"])
        assert_allclose(foot, np.array(drawn(detail.lever))[:, 1])


def test_hull_turns_as_the_roll_says_and_m_runs_on_its_path() -> None:
    whole = made(LOADINGS["in waves"])
    shown = panel(whole, SectionPanel)
    for frame in (0, 20, 60):
        whole.update(frame)
        ship, scene = shown.run.ship, shown.run.scene
        expected = to_earth(ship.outline, scene.roll[frame], scene.rise[frame], ship.draught)
        assert isinstance(shown.hull, Polygon)
        assert_allclose(shown.hull.get_xy()[:-1].T, expected)
        path = np.array(drawn(shown.path))
        m = scene.metacentre[:, frame]
        assert np.hypot(*(path - m[:, None])).min() < 0.1


def test_scales_are_equal_across_and_up() -> None:
    whole = made(LOADINGS["in waves"])
    whole.draw(0)
    for kind in (SectionPanel, DetailPanel):
        axes = panel(whole, kind).axes
        box = axes.get_window_extent()
        assert_allclose(np.ptp(axes.get_xlim()) / box.width, np.ptp(axes.get_ylim()) / box.height)


def test_hull_never_leaves_its_panel() -> None:
    whole = made(Loading(swing=50.0, wave=8.0))
    shown = panel(whole, SectionPanel)
    whole.draw(0)
    (left, right), (low, high) = shown.axes.get_xlim(), shown.axes.get_ylim()
    for frame in range(0, whole.count, 3):
        whole.update(frame)
        x, y = shown.hull.get_xy().T
        assert left < x.min()
        assert x.max() < right
        assert low < y.min()
        assert y.max() < high


@pytest.mark.parametrize("loading", LOADINGS.values(), ids=LOADINGS)
def test_points_on_the_curves_are_those_of_the_run(loading: Loading) -> None:
    whole = made(loading)
    lever = next(each for each in whole.panels if isinstance(each, LeverPanel))
    phase = next(each for each in whole.panels if isinstance(each, PhasePanel))
    for frame in range(0, whole.count, 9):
        whole.update(frame)
        heel, gz = point(lever.point)
        assert_allclose(heel, lever.run.roll[frame] - lever.run.slope[frame])
        virtual = loading.kg + loading.free_surface
        expected = righting_lever(np.radians(heel), virtual, loading.off_centre)
        assert_allclose(gz, expected, atol=FINE)
        assert_allclose(np.interp(heel, *drawn(lever.curve)), gz, atol=FINE)
        assert_allclose(point(phase.point), [heel, lever.run.heel_rate[frame]])


def test_curve_follows_a_weight_that_moves() -> None:
    loading = Loading(kg=5.1, moved=0.15)
    whole = made(loading)
    lever = next(each for each in whole.panels if isinstance(each, LeverPanel))
    for frame, across in ((0, 0.0), (whole.count - 1, 0.15)):
        whole.update(frame)
        heel, gz = drawn(lever.curve)
        assert_allclose(gz, righting_lever(np.radians(heel), 5.1, across), atol=1e-9)


def test_between_stored_points_the_roll_is_that_of_the_run() -> None:
    ds = study([Loading(swing=20.0)])
    track = film(ds, plan(ds, [(0, 0)], Wishes(fps=50))).panels[0]
    assert isinstance(track, Points)
    run = track.run
    assert_allclose(run.roll, 20.0 * np.sin(0.6 * run.times), atol=1e-3)


def test_frames_hold_what_changes_and_nothing_of_the_frame_before() -> None:
    whole = made(LOADINGS["listed"])
    first = whole.draw(3).copy()
    whole.draw(40)
    assert np.array_equal(whole.draw(3), first)
    assert not np.array_equal(whole.draw(40), first)


def test_waves_that_act_as_a_moment_leave_the_water_level() -> None:
    ds = study([LOADINGS["in waves"]])
    ds["excitation"] = ("case", np.array(["absolute"], dtype=object))
    whole = film(ds, plan(ds, [(0, 0)], Wishes(fps=5)))
    shown = panel(whole, SectionPanel)
    whole.update(20)
    assert_allclose(drawn(shown.surface)[1], 0.0, atol=1e-12)
    assert_allclose(shown.run.heel, shown.run.roll)
    said = " ".join(text.get_text() for text in whole.figure.texts)
    assert "Waves act as a moment here: the water is drawn level." in " ".join(said.split())


def test_letters_keep_clear_of_the_lever() -> None:
    whole = made(Loading(swing=30.0))
    detail = panel(whole, DetailPanel)
    wide = detail.wide
    for frame in range(whole.count):
        lever = float(detail.run.scene.lever[frame])
        if abs(lever) < 0.2 * wide:
            continue
        whole.update(frame)
        glyphs = detail.letters["G"].get_marker()
        assert isinstance(glyphs, Path)
        assert np.sign(np.mean(np.asarray(glyphs.vertices)[:, 0])) == -np.sign(lever)


@pytest.mark.parametrize(("kg", "above"), [(5.1, True), (5.7, False)])
def test_letters_of_g_and_m_stand_in_the_order_of_their_points(kg: float, above: bool) -> None:
    """Upright M is above G where GM is above zero, and below it where it is not."""
    whole = made(Loading(kg=kg, swing=0.0))
    for kind in (SectionPanel, DetailPanel):
        shown = panel(whole, kind)
        whole.update(3)
        points = [point(shown.marks[name])[1] for name in ("M", "G")]
        assert bool(points[0] > points[1]) is above
        middle = []
        for name in ("M", "G"):
            glyphs = shown.letters[name].get_marker()
            assert isinstance(glyphs, Path)
            middle.append(float(np.mean(np.asarray(glyphs.vertices)[:, 1])))
        assert (middle[0] > middle[1]) is above


@pytest.mark.parametrize("lever", [0.1, -0.1, 0.0])
def test_a_push_is_drawn_at_the_weather_side_and_points_to_her(lever: float) -> None:
    whole = made(Loading(swing=3.0, lever=lever))
    shown = panel(whole, SectionPanel)
    whole.draw(5)
    start, tip = np.array(drawn(shown.push))[0][[0, -1]]
    if lever == 0.0:
        assert np.isnan([start, tip]).all()
        return
    hull = drawn_hull(shown)
    assert np.sign(tip - start) == np.sign(lever)
    assert tip < hull.min() if lever > 0.0 else tip > hull.max()


def drawn_hull(shown: SectionPanel) -> np.ndarray:
    """The hull of a panel across [m]."""
    return np.asarray(shown.hull.get_xy())[:, 0]
