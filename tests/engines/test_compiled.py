"""Where the machine code is kept, and that yesterday's is never used for today's sources."""

from __future__ import annotations

import errno
import gc
import os
import re
import resource
import stat
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numba.core import event
from numba.extending import overload

from rollsim.compiled import cache, compiled, inlined, inner, pipeline, vectorised

ROOT = pytest.mark.skipif(os.geteuid() != 0, reason="only root gives files away")


@pytest.fixture(autouse=True)
def _fresh() -> Iterator[None]:
    cache.cache_folder.cache_clear()
    yield
    cache.cache_folder.cache_clear()


def place() -> Path:
    """Where the code is kept now."""
    cache.cache_folder.cache_clear()
    folder = cache.cache_folder()
    assert folder is not None
    return folder


def test_the_folder_that_is_told_comes_first(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path / "told"))
    assert place().parent == tmp_path / "told"


@pytest.mark.parametrize("on", [True, False])
def test_nothing_is_collected_while_code_is_compiled(
    on: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path / "told"))
    seen: list[bool] = []

    def double(x: float) -> float:
        return 2.0 * x

    class Look(event.Listener):
        def on_start(self, event: event.Event) -> None:
            seen.append(gc.isenabled())

        def on_end(self, event: event.Event) -> None:
            pass

    was_on = gc.isenabled()
    (gc.enable if on else gc.disable)()
    try:
        with event.install_listener("numba:run_pass", Look()):
            assert compiled(double)(2.0) == 4.0
        assert gc.isenabled() is on
    finally:
        (gc.enable if was_on else gc.disable)()
    assert seen
    assert not any(seen)


def test_another_state_of_the_sources_has_another_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path / "told"))
    monkeypatch.setattr(cache, "PACKAGE", package(tmp_path))
    names = []
    for text in ("a = 1\n", "a = 2\n", "a = 1\n"):
        (tmp_path / "package" / "ship" / "hull" / "sections.py").write_text(text)
        names.append(place().name)
    assert names[0] == names[2] != names[1]


def package(folder: Path) -> Path:
    """A package whose room `ship` holds a compiled function two folders down."""
    sources = {
        "compiled/__init__.py": "",
        "names.py": "import enum\n",
        "constants.py": "G = 9.8\n",
        "ship/levers.py": "from rollsim.constants import G\nfrom rollsim.weather import waves\n",
        "ship/hull/waterline.py": "    from rollsim.compiled import (\n        inlined,\n    )\n",
        "ship/hull/sections.py": "a = 1\n",
        "weather/waves.py": "import rollsim.weather.draws\n",
        "weather/draws.py": "",
        "show/report.py": "from rollsim.ship import levers\n",
    }
    for name, text in sources.items():
        path = folder / "package" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text)
    return folder / "package"


def test_rooms_with_compiled_functions_count_whole_and_what_they_use_with_them(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    root = package(tmp_path)
    monkeypatch.setattr(cache, "PACKAGE", root)
    assert {str(path.relative_to(root)) for path in cache._sources()} == {
        "compiled/__init__.py",
        "constants.py",
        "ship/levers.py",
        "ship/hull/waterline.py",
        "ship/hull/sections.py",
        "weather/waves.py",
        "weather/draws.py",
    }


def test_every_compiled_function_lies_in_a_room_that_the_digest_sees() -> None:
    seen = set(cache._sources())
    for source in cache.PACKAGE.rglob("*.py"):
        text = source.read_text(encoding="utf-8")
        if re.search("^@(compiled|inlined|inner|vectorised|merged)", text, re.MULTILINE):
            assert source in seen, source


def test_a_second_process_finds_the_code_of_the_first(tmp_path: Path) -> None:
    code = (
        "import numpy as np\nfrom rollsim.weather.spectra import bretschneider\n"
        "from rollsim.weather import spectra\n"
        "print(bretschneider(2.0, peak_period=8.0).density(np.array([0.8]))[0])\n"
        "print(sum(spectra._fill_density.stats.cache_hits.values()))\n"
    )
    place = {**os.environ, "NUMBA_CACHE_DIR": str(tmp_path)}
    found = [
        subprocess.check_output([sys.executable, "-c", code], env=place, text=True).split()
        for _ in range(2)
    ]
    assert found[0][0] == found[1][0]
    assert (found[0][1], found[1][1]) == ("0", "1")
    assert np.isfinite(float(found[0][0]))


SQUARE = """
import sys, warnings
from rollsim.compiled import compiled
@compiled
def square(x):
    return x * x
@compiled
def fourth(x):
    return square(square(x))
warnings.simplefilter("always")
print(fourth(3.0), fourth(3), sum(fourth.stats.cache_hits.values()))
"""


def fourths(folder: Path) -> list[str]:
    """What a process says that finds its code in `folder`: two results, and how much it found."""
    script = folder / "fourths.py"
    script.write_text(SQUARE)
    place = {**os.environ, "NUMBA_CACHE_DIR": str(folder / "cache")}
    done = subprocess.run(
        [sys.executable, str(script)], env=place, text=True, capture_output=True, timeout=120
    )
    assert (done.returncode, done.stderr) == (0, "")
    return done.stdout.split()


WITHIN = """
import sys
from rollsim.compiled import inner, vectorised_inner, vectorised
@inner
def square(x):
    return x * x
@vectorised_inner
def add_squares(numbers, found):
    for i in range(numbers.size):
        found[i] += square(numbers[i])
@vectorised
def once(numbers, found):
    add_squares(numbers, found)
@vectorised
def twice(numbers, found):
    add_squares(numbers, found)
    add_squares(numbers, found)
import numpy as np
found = np.zeros(100)
if sys.argv[1] == "none":
    try:
        add_squares(np.arange(100.0), found)
    except TypeError as error:
        print("refused:", error)
    sys.exit(print(found.sum(), sum(add_squares.stats.cache_hits.values())))
{"once": once, "twice": twice}[sys.argv[1]](np.arange(100.0), found)
print(found.sum(), sum(add_squares.stats.cache_hits.values()))
"""


def test_code_for_compiled_callers_alone_is_found_by_a_caller_of_another_process(
    tmp_path: Path,
) -> None:
    script = tmp_path / "within.py"
    script.write_text(WITHIN)
    place = {**os.environ, "NUMBA_CACHE_DIR": str(tmp_path / "cache")}
    told = [
        subprocess.check_output([sys.executable, str(script), caller], env=place, text=True)
        for caller in ("once", "twice", "twice", "none")
    ]
    # 0² + 1² + .. + 99² = 328350. The last one finds its own code and needs nothing within it.
    assert [" ".join(line.split()) for line in told] == [
        "328350.0 0",
        "656700.0 1",
        "656700.0 0",
        "refused: '_dynfunc._Closure' object is not callable 0.0 1",
    ]


def test_code_for_compiled_callers_alone_is_refused_to_python(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path))

    @inner
    def square(x: float) -> float:
        return x * x

    @compiled
    def fourth(x: float) -> float:
        return square(square(x))

    for _ in range(2):  # the second time there is code
        with pytest.raises(TypeError, match="is not callable"):
            square(3.0)
    assert fourth(3.0) == 81.0
    with pytest.raises(TypeError, match="is not callable"):
        square(3.0)


def square_less(x: float, limit: float) -> float:
    """For compiled code alone: the overload below."""
    raise NotImplementedError


@overload(square_less)
def _square_less(x: float, limit: float) -> Callable[[float, float], float]:
    def difference(x: float, limit: float) -> float:
        return x * x - limit

    return difference


def test_what_numba_remembers_of_an_overload_is_not_that_of_a_caller_with_other_options(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path))

    def difference(x: float, limit: float) -> float:
        return square_less(x, limit)

    def again(x: float, limit: float) -> float:
        return square_less(x, limit)

    x = 1.0 + 2.0**-30
    # In one rounding x² keeps its last term, 2⁻⁶⁰; in two it loses it.
    for function, left in (
        (vectorised(difference), 2.0**-60),
        (compiled(difference), 0.0),
        (vectorised(again), 2.0**-60),
        (compiled(again), 0.0),
    ):
        assert function(x, x * x) == left


@pytest.mark.parametrize("lanes_first", [True, False])
@pytest.mark.parametrize(("helper", "fused"), [(compiled, False), (inlined, True), (inner, True)])
def test_what_a_helper_makes_of_products_and_sums_does_not_hang_on_its_first_caller(
    helper: Callable[..., Any],
    fused: bool,
    lanes_first: bool,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path))

    @helper
    def difference(x: float, limit: float) -> float:
        return x * x - limit

    def call(x: float, limit: float) -> float:
        return float(difference(x, limit))

    callers: list[Any] = [vectorised(call), compiled(call)]
    x = 1.0 + 2.0**-30
    for caller in callers if lanes_first else callers[::-1]:
        assert caller(x, x * x) == (2.0**-60 if fused else 0.0)


def test_an_exception_within_tells_of_its_arguments(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path))

    @inner
    def root(x: float) -> float:
        if x < 0.0:
            raise ValueError("negative", x)
        return float(np.sqrt(x))

    @compiled
    def fourth_root(x: float) -> float:
        return root(root(x))

    assert fourth_root(81.0) == 3.0
    with pytest.raises(ValueError, match=r"negative.*-1\.0"):
        fourth_root(-1.0)


def test_compiling_asks_the_system_for_no_memory_at_each_border_of_frames() -> None:
    faults: list[int] = []

    def deep(levels: int) -> int:
        if levels:
            return deep(levels - 1)
        # At every depth that a border of the frames' pieces may lie at, calls go over it and back.
        for _ in range(2000):
            shallow(20)
        return 0

    def shallow(levels: int) -> None:
        if levels:
            shallow(levels - 1)

    def all_depths(_: object) -> None:
        start = resource.getrusage(resource.RUSAGE_SELF).ru_minflt
        for depth in range(100, 160, 4):
            deep(depth)
        faults.append(resource.getrusage(resource.RUSAGE_SELF).ru_minflt - start)

    all_depths(None)
    pipeline._with_room(all_depths, None)
    assert faults[1] < 500


DAMAGES: dict[str, Callable[[bytes], bytes]] = {
    "empty": lambda _: b"",
    "cut": lambda data: data[: len(data) // 2],
    "garbage": lambda data: bytes(reversed(data)),
    "one bit": lambda data: data[:-100] + bytes([data[-100] ^ 1]) + data[-99:],
    "pickle": lambda _: b"cposix\n_exit\n(I7\ntR.",
    "longer": lambda data: data + b"\0",
}


def test_damaged_code_is_compiled_again(tmp_path: Path) -> None:
    assert fourths(tmp_path) == ["81.0", "81", "0"]
    assert fourths(tmp_path) == ["81.0", "81", "2"]
    files = sorted(path for path in (tmp_path / "cache").rglob("*") if path.is_file())
    assert len(files) == 4
    sound = {path: path.read_bytes() for path in files}
    for kind, damage in DAMAGES.items():
        for path, data in sound.items():
            path.write_bytes(damage(data))
        assert fourths(tmp_path) == ["81.0", "81", "0"], kind
        assert fourths(tmp_path) == ["81.0", "81", "2"], kind
    first, second = files[:2]
    first.write_bytes(second.read_bytes())  # sound code, filed under another signature
    assert fourths(tmp_path)[:2] == ["81.0", "81"]
    for path in files:
        path.unlink()
        path.mkdir()
    assert fourths_warned(tmp_path) == ["81.0", "81", "0"]


def fourths_warned(folder: Path) -> list[str]:
    """As `fourths`, where the code cannot be kept."""
    done = subprocess.run(
        [sys.executable, str(folder / "fourths.py")],
        env={**os.environ, "NUMBA_CACHE_DIR": str(folder / "cache")},
        text=True,
        capture_output=True,
        timeout=120,
    )
    assert done.returncode == 0, done.stderr
    assert "code is compiled again at every start" in done.stderr
    return done.stdout.split()


def test_a_full_disk_is_told_of_and_the_run_goes_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path))

    @compiled
    def twice(x: float) -> float:
        return 2.0 * x

    @compiled
    def thrice(x: float) -> float:
        return 3.0 * x

    def full(path: Path, _: bytes) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.warns(UserWarning, match="no space left on device; code is compiled") as told:
        assert (twice(2.0), twice(3), thrice(2.0)) == (4.0, 6.0, 6.0)
    assert len(told) == 1
    assert str(told[0].message).startswith(f"{tmp_path}/rollsim-")
    assert [path for path in tmp_path.rglob("*") if path.is_file()] == []


def test_the_folder_is_open_to_its_owner_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path))
    before = os.umask(0)
    try:
        folder = place()
    finally:
        os.umask(before)
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    folder.chmod(0o755)  # readable, never writable by others: it is closed again
    assert place() == folder
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700


def writable(folder: Path) -> None:
    """The folder may be written by all."""
    folder.chmod(0o777)


def writable_above(folder: Path) -> None:
    """The folder above may be written by all."""
    folder.parent.chmod(0o777)


def group_above(folder: Path) -> None:
    """The folder above may be written by a group of others."""
    os.chown(folder.parent, -1, 54321)
    folder.parent.chmod(0o775)


def link(folder: Path) -> None:
    """A link in the place of the folder."""
    folder.rename(folder.with_name("moved"))
    folder.symlink_to("moved")


def file(folder: Path) -> None:
    """A file in the place of the folder."""
    folder.rmdir()
    folder.touch()


def others(folder: Path) -> None:
    """The folder is somebody else's."""
    os.chown(folder, 54321, -1)


def others_above(folder: Path) -> None:
    """The folder above is somebody else's."""
    os.chown(folder.parent, 54321, -1)


@pytest.mark.parametrize(
    ("change", "match"),
    [
        (writable, "rollsim-.*can be written by others"),
        (writable_above, "told: can be written by others"),
        (link, "rollsim-.*is no folder"),
        (file, "rollsim-.*is no folder"),
        pytest.param(group_above, "told: can be written by others", marks=ROOT),
        pytest.param(others, "rollsim-.*belongs to somebody else", marks=ROOT),
        pytest.param(others_above, "told: belongs to somebody else", marks=ROOT),
    ],
)
def test_a_folder_that_others_can_write_is_not_used(
    change: Callable[[Path], None], match: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path / "told"))
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "home"))
    folder = place()
    change(folder)
    with pytest.warns(UserWarning, match=f"{match}; compiled code is kept in .* instead of NUMBA"):
        assert place() == tmp_path / "home" / "numba" / folder.name


def test_a_folder_of_somebody_else_is_known_by_its_owner(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, "geteuid", lambda: 54321)
    with pytest.raises(PermissionError, match="belongs to somebody else"):
        cache._private_folder(tmp_path, "rollsim-x")


def test_a_shared_folder_in_which_nothing_can_be_replaced_is_used(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    tmp_path.chmod(0o1777)
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path))
    folder = place()
    assert folder.parent == tmp_path


NOWHERE = """
import os, sys, warnings
from pathlib import Path
warnings.simplefilter("error")
from rollsim.compiled import cache
cache.PACKAGE = Path(sys.argv[1])
cache.cache_folder.cache_clear()
with warnings.catch_warnings(record=True) as told:
    warnings.simplefilter("always")
    folder = cache.cache_folder()
    cache.cache_folder()
if os.fork() == 0:
    sys.exit()
os.wait()
print(folder, oct(folder.stat().st_mode)[-3:], len(told), told[0].message, sep="\\n")
"""


def test_where_no_folder_can_be_had_a_temporary_one_is_deleted_at_the_end(tmp_path: Path) -> None:
    file = tmp_path / "file"
    file.write_text("no folder can stand below a file")
    place = {name: held for name, held in os.environ.items() if name != "NUMBA_CACHE_DIR"}
    told = subprocess.check_output(
        [sys.executable, "-c", NOWHERE, str(file)],
        env=place | {"XDG_CACHE_HOME": str(file), "TMPDIR": str(tmp_path)},
        text=True,
    ).splitlines()
    folder = Path(told[0])
    assert folder.parent.parent == tmp_path
    assert told[1:3] == ["700", "1"]
    assert "code is compiled again at every start: set NUMBA_CACHE_DIR to a folder" in told[3]
    assert list(tmp_path.iterdir()) == [file]
