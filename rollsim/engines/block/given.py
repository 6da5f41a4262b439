"""What the steps of a block are given: a stretch of even steps, its start, storms, limits."""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from rollsim.engines.limits import Limits

Floats = NDArray[np.float64]
Reals = NDArray[Any]
Whole = NDArray[np.int64]


class Stretch(NamedTuple):
    """Even steps of `step` [s] without a corner in them; arrays by step, for the step's end.

    `rows`, `weights` (n, 2 TAPS) find the sea, `gust_rows`, `gust_weights` (n, TAPS) the
    turbulence, `noted_rows`, `noted_weights` that at the outputs from `first_output` on. `speed`
    [m/s] is the wind with its gusts, `press` the lever per V² there, `steady`
    the lever of the mean wind at heel 0, `lever` [m] constant with heel, `height` (virtual) and
    `across` place G where it `moves`, `filling` is the coordinate of tanks that fill; these hold
    one value more, the last, for the stretch's start. `output` is the number of the output within
    the step or -1 and `place` where in it, 1 at its end; `at_start` is the number of that at the
    stretch's start or -1; `sample` [s] the time since the last
    sample for the averages or 0 where none is taken, `since` [s] that from it to the step's start.
    The first `started` steps are made by Runge-Kutta.
    """

    start: float
    step: float
    counts: bool
    moves: bool
    rows: Whole
    weights: Reals
    gust_rows: Whole
    gust_weights: Reals
    noted_rows: Whole
    noted_weights: Reals
    first_output: int
    speed: Reals
    press: Reals
    steady: Floats
    lever: Reals
    height: Floats
    across: Floats
    filling: Floats
    at_start: int
    output: Whole
    place: Floats
    cubic: Reals
    sample: Floats
    since: Floats
    started: int


class Start(NamedTuple):
    """The storm, and what the timeline brings, where the first steps of a stretch look: at its
    start, and in the middle and at the end of each; arrays by place (2 started + 1), as in
    `Stretch`."""

    rows: Whole
    weights: Reals
    gust_rows: Whole
    gust_weights: Reals
    speed: Reals
    press: Reals
    lever: Reals
    steady: Floats
    height: Floats
    across: Floats
    filling: Floats


class Watch(NamedTuple):
    """What a case is watched for; `wells` (outputs, 4) are `ship.wells.Well`, `bottoms` [rad]."""

    limits: Limits
    wells: Reals
    bottoms: Floats


class Storms(NamedTuple):
    """The channels of a block's storms, (rows, lanes) each, or None."""

    slope: Any
    elevation: Any
    gust: Any
