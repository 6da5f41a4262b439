"""What is allowed and yet likely not meant: sizes outside what ships and seas usually have.

Each check warns with the figure, the usual range and where that comes from; none refuses a file.
"""

from rollsim.scenario.checks.plausible.form import FORM_DOUBTS
from rollsim.scenario.checks.plausible.levers import LEVER_DOUBTS
from rollsim.scenario.checks.plausible.ship import SHIP_DOUBTS
from rollsim.scenario.checks.plausible.weather import WEATHER_DOUBTS

DOUBTS = (*SHIP_DOUBTS, *FORM_DOUBTS, *LEVER_DOUBTS, *WEATHER_DOUBTS)
