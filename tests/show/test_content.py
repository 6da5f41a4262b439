"""What pictures show is what the result says: read back from the drawn data."""

from __future__ import annotations

import numpy as np
import pytest
import xarray as xr
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from picture_texts import lined_names
from show_samples import GYRADIUS, HEEL, Make, drawn

from rollsim.constants import GRAVITY
from rollsim.errors import InputError
from rollsim.measures.margins import roll_energy
from rollsim.names import Outcome
from rollsim.show.figures.histories import histories_figure
from rollsim.show.figures.phase import phase_figure
from rollsim.show.figures.stability import stability_figure
from rollsim.show.figures.sweep import sweep_figure
from rollsim.show.query.curves import at_heel, escape_line, on_grid, potential, righting
from rollsim.show.query.runs import by_severity


def panel(figure: Figure, title: str) -> Axes:
    """The panel with a title."""
    return next(axes for axes in figure.axes if title in axes.get_title(loc="left"))


def words(figure: Figure) -> str:
    """All that the legends say."""
    legends = [axes.get_legend() for axes in figure.axes]
    return "\n".join(t.get_text() for legend in legends if legend for t in legend.get_texts())


def small_print(figure: Figure) -> str:
    """The notes and cautions at the foot."""
    foot = next(text for text in figure.texts if text.get_gid() == "cautions")
    return " ".join(foot.get_text().split())


def curve_of(lever: np.ndarray, **numbers: float) -> xr.Dataset:
    """A result of one case that holds little more than its righting lever."""
    ds = xr.Dataset({"righting_lever": (("case", "heel"), [lever])}, coords={"heel": HEEL})
    return ds.assign({name: ("case", [held]) for name, held in numbers.items()})


def test_area_under_a_sine_is_exact() -> None:
    """Exact: the integral of sin from 0 to φ is 1 - cos φ."""
    phi = np.radians(HEEL)
    area = on_grid(righting(curve_of(np.sin(phi)), 0), HEEL, "potential")
    assert np.allclose(area, 1.0 - np.cos(phi), atol=1e-8)


def test_nothing_is_known_beyond_the_levers_nor_of_an_unknown_curve() -> None:
    lever = np.where(np.abs(HEEL) <= 60, np.sin(np.radians(HEEL)), np.nan)
    area = on_grid(righting(curve_of(lever), 0), HEEL, "potential")
    assert np.array_equal(np.isfinite(area), np.abs(HEEL) <= 60)
    assert area[90] == 0.0
    assert righting(curve_of(np.full_like(HEEL, np.nan)), 0) is None
    assert np.isnan(on_grid(None, HEEL)).all()


def test_stored_curves_are_read_straight_between_points_and_never_beyond() -> None:
    grid, curve = np.array([-10.0, 0.0, 10.0]), np.array([1.0, 0.0, 3.0])
    read = at_heel(np.array([-5.0, 2.5, 10.1]), grid, curve)
    assert read[:2].tolist() == [0.5, 0.75]
    assert np.isnan(read[2])


def test_double_well_has_two_wells_and_no_barrier_between() -> None:
    """GZ = -φ + 4 φ³ up to a fall: exact wells at ±0.5 rad."""
    phi = np.radians(HEEL)
    lever = -phi + 4.0 * phi**3 - 2.2 * phi**5
    well = potential(curve_of(lever, capsize_limit=90.0), 0)
    wells = sorted(point.heel for point in well.wells)
    first = np.sqrt((4.0 - np.sqrt(16.0 - 8.8)) / 4.4)
    assert wells == pytest.approx([-np.degrees(first), np.degrees(first)], abs=0.01)
    assert min(abs(point.heel) for point in well.barriers) > 60.0


def test_energy_and_escape_of_a_sine_curve() -> None:
    """Exact for GZ = h sin 2φ, a pendulum: V = h (1 - cos 2φ)/2 and escape at φ = 90°."""
    height = 0.4
    well = potential(curve_of(height * np.sin(2.0 * np.radians(HEEL)), capsize_limit=90.0), 0)
    assert well.escape == pytest.approx(height, rel=1e-3)
    heel, rate = escape_line(well, GYRADIUS)
    upright = np.interp(0.0, heel, rate)
    exact = np.degrees(np.sqrt(2.0 * GRAVITY * height) / GYRADIUS)
    assert upright == pytest.approx(exact, rel=1e-3)
    reached = roll_energy(np.radians(exact), GYRADIUS, well.at(np.zeros(1)))
    assert reached == pytest.approx(height)
    assert rate[[0, -1]] == pytest.approx(0.0, abs=0.05)


def test_a_monotone_curve_has_no_well() -> None:
    well = potential(curve_of(np.full_like(HEEL, 0.1)), 0)
    assert well.wells == ()
    assert np.isnan(well.escape)


def test_stability_draws_the_levers_and_marks_of_the_result(study: xr.Dataset) -> None:
    figure = stability_figure(study)
    axes = panel(figure, "righting lever")
    curve = next(line for line in axes.get_lines() if drawn(line)[0].size > 100)
    seen = np.abs(HEEL) <= 66.0
    assert np.array_equal(drawn(curve)[1], study["righting_lever"].values[0][seen])
    marks = [line for line in axes.get_lines() if line.get_marker() == "o"]
    lolls = sorted(float(x) for line in marks for x in drawn(line)[0])
    assert lolls == [-15.0, 15.0]
    assert "vanishing" in words(figure)
    assert "roll limit ±40°" in words(figure)


def test_paths_hold_m_b_and_g_in_ship_axes_at_equal_scale(study: xr.Dataset) -> None:
    axes = panel(stability_figure(study), "how M and B move")
    assert axes.get_aspect() == 1.0
    starboard = (HEEL >= 0) & (HEEL <= 66)
    m, b = axes.get_lines()[:2]
    for line, what in ((m, "metacentre"), (b, "buoyancy")):
        assert np.array_equal(drawn(line)[0], study[f"{what}_y"].values[0][starboard])
        assert np.array_equal(drawn(line)[1], study[f"{what}_z"].values[0][starboard])
    heights = [float(drawn(line)[1][0]) for line in axes.get_lines() if line.get_zorder() == 6]
    assert heights == [5.3, 5.5, 5.7]
    assert axes.texts[0].get_text() == "20°"


def column_of(axes: Axes) -> dict[str, tuple[float, float]]:
    """The names in the column beside the paths: height in the panel, height of the point [m]."""
    return {name: (box[1], point[1]) for name, (box, point) in lined_names(axes).items()}


def test_what_lies_near_the_centreline_is_named_in_its_true_order_with_lines(
    study: xr.Dataset,
) -> None:
    """M upright at 5.659 m stands between the G of 5.5 m and of 5.7 m."""
    names = column_of(panel(stability_figure(study), "how M and B move"))
    assert set(names) == {"M 0°", "G of 0", "G of 1", "G of 2"}
    by_place = sorted(names, key=lambda name: names[name][0])
    assert by_place == sorted(names, key=lambda name: names[name][1])
    assert by_place == ["G of 0", "G of 1", "M 0°", "G of 2"]
    assert np.diff(sorted(height for height, _ in names.values())).min() > 0.04


def test_a_g_that_cases_share_is_named_once_and_a_raised_one_beside_it(study: xr.Dataset) -> None:
    study["centre_of_gravity_z"].values[:] = 5.3
    kn = float(study["metacentre_z"].values[0, 90])
    study["gm"].values[:] = kn - 5.3 - 0.12
    names = column_of(panel(stability_figure(study), "how M and B move"))
    assert set(names) == {"M 0°", "G", "Gv"}
    assert names["Gv"][1] == pytest.approx(5.42, abs=1e-3)


def test_without_b_the_path_of_m_is_still_drawn(study: xr.Dataset) -> None:
    for name in ("buoyancy_y", "buoyancy_z"):
        study[name] = study[name] * np.nan
    axes = panel(stability_figure(study), "how M and B move")
    names = [text.get_text() for text in axes.texts]
    assert "M 0°" in names
    assert "B 0°" not in names


def test_static_variables_alone_are_enough(study: xr.Dataset) -> None:
    lone = study[[n for n, v in study.data_vars.items() if "realisation" not in v.dims]]
    figure = stability_figure(lone.isel(t=0, drop=True))
    assert len(panel(figure, "righting lever").get_lines()) > 3


def test_cases_that_differ_in_weather_alone_are_drawn_once(make: Make) -> None:
    ds = make(axes={"significant_height": ("m", (3.0, 5.0))})
    assert "0: light" in words(stability_figure(ds))
    assert "1: light" not in words(stability_figure(ds))


def test_history_names_the_end_of_every_run(study: xr.Dataset) -> None:
    study["outcome"].values[1, 0] = Outcome.ROLL_LIMIT
    study["failure_time"].values[1, 0] = 55.0
    said = words(histories_figure(study, [0, 1], [0, 1]))
    assert "realisation 1,\nnot solved at 240 s" in said
    assert "realisation 0,\nroll limit at 55 s" in said
    assert "realisation 1,\nsurvived" in said


def test_few_runs_are_small_multiples_on_one_scale(study: xr.Dataset) -> None:
    study["roll_angle"].values[1] *= 0.2
    figure = histories_figure(study, [0, 1], [0, 1])
    panels = [axes for axes in figure.axes if axes.get_ylabel() == "roll angle [°]"]
    assert len(panels) == 4
    curves = [[line for line in axes.get_lines() if drawn(line)[0].size > 100] for axes in panels]
    assert [len(lines) for lines in curves] == [1, 1, 1, 1]
    assert len({axes.get_ylim() for axes in panels}) == 1
    own = histories_figure(study, [0, 1], [0, 1], own_scales=True)
    assert len({axes.get_ylim() for axes in own.axes[:4]}) > 1
    assert "Mind the scales" in small_print(own)


def test_of_waves_that_differ_one_is_drawn(make: Make) -> None:
    figure = histories_figure(make(realisations=2), [0, 1], [0, 1])
    slope = next(axes for axes in figure.axes if "wave slope" in axes.get_ylabel())
    assert sum(drawn(line)[0].size > 100 for line in slope.get_lines()) == 1
    assert "the others met other waves" in small_print(figure)


@pytest.mark.parametrize(
    ("outcome", "end"),
    [(Outcome.FLOODED, "end of the run"), (Outcome.CAPSIZED, "end:\ncapsized at 240 s")],
)
def test_a_run_that_goes_on_past_a_limit_has_not_ended_there(
    study: xr.Dataset, outcome: Outcome, end: str
) -> None:
    study["outcome"].values[0, 0] = outcome
    study["failure_time"].values[0, 0] = 100.0
    legend = words(phase_figure(study, 0, 0))
    assert end in legend
    assert ("flooded at 100 s,\nthe run goes on" in legend) == (outcome == Outcome.FLOODED)


def test_capsized_run_is_marked_at_its_end(make: Make) -> None:
    ds = make(realisations=12, axes={"significant_height": ("m", (7.0,))})
    run = int(np.flatnonzero(ds["outcome"].values[2] == Outcome.CAPSIZED)[0])
    axes = histories_figure(ds, [2], [run]).axes[0]
    crosses = [line for line in axes.get_lines() if line.get_marker() == "X"]
    assert float(drawn(crosses[0])[0][0]) == ds["end_time"].values[2, run]


def test_many_runs_become_a_band_with_the_worst_and_the_median(make: Make) -> None:
    ds = make(realisations=12)
    figure = histories_figure(ds, [1])
    ranked = by_severity(ds, 1, range(12))
    said = words(figure)
    assert f"worst: realisation {ranked[0]}," in said
    assert f"median: realisation {ranked[6]}," in said
    assert "band of 12 runs" in said
    band = np.asarray(figure.axes[0].collections[0].get_paths()[0].vertices)
    assert band[:, 1].max() == pytest.approx(float(np.nanmax(ds["roll_angle"][1])))


def test_severity_puts_the_first_capsize_before_the_greatest_roll() -> None:
    two = ("case", "realisation")
    ds = xr.Dataset(
        {
            "outcome": (two, [[1, 4, 4, 5, 1]]),
            "failure_time": (two, [[np.nan, 300.0, 150.0, np.nan, np.nan]]),
            "end_time": (two, [[900.0, 300.0, 200.0, 10.0, 900.0]]),
            "roll_max": (two, [[20.0, 90.0, 5.0, 99.0, 10.0]]),
            "roll_min": (two, [[-10.0, -8.0, -90.0, 0.0, -30.0]]),
        }
    )
    assert by_severity(ds, 0, range(5)) == [2, 1, 4, 0]


def test_phase_is_relative_to_the_wave_unless_absolute(study: xr.Dataset) -> None:
    relative = phase_figure(study, 0, 0)
    assert "relative to the wave slope" in relative.axes[1].get_xlabel()
    angle = (study["roll_angle"] - study["wave_slope"]).values[0, 0]
    assert np.array_equal(drawn(relative.axes[0].get_lines()[2])[0], angle)
    study["excitation"] = ("case", ["absolute"] * 3)
    absolute = phase_figure(study, 0, 0)
    assert absolute.axes[1].get_xlabel() == "angle of heel, starboard down [°]"


def test_phase_without_gyradius_draws_no_energy(study: xr.Dataset) -> None:
    said = words(phase_figure(study.drop_vars("gyradius"), 0, 0))
    assert "potential" in said
    assert "energy of the run" not in said


def test_sweep_lines_and_bars_hold_the_probabilities(make: Make) -> None:
    ds = make(realisations=12, axes={"significant_height": ("m", (3.0, 7.0))})
    axes = panel(sweep_figure(ds), "capsize probability")
    for i, bars in enumerate(axes.containers):
        held = slice(2 * i, 2 * i + 2)
        assert np.array_equal(drawn(bars[0])[1], ds["capsize_probability"].values[held])
        ends = np.array([segment[:, 1] for segment in bars[2][0].get_segments()])
        assert np.allclose(ends[:, 1], ds["capsize_probability_upper"].values[held])


def test_grid_writes_every_number_into_its_cell(make: Make) -> None:
    axes = {"kg": ("m", (5.45, 5.1)), "significant_height": ("m", (7.0, 3.0))}
    ds = make(["base"], realisations=12, axes=axes)
    figure = sweep_figure(ds)
    panel_ = panel(figure, "least energy margin")
    cells = {text.get_position(): text.get_text() for text in panel_.texts}
    least = np.nanmin(ds["energy_margin"].values, axis=1)
    assert cells[(1.5, 1.5)] == f"{least[0]:.2f}"
    assert cells[(0.5, 0.5)] == f"{least[3]:.2f}"
    assert [t.get_text() for t in panel_.get_xticklabels()] == ["5.1", "5.45"]


GRID = {"kg": ("m", (5.1, 5.3, 5.45)), "significant_height": ("m", (3.0, 5.0))}


def lost(make: Make, axes: dict[str, tuple[str, tuple[float, ...]]]) -> xr.Dataset:
    """A study of one loading whose last case had no static heel to start from."""
    ds = make(["base"], axes=axes)
    ds["outcome"][-1] = Outcome.NOT_RUN
    for name in ds.data_vars:
        if ds[name].dims[0] == "case" and ("roll_m" in str(name) or "margin" in str(name)):
            ds[name][-1] = np.nan
        if "probability" in str(name):
            ds[name][-1] = np.nan
    return ds


def test_histories_that_are_not_kept_cannot_be_drawn(make: Make) -> None:
    with pytest.raises(InputError, match="holds no history of these runs"):
        histories_figure(make().drop_vars("roll_angle"))


def test_a_cell_that_was_not_run_is_hatched_and_no_number(make: Make) -> None:
    figure = sweep_figure(lost(make, GRID))
    for axes in (axes for axes in figure.axes if axes.texts):
        assert [patch.get_hatch() for patch in axes.patches] == ["///"]
        assert axes.texts[-1].get_text() == "not run"
    assert "Hatched: no result, not run." in small_print(figure)


def test_a_case_that_was_not_run_is_a_gap_with_a_cross(make: Make) -> None:
    axes = {"significant_height": GRID["significant_height"]}
    figure = sweep_figure(lost(make, axes))
    assert "over a panel: no result, not run" in words(figure)
    margin = panel(figure, "energy margin")
    cross = next(line for line in margin.get_lines() if line.get_marker() == "x")
    assert np.asarray(cross.get_xdata()).tolist() == [5.0]
    assert np.asarray(cross.get_ydata(), float).min() > 1.0  # at no height of the panel
    others = [line for line in margin.get_lines() if line.get_marker() == "o"]
    assert all(np.isnan(np.asarray(line.get_ydata(), float)[-1]) for line in others)


def test_an_offset_axis_is_called_one(make: Make) -> None:
    ds = make(axes={"kg": ("m", (-0.1, 0.0, 0.1))})
    ds["kg"].attrs["scenario_offset"] = 1
    figure = sweep_figure(ds)
    assert {axes.get_xlabel() for axes in figure.axes if axes.get_xlabel()} == {"KG offset [m]"}
