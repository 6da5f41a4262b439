"""What the papers of the ship give of the keys that [ship] leaves out, by her hull or her curves.

They are put in before the table is validated and still count as left out: where the levers or the
displacement change, the whole of [ship] is validated again, and they with it.
"""

from __future__ import annotations

from typing import Any, Protocol, cast

from pydantic import TypeAdapter, ValidationError

from rollsim.scenario.schema.levers import LeverKind, Levers

SOURCES = (("ship", "levers"), ("ship", "displacement_t"))
"""Keys that others of [ship] may follow from."""
FOLLOWING = ("length_m", "beam_m", "depth_m", "draught_m")
"""The keys of [ship] that may follow."""
KINDS: frozenset[str] = frozenset({"cross-curves", "hull"})
"""The kinds of levers that others follow from."""

_LEVERS: TypeAdapter[LeverKind] = TypeAdapter(Levers)


class Giving(Protocol):
    """Levers that others of her keys follow from."""

    def particulars(self, displacement: float | None) -> dict[str, float]:
        """Values by their keys in [ship] at a displacement [t]; ValueError from faulty papers."""


def following(ship: Any) -> dict[str, float] | None:
    """What follows for the keys that a [ship] table leaves out; None from faulty papers."""
    levers = ship.get("levers") if isinstance(ship, dict) else None
    kind = levers.get("kind") if isinstance(levers, dict) else getattr(levers, "kind", None)
    if kind not in KINDS:
        return {}
    displacement = ship.get("displacement_t")
    number = isinstance(displacement, int | float) and not isinstance(displacement, bool)
    try:
        papers = cast(Giving, _LEVERS.validate_python(levers))
        values = papers.particulars(float(displacement) if number else None)
    except (ValidationError, ValueError):
        return None
    return {key: value for key, value in values.items() if key not in ship}
