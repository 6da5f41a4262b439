"""Solving the equation: methods, the scipy solver loop, what a solution is."""
