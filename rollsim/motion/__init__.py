"""The equation of roll: coefficients, moments, timeline, forcing, and their sum."""
