"""The solvers of scipy, run by run: the reference."""
