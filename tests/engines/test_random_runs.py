"""What accuracy_deg promises, over scenarios drawn at random: outcomes and roll as the reference's.

Outcomes are equal unless a start disturbed by 1e-6 changes the reference's own outcome; over 600 s
the roll is off by no more than the accuracy unless that disturbance grows more than tenfold, then
by no more than its growth makes of a part of the accuracy.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from comparing import MOST_GROWTH, compared
from random_recipes import recipe_of

SCENARIOS, AT_ONCE = 200, 25
START_ERROR = 0.2
"""Share of the accuracy that may grow: what the engine does not know of the state at any time."""


@pytest.mark.slow
@pytest.mark.parametrize("first", range(0, SCENARIOS, AT_ONCE))
def test_random_scenarios_agree_with_the_reference(first: int) -> None:
    wrong = [text for number in range(first, first + AT_ONCE) for text in _wrong(number)]
    assert wrong == []


def _wrong(number: int) -> list[str]:
    """What is wrong with a scenario, run by run; nothing if all is well."""
    found = compared(recipe_of(number), 2)
    accuracy = math.degrees(found.engine.case.accuracy)
    suspect = np.array(
        [bool(found.differing(i)) or found.deviation[i] > accuracy for i in range(found.runs.size)]
    )
    if not suspect.any():
        return []
    growth, other = found.growth()
    wrong = []
    for i in np.flatnonzero(suspect):
        where = f"scenario {number} run {i}, growth {growth[i]:.3g}"
        ours, theirs = (r.numbers["outcome"][i] for r in (found.block, found.reference))
        if ours != theirs and not other[i]:
            wrong.append(f"{where}: outcome {ours} instead of {theirs}")
        if growth[i] <= MOST_GROWTH:
            if found.deviation[i] > accuracy:
                wrong.append(f"{where}: off by {found.deviation[i]:.4f}")
            wrong += [f"{where}: {text}" for text in _counted(found.differing(int(i)))]
        elif found.deviation[i] > START_ERROR * accuracy * growth[i] and ours == theirs:
            wrong.append(f"{where}: off by {found.deviation[i]:.4f}")
    return wrong


def _counted(differing: list[str]) -> list[str]:
    """Without crossings that swings far below the accuracy make: the level is as sharp as that."""
    return [text for text in differing if not text.startswith("upcrossings")]
