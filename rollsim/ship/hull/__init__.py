"""The hull as stations: what floats, at which heel, trim and wave, and the levers that follow."""
