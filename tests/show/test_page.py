"""The classroom page holds what the result holds, shows text as text, and stays small."""

from __future__ import annotations

import base64
import html.parser
import json
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import xarray as xr
from click.testing import CliRunner
from page_browser import find_chromium
from page_samples import HOSTILE, invented, kept, wall_sided

from rollsim.cautions import CAUTION, LOLL_WARNING
from rollsim.cli.main import rollsim
from rollsim.errors import InputError
from rollsim.names import Outcome
from rollsim.show import style
from rollsim.show.html import asset, digest
from rollsim.show.page import write as page
from rollsim.show.page.data import CURVES, HISTORIES, Chosen, families, page_data
from rollsim.show.shared.blobs import Blobs
from rollsim.store.reading import open_result

STORM = """kind = "irregular"
spectrum = "bretschneider"
significant_height_m = 2.0
peak_period_s = 9.0"""
MANY = "realisations = 5\n[[events]]"


@pytest.fixture(scope="module")
def result(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A result that a scenario with a hostile title and name gave."""
    return wall_sided(tmp_path_factory.mktemp("page") / "result.nc", HOSTILE, HOSTILE)


@pytest.fixture(scope="module")
def written(result: Path) -> Path:
    """Its page, made at the command line."""
    out = result.with_name("page.html")
    done = CliRunner().invoke(rollsim, ["page", str(result), "-o", str(out)])
    assert done.exit_code == 0, done.output
    return out


class Parsed(html.parser.HTMLParser):
    """The tags of a page, and what its data says."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str | None]] = []
        self.data: dict[str, Any] = {}
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += attrs

    def handle_data(self, data: str) -> None:
        if self.tags[-1:] == ["script"] and data.startswith("{"):
            self.data = json.loads(data)


def decode(blob: dict[str, Any]) -> np.ndarray:
    """An array as the page's own script decodes it."""
    if "count" in blob:
        return np.full(blob["count"], np.nan if blob["same"] is None else blob["same"])
    raw = base64.b64decode(blob["data"])
    if blob["type"] == "f4":
        return np.frombuffer(raw, "<f4").astype(float)
    codes = np.frombuffer(raw, "<i2")
    return np.where(codes == -32768, np.nan, codes * blob["scale"])


def of(ds: xr.Dataset, cases: list[int] | None = None, runs: list[int] | None = None) -> Chosen:
    """Cases and realisations of a result, all and the first where not said."""
    return Chosen("result.nc", ds, cases or list(range(ds.sizes["case"])), runs or [0])


def test_data_of_the_page_equal_the_file(result: Path, written: Path) -> None:
    data = Parsed(written.read_text(encoding="utf-8")).data
    arrays = [decode(blob) for blob in data["blobs"]]
    with open_result(result) as ds:
        for case, entry in enumerate(data["cases"]):
            for key, name in CURVES.items():
                held = ds[name].values[case]
                assert np.allclose(arrays[entry[key]], held, rtol=1e-6, atol=1e-9, equal_nan=True)
            for key, name in HISTORIES.items():
                held = ds[name].values[case, 0]
                step = float(np.nanmax(np.abs(held))) / 32767.0
                found = arrays[entry["runs"][0][key]]
                assert np.allclose(found, held, rtol=0.0, atol=0.5001 * step, equal_nan=True)
            for key, name in (("g_y", "centre_of_gravity_y"), ("g_z", "centre_of_gravity_z")):
                assert np.allclose(arrays[entry[key]], ds[name].values[case], atol=1e-4)
            assert entry["gm"] == float(ds["gm"].values[case])
            g_z = ds["centre_of_gravity_z"].values[case]
            then = float(ds["gm"].values[case]) - (g_z - g_z[0])
            assert np.allclose(arrays[entry["gm_then"]], then, atol=1e-5)
            assert entry["step"] == 0.25
            assert entry["free_surface"] == pytest.approx(0.1, abs=1e-9)


def test_what_moves_is_made_here_and_not_in_the_browser(result: Path, written: Path) -> None:
    """A metre up takes sin ψ off GZ, one to starboard cos ψ; rates relative to the water."""
    data = Parsed(written.read_text(encoding="utf-8")).data
    arrays = [decode(blob) for blob in data["blobs"]]
    entry = data["cases"][0]
    heel = np.radians(arrays[entry["heel"]])
    assert np.allclose(arrays[entry["per_rise"]], -np.sin(heel), atol=1e-6)
    assert np.allclose(arrays[entry["per_shift"]], -np.cos(heel), atol=1e-6)
    with open_result(result) as ds:
        run = ds.isel(case=0, realisation=0)
        turning = np.gradient(run["wave_slope"].values.astype(float), ds["t"].values)
        rate = run["roll_rate"].values - turning
    assert np.allclose(arrays[entry["runs"][0]["heel_rate"]], rate, atol=1e-3)


def test_captions_say_what_is_seen_from_which_point_on(written: Path) -> None:
    data = Parsed(written.read_text(encoding="utf-8")).data
    upright, lolling, _ = ([*entry["runs"][0]["captions"]] for entry in data["cases"])
    assert upright[0] == [0, "rolling about upright", "GM +0.26 m: upright is stable"]
    assert lolling[0][1:] == [
        "rolling about her loll of 22° to starboard",
        "GM −0.24 m, negative: upright is unstable",
    ]
    starts = [point for point, *_ in upright]
    assert starts == sorted(set(starts))
    assert upright[-1][2] == "end of the run: no limit passed"


def test_a_run_that_passed_a_limit_went_on(result: Path) -> None:
    with open_result(result) as ds:
        ds = ds.load()
    ds["outcome"].values[0, 0] = Outcome.FLOODED
    ds["failure_time"].values[0, 0] = 12.0
    run = page_data([of(ds)], 1)["cases"][0]["runs"][0]
    assert run["ended"].endswith("; end of the run: flooded at 12 s, and went on")


def test_hostile_names_are_text_and_nothing_else(written: Path) -> None:
    text = written.read_text(encoding="utf-8")
    parsed = Parsed(text)
    assert "img" not in parsed.tags
    assert not any(name.startswith("on") for name, _ in parsed.attributes)
    assert parsed.tags.count("script") == 2
    assert "\u2028" not in text
    assert HOSTILE.replace("\u2028", " ") in parsed.data["studies"][0]
    assert parsed.data["cases"][0]["ship"] == HOSTILE.replace("\u2028", " ")


def test_the_page_forbids_itself_to_load_anything(written: Path) -> None:
    text = written.read_text(encoding="utf-8")
    policy = re.search(r'Content-Security-Policy" content="([^"]*)"', text)
    assert policy is not None
    assert policy[1].startswith("default-src 'none'; ")
    assert "unsafe" not in policy[1]
    style_, script = re.findall(r"<(?:style|script)>(.*?)</(?:style|script)>", text, re.DOTALL)
    assert digest(style_) in policy[1]
    assert digest(script) in policy[1]
    addresses = set(re.findall(r"https?://[^\"'\s]*", text))
    assert addresses == {"http://www.w3.org/2000/svg"}  # a name, never an address to load


def test_cautions_are_in_the_page(written: Path) -> None:
    data = Parsed(written.read_text(encoding="utf-8")).data
    assert data["caution"] == CAUTION
    assert data["loll_warning"] == LOLL_WARNING
    assert [entry["runs"][0]["loll"] for entry in data["cases"]] == [False, True, False]


def test_big_results_are_thinned_by_the_stated_rule(monkeypatch: pytest.MonkeyPatch) -> None:
    ds = invented(realisations=6, duration=600.0)
    whole = page.page([of(ds, runs=list(range(6)))])
    assert "all output points, up to 0.5 s apart" in Parsed(whole).data["notes"][0]
    monkeypatch.setattr(page, "MOST_BYTES", len(whole) - 1)
    thin = page.page([of(ds, runs=list(range(6)))])
    data = Parsed(thin).data
    assert len(thin) < len(whole)
    assert "every 2th output point, up to 1 s apart" in data["notes"][0]
    arrays = [decode(blob) for blob in data["blobs"]]
    run = data["cases"][1]["runs"][3]
    kept = ds["roll_angle"].values[1, 3, ::2]
    assert np.allclose(arrays[run["roll"]], kept, atol=0.005, equal_nan=True)
    assert data["cases"][1]["step"] == 1.0


def test_what_fits_on_no_page_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(page, "MOST_BYTES", 100_000)
    ds = invented(realisations=12, duration=600.0)
    with pytest.raises(InputError, match=r"36 runs take .*, a page holds 100 kB at most"):
        page.page([of(ds, runs=list(range(12)))])


def test_equal_arrays_are_held_once() -> None:
    blobs = Blobs()
    rising = np.linspace(0.0, 1.0, 50)
    assert blobs.history(rising) == blobs.history(rising.copy()) == 0
    assert blobs.curve(rising) == 1
    assert blobs.history(np.zeros(50)) == 2
    assert len(blobs.packed) == 3


@pytest.mark.parametrize(
    "values", [[0.0, 0.0, np.nan], [np.nan, np.nan], [1e-12, -3.0], [5.0], [np.nan, 7.5, -7.5]]
)
def test_packing_keeps_gaps_and_values(values: list[float]) -> None:
    blobs = Blobs()
    array = np.array(values)
    found = decode(blobs.packed[blobs.history(array)])
    assert np.allclose(found, array, rtol=0, atol=np.nanmax(np.abs([*array, 0])) / 65534 * 1.001,
                       equal_nan=True)  # fmt: skip


def test_cases_that_differ_in_gm_alone_are_one_family() -> None:
    swept = invented(["a", "b"], axes={"kg": ("m", (5.1, 5.4)), "height": ("m", (3.0, 5.0))})
    assert families(of(swept)) == [0, 1, 0, 1, 2, 3, 2, 3]
    assert families(of(invented())) == [0, 0, 0]


def test_two_results_share_a_page(result: Path, tmp_path: Path) -> None:
    other = wall_sided(tmp_path / "other.nc", "another study")
    out = tmp_path / "both.html"
    wanted = ["page", str(result), str(other), "--case", "0", "--case", "kg=5.5", "-o", str(out)]
    done = CliRunner().invoke(rollsim, wanted)
    assert done.exit_code == 0, done.output
    data = Parsed(out.read_text(encoding="utf-8")).data
    assert [entry["study"] for entry in data["cases"]] == [0, 0, 1, 1]
    assert [entry["number"] for entry in data["cases"]] == [0, 2, 0, 2]
    assert data["studies"][1] == "another study"


def test_page_goes_beside_the_result_and_over_no_other_file(result: Path) -> None:
    done = CliRunner().invoke(rollsim, ["page", str(result)])
    assert done.exit_code == 0, done.output
    assert result.with_name("result-page.html").is_file()
    before = result.read_bytes()
    refused = CliRunner().invoke(rollsim, ["page", str(result), "-o", str(result)])
    assert isinstance(refused.exception, InputError)
    assert "is no page: its name must end in .html" in str(refused.exception)
    assert result.read_bytes() == before


def test_runs_that_never_ran_have_no_answer_and_no_numbers() -> None:
    ds = invented(realisations=2)
    for name in (*HISTORIES.values(), "end_time", "roll_max", "roll_min"):
        ds[name][0, 0] = np.nan
    ds["outcome"][0, 0] = Outcome.NOT_RUN
    run = page_data([of(ds)], 1)["cases"][0]["runs"][0]
    assert run["answer"] == ""
    assert run["outcome"] == "not run"
    assert [name for name, _, _ in run["figures"]] == ["outcome", "energy margin"]


def test_where_some_histories_are_kept_the_page_holds_those() -> None:
    ds = invented(realisations=6)
    some = kept(ds, [(0, 2), (0, 5), (1, 2), (2, 2), (2, 4)])
    data = page_data([of(some, runs=[2, 4, 5])], 1)
    shown = [[run["number"] for run in entry["runs"]] for entry in data["cases"]]
    assert shown == [[2, 5], [2], [2, 4]]
    roll = decode(data["blobs"][data["cases"][2]["runs"][1]["roll"]])
    assert np.allclose(roll, ds["roll_angle"].values[2, 4], atol=0.005, equal_nan=True)
    with pytest.raises(InputError, match="case 1 holds no history of realisation 4, 5"):
        page_data([of(some, runs=[4, 5])], 1)


def test_left_to_itself_the_page_shows_the_worst_storm(tmp_path: Path) -> None:
    storm = {'kind = "regular"\nheight_m = 1.0\nperiod_s = 11.0': STORM, "[[events]]": MANY}
    result = wall_sided(tmp_path / "storm.nc", changes=storm)
    done = CliRunner().invoke(rollsim, ["page", str(result)])
    assert done.exit_code == 0, done.output
    data = Parsed((tmp_path / "storm-page.html").read_text(encoding="utf-8")).data
    with open_result(result) as ds:
        most = np.maximum(ds["roll_max"].values, -ds["roll_min"].values)
        worst = int(most.max(axis=0).argmax())
    assert [[run["number"] for run in entry["runs"]] for entry in data["cases"]] == [[worst]] * 3
    said = f"Of 5 realisations: {worst}, the worst of these cases."
    assert any(said in note for note in data["notes"])


def test_colours_are_those_of_every_picture() -> None:
    names = "blue|amber|red|plum|coal|violet"
    held = re.findall(rf"  --(?:{names}): (#\w+);", asset("shared", "style.css"))
    assert tuple(held) == style.COLOURS


def test_a_missing_browser_is_skipped_but_never_in_ci(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PATH", "")
    monkeypatch.setenv("CI", "true")
    with pytest.raises(pytest.fail.Exception, match="no Chromium on PATH"):
        find_chromium()
    monkeypatch.delenv("CI")
    with pytest.raises(pytest.skip.Exception, match="no Chromium on PATH"):
        find_chromium()
