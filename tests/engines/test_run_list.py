"""A list of runs takes whole numbers for its realisations, nothing that only looks like them."""

from __future__ import annotations

import numpy as np
import pytest

from rollsim.engines.base import run_list


@pytest.mark.parametrize("wrong", [-1, np.array([-1]), [0.5], [], [[1, 2]], True])
def test_what_is_no_realisation_is_refused(wrong: object) -> None:
    with pytest.raises(ValueError, match="whole numbers from 0 on"):
        run_list(wrong, (0.0, 0.0))  # type: ignore[arg-type]


def test_single_numbers_are_spread_over_the_others() -> None:
    runs = run_list(7, (np.zeros(3), 0.1), waves=2.0)
    assert runs.realisation.tolist() == [7, 7, 7]
    assert runs.rate.tolist() == [0.1, 0.1, 0.1]
    assert run_list(2**64 - 1, (0.0, 0.0)).realisation[0] == 2**64 - 1
