"""What the scenario text inside a result says, as plain tables and lists."""

from __future__ import annotations

import tomllib
from functools import lru_cache
from typing import TYPE_CHECKING, Any, NamedTuple

from rollsim.show.query.cases import conditions

if TYPE_CHECKING:
    import xarray as xr


def scenario(ds: xr.Dataset) -> dict[str, Any]:
    """The scenario of a result as it was written; empty where a dataset carries none."""
    return _parsed(str(ds.attrs.get("scenario_text", "")))


@lru_cache(maxsize=8)
def _parsed(text: str) -> dict[str, Any]:
    """The tables of a text; every case of a summary asks for them."""
    try:
        return tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError, ValueError):
        return {}  # another hand has been at the text: the numbers stand without it


def ship_name(ds: xr.Dataset) -> str:
    """What the ship is called; empty where the scenario does not tell."""
    ship = scenario(ds).get("ship")
    return str(ship.get("name", "")) if isinstance(ship, dict) else ""


class Lesson(NamedTuple):
    """What the author of a scenario asks of a case."""

    question: str
    answers: tuple[str, ...]
    answer: str
    hint: str


def lesson(ds: xr.Dataset, case: int) -> Lesson | None:
    """The author's own question on a case; None where there is none that makes sense."""
    base, named = scenario(ds), conditions(ds)[case]
    keys = dict(base["lesson"]) if isinstance(base.get("lesson"), dict) else {}
    for condition in _tables(base.get("conditions")):
        if condition.get("name") != named:
            continue
        whole = condition.get("lesson")
        keys = dict(whole) if isinstance(whole, dict) else keys
        keys |= {key[7:]: value for key, value in condition.items() if key.startswith("lesson.")}
    answers = keys.get("answers")
    listed = tuple(map(str, answers)) if isinstance(answers, list) else ()
    asked, right = str(keys.get("question", "")), str(keys.get("answer", ""))
    if not asked or right not in listed:
        return None
    return Lesson(asked, listed, right, str(keys.get("hint", "")))


def pusher(ds: xr.Dataset) -> str:
    """What the heeling lever of a study comes from, in a word: "wind", "push", or both."""
    base = scenario(ds)
    tables = [base, *_tables(base.get("conditions"))]
    keys = [str(key) for table in tables for key in [*table, *_swept(base)]]
    wind = any(key.split(".")[0] == "wind" for key in keys)
    events = [each for table in tables for each in _tables(table.get("events"))]
    push = any(each.get("kind") == "heeling-lever" for each in events)
    return "wind or push" if wind == push else "wind" if wind else "push"


def _swept(base: dict[str, Any]) -> list[str]:
    sweep = base.get("sweep")
    return [str(key) for key in sweep] if isinstance(sweep, dict) else []


def at_set_times(ds: xr.Dataset) -> bool:
    """Whether gusts or events come at set times, in any case of the study."""
    base = scenario(ds)
    return any(map(_sets_times, [base, *_tables(base.get("conditions"))]))


def _sets_times(table: dict[str, Any]) -> bool:
    """Whether the base, or the changes of a condition, have gusts or events."""
    wind = table.get("wind")
    return bool(
        table.get("events")
        or (isinstance(wind, dict) and wind.get("gust"))
        or any(str(key).startswith(("events", "wind.gust")) for key in table)
    )


def until(ds: xr.Dataset) -> tuple[float, int, str] | None:
    """The rule for more realisations: relative error, the most, the event; None without one."""
    run = scenario(ds).get("run")
    rule = run.get("until") if isinstance(run, dict) else None
    if not isinstance(rule, dict):
        return None
    error, most = rule.get("relative_error"), rule.get("most")
    if not isinstance(error, (int, float)) or not isinstance(most, int):
        return None
    return float(error), most, str(rule.get("of", "capsize"))


def _tables(value: object) -> list[dict[str, Any]]:
    return [each for each in value if isinstance(each, dict)] if isinstance(value, list) else []
