"""CPU time of an animation of 600 frames at 1280 x 720, against matplotlib's own writer.

Both sides draw the same figure and code the same frames in one run: matplotlib by `FuncAnimation`
with its layout engine at work, drawing the whole figure anew. The encoder counts on both sides,
in this process or beside it. Matplotlib's time for 600 frames follows from two shorter films.
"""

from __future__ import annotations

import contextlib
import io
import resource
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import matplotlib as mpl
from matplotlib.animation import FFMpegWriter, FuncAnimation, PillowWriter

from rollsim.cli.main import run
from rollsim.errors import MachineError
from rollsim.show.animation.film import film
from rollsim.show.animation.plan import FilmPlan, Wishes, plan
from rollsim.show.animation.video import encoder
from rollsim.show.animation.write import SUFFIXES, animate
from rollsim.store.reading import open_result

SCENARIO = Path("scenarios/beam-gale.toml")
FRAMES = 600
SHORT, LONG = 10, 30
"""Frames of the two films by which matplotlib's time is found."""
SIZE = (1280, 720)
LEAST = 10.0

Row = tuple[str, float, str]


def rows() -> list[Row]:
    """Name, how many times less CPU time than matplotlib, and a note, for GIF and MP4."""
    with tempfile.TemporaryDirectory() as folder:
        result = Path(folder) / "gale.nc"
        with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
            code = run(["run", str(SCENARIO), "-o", str(result), "--no-plots"])
        if code:
            raise RuntimeError(f"rollsim run left with code {code}")
        with open_result(result) as ds:
            return [_row(ds, Path(folder) / f"film{suffix}") for suffix in _suffixes()]


def _suffixes() -> list[str]:
    """What can be written here: MP4 only with the extra `video`."""
    try:
        encoder()
    except MachineError:
        return [".gif"]
    return list(SUFFIXES)


def _row(ds: Any, path: Path) -> Row:
    step = 0.04
    wishes = Wishes(size=SIZE, start=600.0, end=600.0 + (FRAMES - 1) * step, speed=1.0)
    drawn = plan(ds, [(0, 0)], wishes)
    if drawn.times.size != FRAMES:
        raise RuntimeError(f"{drawn.times.size} frames instead of {FRAMES}")
    ours = _cpu(lambda: animate(ds, path, [0], 0, wishes))
    short = _cpu(lambda: _matplotlib(ds, drawn, path, SHORT))
    long = _cpu(lambda: _matplotlib(ds, drawn, path, LONG))
    each = (long - short) / (LONG - SHORT)
    theirs = short + (FRAMES - SHORT) * each
    note = (
        f"{FRAMES} frames at {SIZE[0]}x{SIZE[1]}: {ours:.1f} s CPU; matplotlib {theirs:.0f} s, "
        f"from {SHORT} and {LONG} frames, {1e3 * each:.0f} ms each"
    )
    return f"animation, {path.suffix[1:].upper()}", theirs / ours, note


def _cpu(work: Callable[[], object]) -> float:
    """CPU time [s] of this process and of those that it waited for."""
    before = time.process_time() + _children()
    work()
    return time.process_time() + _children() - before


def _children() -> float:
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def _matplotlib(ds: Any, drawn: FilmPlan, path: Path, count: int) -> None:
    """The same film by matplotlib: as many frames, spread over the same run."""
    made = film(ds, drawn)
    layout = made.figure.get_layout_engine()
    made.draw(0)
    made.figure.set_layout_engine(layout)
    for artist in (*made.artists, *(line for words in made.words for line in words.captions)):
        artist.set_animated(False)

    def update(frame: int) -> list[Any]:
        made.update(frame * (FRAMES // count))
        return []

    moving = FuncAnimation(made.figure, update, frames=count, blit=False)
    if path.suffix == ".gif":
        moving.save(str(path), writer=PillowWriter(fps=drawn.fps))
        return
    with mpl.rc_context({"animation.ffmpeg_path": encoder()}):
        coding = ["-preset", "veryfast", "-crf", "20", "-pix_fmt", "yuv420p"]
        writer = FFMpegWriter(fps=drawn.fps, codec="libx264", extra_args=coding)
        moving.save(str(path), writer=writer)


def main() -> None:
    """Print the rows; leave with an error where one is below the least."""
    found = rows()
    for name, ratio, note in found:
        print(f"{name}: {ratio:.1f} times less ({note})")
    if min(ratio for _, ratio, _ in found) < LEAST:
        raise SystemExit(f"below the least: {LEAST:g}")


if __name__ == "__main__":
    main()
