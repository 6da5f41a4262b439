"""The weather criterion with the wave steepness of MSC.1/Circ.1200, table 4.5.1.

As 2008 IS Code A 2.3, but s goes on to long roll periods: 0.020 from 30 s on. So no period is too
long; the other ranges of φ₁ stay.
"""

from __future__ import annotations

import math

from rollsim.criteria import weather
from rollsim.criteria.at_rest import ShipAtRest
from rollsim.criteria.requirement import Judgement

TEXT = "2008 IS Code (MSC.267(85)), part A, 2.3, with s by MSC.1/Circ.1200, table 4.5.1"

STEEPNESS: weather.Table = (
    (6.0, 0.100), (7.0, 0.098), (8.0, 0.093), (12.0, 0.065), (14.0, 0.053), (16.0, 0.044),
    (18.0, 0.038), (20.0, 0.032), (22.0, 0.028), (24.0, 0.025), (26.0, 0.023), (28.0, 0.021),
    (30.0, 0.020),
)  # fmt: skip
"""s over the roll period T [s]."""


def judge(ship: ShipAtRest) -> Judgement:
    """The five lines of A 2.3 with the longer table."""
    return weather.judge(ship, STEEPNESS, math.inf)
