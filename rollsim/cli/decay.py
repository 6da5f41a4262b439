"""`rollsim decay RECORD.csv`: damping, period and GM from a roll that dies out."""

from __future__ import annotations

import json
import math
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from rollsim.cli import options

if TYPE_CHECKING:
    from rollsim.decay.record import Record
    from rollsim.decay.restoring import Restoring
    from rollsim.engines.base import Case

TERMS = ("linear", "quadratic", "linear+quadratic", "linear+cubic", "linear+quadratic+cubic")
_FILE = click.Path(path_type=Path)
_SIZE = click.FloatRange(min=0, min_open=True)


@dataclass(frozen=True)
class Request:
    """What of the record is wanted, and what is known of the ship: lengths [m], None where not."""

    scenario: Path | None
    case: int
    columns: tuple[str, str] | None
    radians: bool
    start: float | None
    end: float | None
    terms: str | None
    beam: float | None
    gm: float | None
    gyradius: float | None


@click.command("decay")
@click.argument("record", metavar="RECORD", type=_FILE, callback=options.named)
@click.option(
    "--scenario",
    type=_FILE,
    metavar="FILE",
    help="A scenario whose lever rights her; without it the lever is a line.",
)
@click.option("--case", type=int, default=0, help="The case of that scenario, by its number.")
@click.option("--columns", nargs=2, metavar="TIME ANGLE", help="The columns by name or number.")
@click.option("--radians", is_flag=True, help="The angle is in radians, not in degrees.")
@click.option("--from", "start", type=float, help="Where the part to be read begins [s].")
@click.option("--to", "end", type=float, help="Where it ends [s].")
@click.option("--terms", type=click.Choice(TERMS), help="The terms, instead of the rule's choice.")
@click.option("--beam", type=_SIZE, help="Her beam [m].")
@click.option("--gm", type=_SIZE, help="Her GM [m], if known.")
@click.option("--gyradius", type=_SIZE, help="Her radius of gyration with added inertia [m].")
@click.option("--json", "as_json", is_flag=True, help="As JSON.")
@options.out("The picture; results/<name of RECORD>-decay.png where left out.")
@click.option("--plots/--no-plots", default=True, help="Draw the picture.")
def command(record: Path, as_json: bool, out: Path | None, plots: bool, **given: Any) -> None:
    """Damping coefficients with intervals from a decay RECORD: columns of time [s] and angle [°].

    A header, noise, drift and a bad start are allowed. Prints the lines for [ship.damping], and GM
    from the period where --beam, --gyradius or --scenario says enough.
    """
    from rollsim.decay.analysis import analysed
    from rollsim.decay.metacentric import rows
    from rollsim.decay.record import read_record
    from rollsim.decay.restoring import linear
    from rollsim.decay.told import arrays_of, values_of
    from rollsim.errors import RollsimError, printable

    request = Request(**given)
    whole = read_record(record, request.columns, radians=request.radians)
    part = _part(record, whole, request)
    restoring = linear()
    if request.scenario:
        case = _case(request.scenario, request.case)
        restoring = _lever(case, float(part.angle.mean()))
        request = _with_ship(request, case)
    try:
        decay = analysed(part, restoring, request.terms)
    except RollsimError as error:
        raise RollsimError(f"{printable(str(record))}: {error}") from error
    ways = rows(decay.period.value, request.beam, request.gm, request.gyradius)
    values = values_of(decay, ways, request.scenario is not None)
    _print(record, values, as_json)
    if plots and (out or not as_json):
        _draw(out or options.beside(options.default_result(record), "decay"), record, values,
              arrays_of(decay))  # fmt: skip


def _part(path: Path, record: Record, request: Request) -> Record:
    """The part of the record that is wanted."""
    from rollsim.decay.record import LEAST_ROWS
    from rollsim.errors import Fault, InputError

    start = -math.inf if request.start is None else request.start
    end = math.inf if request.end is None else request.end
    part = record.between(start, end)
    if part.time.size < LEAST_ROWS:
        known = f"the record runs from {record.time[0]:g} s to {record.time[-1]:g} s"
        problem = f"leave {part.time.size} rows, at least {LEAST_ROWS} are needed"
        raise InputError(str(path), [Fault("--from and --to", problem, known)])
    return part


def _case(scenario: Path, number: int) -> Case:
    """A case of the scenario; InputError where there is no such case."""
    from rollsim.errors import Fault, InputError
    from rollsim.scenario.load import load
    from rollsim.study.plan import make_plan

    cases = make_plan(load(scenario)).cases
    if not 0 <= number < len(cases):
        known = f"its cases are 0 to {len(cases) - 1}"
        raise InputError(str(scenario), [Fault("--case", f"no such case: {number}", known)])
    return cases[number]


def _lever(case: Case, side: float) -> Restoring:
    from rollsim.decay.restoring import of_curve

    return of_curve(case.curve, case.coefficients, side)


def _with_ship(request: Request, case: Case) -> Request:
    """The request with what the scenario knows of the ship where the options do not say it."""
    from rollsim.constants import GRAVITY
    from rollsim.ship.levers import metacentric_height

    gm = metacentric_height(case.levers, case.gravity)
    return replace(
        request,
        beam=request.beam or case.beam,
        gm=request.gm or (gm if gm > 0.0 else None),
        gyradius=request.gyradius or math.sqrt(case.coefficients.inertia * GRAVITY),
    )


def _print(record: Path, values: dict[str, Any], as_json: bool) -> None:
    from rollsim.show.tables.decay import decay_table

    if as_json:
        click.echo(json.dumps({"record": record.name} | values, indent=2, ensure_ascii=False))
    else:
        options.console().print(decay_table(f"Decay record {record.name}", values))


def _draw(path: Path, record: Path, values: dict[str, Any], arrays: dict[str, Any]) -> None:
    from rollsim.errors import printable
    from rollsim.show.figures.decay import decay_figure
    from rollsim.show.style import save

    words = (f"{key} = {each['value']:.4g}" for key, each in values["damping"].items())
    what = f"decay: {', '.join(words)}; period {values['period_s']['value']:.4g} s"
    save(decay_figure(record.name, what, arrays, values["notes"]), path)
    click.echo(f"drew {printable(str(path))}", err=True)
