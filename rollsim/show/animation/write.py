"""An animation of one run, or of up to three cases side by side, as GIF or MP4."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from rollsim.errors import Fault, InputError
from rollsim.show.animation.film import Film, film
from rollsim.show.animation.gif import FASTEST, write_gif
from rollsim.show.animation.plan import FilmPlan, Wishes, plan
from rollsim.show.animation.video import encoder, write_video
from rollsim.show.query.runs import worst_run
from rollsim.store.disk import replacing

if TYPE_CHECKING:
    import xarray as xr

HOLD = 2.0
"""How long the last picture stays [s]."""
SUFFIXES = (".gif", ".mp4")


def animate(
    ds: xr.Dataset,
    path: str | Path,
    wanted: Sequence[int] = (0,),
    realisation: int | None = None,
    wishes: Wishes | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> FilmPlan:
    """Write the animation of cases in one realisation, the worst where None; what was drawn.

    `progress` is told how many frames are done, and of how many.
    """
    path, wishes = Path(path), wishes or Wishes()
    _require_format(path, wishes)
    run = worst_run(ds, wanted) if realisation is None else realisation
    drawn = plan(ds, [(case, run) for case in wanted], wishes)
    made = film(ds, drawn)
    frames = _frames(made, progress)
    with replacing(path) as part:
        if path.suffix.lower() == ".gif":
            samples = [made.draw(i).copy() for i in _some(made.count)]
            write_gif(part, frames, samples, drawn.fps, HOLD)
        else:
            write_video(part, frames, drawn.size, drawn.fps, HOLD)
    return drawn


def _frames(made: Film, progress: Callable[[int, int], None] | None) -> Iterator[NDArray[np.uint8]]:
    for frame in range(made.count):
        yield made.draw(frame)
        if progress:
            progress(frame + 1, made.count)


def _some(count: int) -> list[int]:
    """Frames from which the colours of all are taken."""
    return sorted({0, count // 3, 2 * count // 3, count - 1})


def _require_format(path: Path, wishes: Wishes) -> None:
    """Refuse what cannot be written before anything is drawn."""
    suffix = path.suffix.lower()
    if suffix not in SUFFIXES:
        hint = "name the file .gif, or .mp4 for a video"
        raise InputError(str(path), [Fault("", "no kind of animation", hint)])
    if suffix == ".mp4":
        encoder()
    elif wishes.fps > FASTEST:
        hint = f"at most {FASTEST}; more by an .mp4"
        raise InputError("", [Fault("--fps", f"too fast for a GIF: {wishes.fps}", hint)])
