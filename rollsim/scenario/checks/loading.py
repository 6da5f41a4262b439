"""Cross-checks of the loading: what stands beside it, and whether it lies on board."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from rollsim.scenario.checks.base import Check, Findings
from rollsim.scenario.checks.parts import Parts, split
from rollsim.scenario.schema.loading import Loading, Weight
from rollsim.scenario.text.faults import Finding
from rollsim.scenario.text.positions import KeyPath

LOADING = ("ship", "loading")
WEIGHTS = (*LOADING, "weights")
REPLACED = ("displacement_t", "gravity")


def stands_alone(parts: Parts) -> Findings:
    """A loading stands in place of displacement and gravity."""
    if parts("ship.loading") is None or parts.whole is None:
        return
    if parts.reads is not None:
        parts.reads.add(("ship",))
    for key in REPLACED:
        if key in parts.whole.ship.model_fields_set:
            hint = "it follows from the masses of the loading: leave one of the two out"
            yield Finding(("ship", key), "cannot stand beside [ship.loading]", hint, (LOADING,))


def far_from_the_ship(parts: Parts) -> Findings:
    """Nothing on board lies a beam or a length away from her."""
    loading, beam, length = (parts(f"ship.{key}") for key in ("loading", "beam_m", "length_m"))
    if loading is None:
        return
    causes = (split("ship.beam_m"), split("ship.length_m"))
    for path, item in _placed(loading):
        name = getattr(item, "name", "lightship")
        across, along = getattr(item, "across_m", 0.0), item.along_m
        if abs(across) > beam:
            problem = f"must lie within ±{beam:g} m (the beam), got {across:g} ({name})"
            yield Finding((*path, "across_m"), problem, "off the centreline, in metres", causes)
        if along is not None and not -length < along < 2.0 * length:
            problem = f"lies a length or more away from the ship, got {along:g} ({name})"
            yield Finding(
                (*path, "along_m"), problem, "forward of the after end, in metres", causes
            )


def _placed(loading: Loading) -> Iterator[tuple[KeyPath, Any]]:
    """Lightship and weights with their paths."""
    yield (*LOADING, "lightship"), loading.lightship
    for index, weight in enumerate(loading.weights):
        yield (*WEIGHTS, index), weight


LOADING_CHECKS: tuple[Check, ...] = (
    stands_alone,
    far_from_the_ship,
)


LIGHTSHIP_KG = (0.4, 1.1)
"""Usual height of the lightship's G over the depth."""
TALL = 2.5
"""Depths above the keel beyond which a weight on board would stand unusually high."""


def weight_off_the_ship(parts: Parts) -> Findings:
    """Weights lie on board."""
    loading = parts("ship.loading")
    if loading is None:
        return
    beam, length = parts("ship.beam_m"), parts("ship.length_m")
    depth = parts("ship.depth_m") or 1.5 * parts("ship.draught_m")
    causes = tuple(split(f"ship.{key}") for key in ("beam_m", "length_m", "depth_m", "draught_m"))
    for path, item in _placed(loading):
        name = getattr(item, "name", "lightship")
        across, along = getattr(item, "across_m", 0.0), item.along_m
        height = getattr(item, "height_m", None)
        if abs(across) > 0.5 * beam:
            problem = f"lies beyond the ship's side ({0.5 * beam:g} m), got {across:g} ({name})"
            yield Finding((*path, "across_m"), problem, "off the centreline, in metres", causes)
        if along is not None and not 0.0 <= along <= length:
            problem = f"lies beyond her ends (0 to {length:g} m), got {along:g} ({name})"
            yield Finding(
                (*path, "along_m"), problem, "forward of the after end, in metres", causes
            )
        if height is not None and not 0.0 <= height <= TALL * depth:
            problem = f"is not between the keel and {TALL * depth:.3g} m, got {height:g} ({name})"
            hint = f"usually up to {TALL:g} depths above the keel (common practice)"
            yield Finding((*path, "height_m"), problem, hint, causes)
        windage = getattr(item, "windage_height_m", None)
        if windage is not None and not 0.0 <= windage <= TALL * depth:
            problem = f"is not between the keel and {TALL * depth:.3g} m, got {windage:g} ({name})"
            hint = f"usually up to {TALL:g} depths above the keel (common practice)"
            yield Finding((*path, "windage_height_m"), problem, hint, causes)


def lightship_usual(parts: Parts) -> Findings:
    """The lightship's G lies where that of ships does."""
    loading, depth = parts("ship.loading"), parts("ship.depth_m")
    if loading is None or depth is None:
        return
    share = loading.lightship.height_m / depth
    low, high = LIGHTSHIP_KG
    if not low <= share <= high:
        problem = f"is {share:.2g} of the depth, got {loading.lightship.height_m:g}"
        hint = f"usually {low:g} to {high:g} of the depth (common practice)"
        path = (*LOADING, "lightship", "height_m")
        yield Finding(path, problem, hint, (split("ship.depth_m"),))


def iced_area(parts: Parts) -> Findings:
    """Decks and sides under ice are not larger than she is."""
    loading = parts("ship.loading")
    length, beam = parts("ship.length_m"), parts("ship.beam_m")
    for index, weight in enumerate(loading.weights if loading else ()):
        if isinstance(weight, Weight):
            continue
        for key, most, words in (
            ("deck_area_m2", length * beam, "length times beam"),
            ("side_area_m2", length * beam, "length times beam"),
        ):
            area = getattr(weight, key)
            if area > most:
                problem = f"is more than {words} ({most:.4g} m²), got {area:g} ({weight.name})"
                causes = (split("ship.length_m"), split("ship.beam_m"))
                yield Finding((*WEIGHTS, index, key), problem, "the area that is exposed", causes)


LOADING_DOUBTS: tuple[Check, ...] = (
    weight_off_the_ship,
    lightship_usual,
    iced_area,
)
