"""Solving the equation: what an engine is asked and gives, and the engines by name."""
