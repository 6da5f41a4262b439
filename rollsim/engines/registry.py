"""The engines by name: the block engine and scipy's methods, spelled as scipy spells them."""

from __future__ import annotations

from collections.abc import Callable

from rollsim.engines.base import BLOCK, Case, Engine
from rollsim.engines.block.engine import BlockEngine
from rollsim.engines.scipy.engine import ScipyEngine
from rollsim.engines.scipy.methods import METHODS

ENGINES: dict[str, Callable[[Case], Engine]] = {
    BLOCK: BlockEngine,
    **dict.fromkeys(METHODS, ScipyEngine),
}
"""From a method's name to what makes the engine of a case ready."""


def engine_for(case: Case) -> Engine:
    """The engine that the case asks for, made ready for it."""
    return ENGINES[case.method](case)
