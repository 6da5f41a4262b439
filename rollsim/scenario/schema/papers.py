"""What the papers of the ship give of the keys that [ship] leaves out, by her hull or her curves.

They are put in before the table is validated and still count as left out: where the levers or the
displacement change, the whole of [ship] is validated again, and they with it.
"""

from __future__ import annotations

from contextlib import suppress
from typing import Any, Protocol, cast

from pydantic import TypeAdapter, ValidationError

from rollsim.scenario.schema.curve_file import curves_in
from rollsim.scenario.schema.levers import LeverKind, Levers
from rollsim.scenario.schema.loading import Loading
from rollsim.scenario.schema.tanks import TONNE
from rollsim.scenario.text.beside import NamedFile
from rollsim.ship.loading import total

SOURCES = (("ship", "levers"), ("ship", "displacement_t"), ("ship", "loading"))
"""Keys that others of [ship] may follow from."""
FOLLOWING = ("length_m", "beam_m", "depth_m", "draught_m", "displacement_t", "gravity")
"""The keys of [ship] that may follow."""
KINDS: frozenset[str] = frozenset({"cross-curves", "hull"})
"""The kinds of levers that others follow from."""

_LOADING: TypeAdapter[Loading] = TypeAdapter(Loading)
_LEVERS: TypeAdapter[LeverKind] = TypeAdapter(Levers)


class Giving(Protocol):
    """Levers that others of her keys follow from."""

    def particulars(self, displacement: float | None) -> dict[str, float]:
        """Values by their keys in [ship] at a displacement [t]; ValueError from faulty papers."""


def following(ship: Any) -> dict[str, Any]:
    """What follows for the keys that a [ship] table leaves out; nothing from faulty papers."""
    values: dict[str, Any] = {}
    for source in (_by_loading, _by_levers) if isinstance(ship, dict) else ():
        with suppress(ValidationError, ValueError):
            values |= source(ship | values)
    return {key: value for key, value in values.items() if key not in ship}


def would_follow(ship: Any) -> set[str]:
    """The keys of a [ship] table that would follow from its papers, if they were sound."""
    if not isinstance(ship, dict):
        return set()
    keys = {"displacement_t", "gravity"} if "loading" in ship else set()
    levers = ship.get("levers")
    kind = levers.get("kind") if isinstance(levers, dict) else None
    if kind == "hull":
        keys |= {"length_m", "beam_m", "depth_m", "draught_m"}
    if kind == "cross-curves" and isinstance(levers, dict):
        file = levers.get("file")
        read = curves_in(file.text) if isinstance(file, NamedFile) else None
        lists = (
            levers if file is None else read.lists if read and not read.faults else {"draught_m"}
        )
        keys |= {"draught_m"} & set(lists)
    return keys


def _by_loading(ship: dict[str, Any]) -> dict[str, Any]:
    """Displacement [t] and place of G, where a loading is given."""
    if "loading" not in ship:
        return {}
    loading = _LOADING.validate_python(ship["loading"])
    if not loading.sound:
        raise ValueError(loading)
    whole = total(loading.items(0.0))
    place = {
        "kg_m": whole.height,
        "off_centre_m": whole.across,
        "free_surface_m": whole.rise,
    }
    return {"displacement_t": whole.mass / TONNE, "gravity": place}


def _by_levers(ship: dict[str, Any]) -> dict[str, Any]:
    """What the levers carry, at the displacement where one is known."""
    levers = ship.get("levers")
    kind = levers.get("kind") if isinstance(levers, dict) else getattr(levers, "kind", None)
    if kind not in KINDS:
        return {}
    displacement = ship.get("displacement_t")
    if isinstance(displacement, bool) or not isinstance(displacement, int | float):
        displacement = None  # left out, or a fault that is told
    papers = cast(Giving, _LEVERS.validate_python(levers))
    return dict(papers.particulars(displacement))
