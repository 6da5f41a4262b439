"""The scenario file as strict models: every key with its meaning, bounds and default.

Attribute names are the keys of the file; the one Python word among them, `from`, is `from_`.
Bounds here catch nonsense in a single value; what needs two values stands in `checks`.
"""

from rollsim.scenario.schema.base import Table
from rollsim.scenario.schema.critical import Critical
from rollsim.scenario.schema.events import (
    CHANGED_KEYS,
    AddWeight,
    Event,
    FillTank,
    HeelingLever,
    MoveWeight,
    RemoveWeight,
    ValueChange,
)
from rollsim.scenario.schema.hull_levers import HullLevers
from rollsim.scenario.schema.levers import (
    CrossCurveLevers,
    GzLevers,
    KnLevers,
    LeverKind,
    Levers,
    PolynomialLevers,
    SingleKind,
    WallSidedLevers,
    levers_at,
    levers_of,
)
from rollsim.scenario.schema.maps import Basin, Equilibria, Observed, Response
from rollsim.scenario.schema.run import METHODS, Limits, Method, Output, Run, Start, Until
from rollsim.scenario.schema.severity import Severity, Strengthened
from rollsim.scenario.schema.ship import (
    Damping,
    Extinction,
    Gravity,
    Inertia,
    LeversInWaves,
    Ship,
    Windage,
    gm_of,
    gravity_of,
    levers_in_waves,
)
from rollsim.scenario.schema.study import (
    AxisValues,
    Condition,
    Offsets,
    Range,
    Scenario,
)
from rollsim.scenario.schema.weather import (
    AnySea,
    CalmSea,
    Gust,
    IrregularSea,
    RegularSea,
    Sea,
    Turbulence,
    WhiteSlopeSea,
    Wind,
)

__all__ = [
    "CHANGED_KEYS",
    "METHODS",
    "AddWeight",
    "AnySea",
    "AxisValues",
    "Basin",
    "CalmSea",
    "Condition",
    "Critical",
    "CrossCurveLevers",
    "Damping",
    "Equilibria",
    "Event",
    "Extinction",
    "FillTank",
    "Gravity",
    "Gust",
    "GzLevers",
    "HeelingLever",
    "HullLevers",
    "Inertia",
    "IrregularSea",
    "KnLevers",
    "LeverKind",
    "Levers",
    "LeversInWaves",
    "Limits",
    "Method",
    "MoveWeight",
    "Observed",
    "Offsets",
    "Output",
    "PolynomialLevers",
    "Range",
    "RegularSea",
    "RemoveWeight",
    "Response",
    "Run",
    "Scenario",
    "Sea",
    "Severity",
    "Ship",
    "SingleKind",
    "Start",
    "Strengthened",
    "Table",
    "Turbulence",
    "Until",
    "ValueChange",
    "WallSidedLevers",
    "WhiteSlopeSea",
    "Wind",
    "Windage",
    "gm_of",
    "gravity_of",
    "levers_at",
    "levers_in_waves",
    "levers_of",
]
