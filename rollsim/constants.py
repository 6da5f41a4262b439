"""Physical constants in SI units, fixed by the project's contract."""

GRAVITY = 9.80665
"""Standard gravity [m s-2] (CODATA; exact by definition)."""

AIR_DENSITY = 1.222
"""Air density [kg m-3], the value of MSC.1/Circ.1200."""

SEA_WATER_DENSITY = 1025.0
"""Sea water density [kg m-3] (common practice)."""
