"""Damping from a decay record: time and angle of a roll that dies out by itself."""
